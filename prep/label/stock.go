package label

import "packwright/prep"

// Stock is a size of paper.
type Stock struct {
	Name          string
	Width, Height prep.Length
}

// The sizes in use. The first four are common stock of label printers; a badge
// is the card of ISO/IEC 7810, ID-1.
var (
	Small  = Stock{"small", 9 * prep.Inch / 4, 5 * prep.Inch / 4}
	Wide   = Stock{"wide", 4 * prep.Inch, 2 * prep.Inch}
	Middle = Stock{"middle", 4 * prep.Inch, 3 * prep.Inch}
	Tall   = Stock{"tall", 4 * prep.Inch, 6 * prep.Inch}

	BadgeStock = Stock{"badge", 85600, 53980}
	CardStock  = Stock{"card", 4 * prep.Inch, 5 * prep.Inch / 2}
	LongStock  = Stock{"long card", 6 * prep.Inch, 5 * prep.Inch / 2}

	A4     = Stock{"a4", 210 * prep.MM, 297 * prep.MM}
	Letter = Stock{"letter", 17 * prep.Inch / 2, 11 * prep.Inch}
)

// String gives "label of 2.25 in by 1.25 in".
func (s Stock) String() string {
	return "label of " + s.Width.InchString() + " by " + s.Height.InchString()
}

package prep

import "strconv"

// LabelSymbol is a linear symbol as a printer sees it: how many modules wide it
// is, how much quiet it needs on its two sides together, and which widths X of
// the narrow bar and which height its norm allows. 0 is no limit.
type LabelSymbol struct {
	Name      string
	Modules   int // without the quiet zones
	Quiet     int // modules, both sides together
	MinX      Length
	MaxX      Length
	MinHeight Length
	MaxWidth  Length // with the quiet zones
}

// X limits and heights: GS1 Sweden's size guide. Length of a GS1-128 symbol:
// GS1 General Specifications, release 18, p. 262. Module counts: ISO/IEC 15417
// (11 a sign, 13 for the stop) and ISO/IEC 15420.
var (
	SSCCSymbol    = gs1128("carton number (00)", 156)
	GTIN128Symbol = gs1128("item number (01)", 134)
	EAN13Symbol   = LabelSymbol{Name: "EAN-13", Modules: 95, Quiet: 18, MinX: 264, MaxX: 660, MinHeight: 18280}
	UPCASymbol    = LabelSymbol{Name: "UPC-A", Modules: 95, Quiet: 18, MinX: 264, MaxX: 660, MinHeight: 18280}
	EAN8Symbol    = LabelSymbol{Name: "EAN-8", Modules: 67, Quiet: 14, MinX: 264, MaxX: 660, MinHeight: 14580}
)

func gs1128(name string, modules int) LabelSymbol {
	return LabelSymbol{Name: name, Modules: modules, Quiet: 20, MinX: 495, MaxX: 1016, MinHeight: 31750, MaxWidth: 165100}
}

// Code128Symbol is a Code 128 symbol of the floor's own, of k signs in code set
// B: start, signs, check of 11 modules each, and the stop. No norm limits its X.
func Code128Symbol(k int) LabelSymbol {
	return LabelSymbol{Name: "Code 128 of " + strconv.Itoa(k) + " signs", Modules: 11*(k+3) + 2, Quiet: 20}
}

// LeastDots is how many printer dots the narrow bar has at least: of 2 a
// fattened or thinned bar is no longer read reliably (measured for this
// project: at 3 dots, 42 of 42 deformed symbols were read).
const LeastDots = 3

// LabelFit says whether and how a symbol goes onto a label.
type LabelFit struct {
	Symbol string `json:"symbol"`
	DPI    int    `json:"dpi"`
	Fits   bool   `json:"fits"`
	Dots   int    `json:"dots"`     // the narrow bar, in printer dots; the widest that fits, or the narrowest allowed when none does
	X      Length `json:"x_mm"`     // the same, as a length
	Width  Length `json:"width_mm"` // with quiet zones
	Why    string `json:"why"`      // why it does not fit, or with what to spare it does
}

// Width is the width of the symbol with its quiet zones at a narrow bar of
// that many dots, rounded to the µm.
func (s LabelSymbol) Width(dots, dpi int) Length {
	return Length(mulDiv(int64(s.Modules+s.Quiet)*int64(dots), int64(Inch), int64(dpi)))
}

// FitLabel chooses the widest narrow bar of whole dots with which the symbol
// goes onto a label of this width and height, and refuses with the reason.
func FitLabel(s LabelSymbol, width, height Length, dpi int) (LabelFit, error) {
	if dpi < 100 || dpi > 2400 || width <= 0 || height <= 0 {
		return LabelFit{}, Input("a label of "+width.String()+" by "+height.String()+" at "+strconv.Itoa(dpi)+" dpi is not possible",
			"give the label's sides and the printer's dots per inch, such as 203 or 300")
	}
	f := LabelFit{Symbol: s.Name, DPI: dpi, Dots: s.leastDots(dpi)}
	for dots := f.Dots; s.allowed(dots, width, dpi); dots++ {
		f.Dots, f.Fits = dots, true
	}
	f.X, f.Width = Length(mulDiv(int64(f.Dots), int64(Inch), int64(dpi))), s.Width(f.Dots, dpi)
	switch {
	case !f.Fits && s.MaxX > 0 && dotsWider(f.Dots, dpi, s.MaxX):
		f.Why = "no whole number of dots gives a narrow bar of " + s.MinX.String() + " to " + s.MaxX.String()
	case !f.Fits:
		f.Why = "at the least narrow bar of " + f.X.String() + " it is " + f.Width.String() + " wide with its quiet zones; the label is " + width.String()
	case height < s.MinHeight:
		f.Fits = false
		f.Why = "its bars are " + s.MinHeight.String() + " high at least; the label is " + height.String()
	default:
		f.Why = (width - f.Width).String() + " to spare"
	}
	return f, nil
}

// leastDots is the fewest dots with which X is not below the norm's least.
func (s LabelSymbol) leastDots(dpi int) int {
	dots := (int64(s.MinX)*int64(dpi) + int64(Inch) - 1) / int64(Inch)
	return max(LeastDots, int(dots))
}

func (s LabelSymbol) allowed(dots int, width Length, dpi int) bool {
	limit := width
	if s.MaxWidth > 0 {
		limit = min(limit, s.MaxWidth)
	}
	if s.MaxX > 0 && dotsWider(dots, dpi, s.MaxX) {
		return false
	}
	return int64(s.Modules+s.Quiet)*int64(dots)*int64(Inch) <= int64(limit)*int64(dpi)
}

// dotsWider tells whether that many dots are wider than x, exactly.
func dotsWider(dots, dpi int, x Length) bool { return int64(dots)*int64(Inch) > int64(x)*int64(dpi) }

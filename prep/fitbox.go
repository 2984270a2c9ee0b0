package prep

import (
	"cmp"
	"slices"
)

// Verdict says how a wrapped item sits in a box, by its tightest side.
type Verdict string

// The verdicts; BoxRule holds the clearances that divide them.
const (
	WillCrush Verdict = "will-crush" // smaller than the item by more than the wrap gives: not to be used
	Tight     Verdict = "tight"      // to be pressed, never forced
	Snug      Verdict = "snug"       // closes by itself, nothing to fill
	Fill      Verdict = "fill"       // room on one side or more: filled so that nothing moves
)

// BoxRule is how closely an item may sit in a box.
type BoxRule struct {
	Give    Length // wrap may be pressed in by this much; a clearance below -Give crushes
	Snug    Length // a clearance above this leaves the item loose on that side
	Upright bool   // the third side of the item stays along the third side of the box
}

// DefaultBoxRule is this project's own: wrap may be pressed by 3 mm, and up to
// 12 mm of room needs no filling.
var DefaultBoxRule = BoxRule{Give: 3 * MM, Snug: 12 * MM}

// BoxFit is one box held against a need.
type BoxFit struct {
	Box       Box     `json:"box"`
	Need      Dims    `json:"need_mm"`      // turned to lie along the box's sides as the box lists them
	Clearance Dims    `json:"clearance_mm"` // box less need, side by side; negative where the box is smaller
	Tightest  Length  `json:"tightest_mm"`
	Verdict   Verdict `json:"verdict"`
	Ways      int     `json:"ways"`       // of the six ways to turn the item, how many do not crush it
	FillSides int     `json:"fill_sides"` // sides with more room than BoxRule.Snug
	Void      Volume  `json:"void_mm3"`   // room left beside the item; 0 when the item is the larger
}

// Usable tells whether the box may be used at all.
func (f BoxFit) Usable() bool { return f.Verdict != WillCrush }

// FitBox holds a need, as Wrapped gives it, against every box by the default rule.
func FitBox(need Dims, boxes []Box) []BoxFit { return DefaultBoxRule.Fit(need, boxes) }

// Fit turns the need every way in every box, keeps the best way, and returns
// the boxes from the best to the worst: those that close by themselves, from
// the smallest; then those to be pressed; then those that crush. Equal volumes
// go by price, then by id. The first is the choice and the second, if it is
// usable, the runner-up.
func (r BoxRule) Fit(need Dims, boxes []Box) []BoxFit {
	out := make([]BoxFit, 0, len(boxes))
	for _, b := range boxes {
		out = append(out, r.fitOne(need, b))
	}
	slices.SortStableFunc(out, func(a, b BoxFit) int {
		return cmp.Or(
			cmp.Compare(a.Verdict.rank(), b.Verdict.rank()),
			cmp.Compare(a.Box.Inner.Volume(), b.Box.Inner.Volume()),
			cmp.Compare(a.Box.Price, b.Box.Price),
			cmp.Compare(a.Box.ID, b.Box.ID))
	})
	return out
}

func (v Verdict) rank() int {
	switch v {
	case Snug, Fill:
		return 0
	case Tight:
		return 1
	}
	return 2
}

// turns are the six ways to lay three sides along three axes. The first two
// keep the third side where it is.
var turns = [6][3]int{{0, 1, 2}, {1, 0, 2}, {0, 2, 1}, {2, 1, 0}, {1, 2, 0}, {2, 0, 1}}

func (d Dims) turned(t [3]int) Dims { return Dims{d[t[0]], d[t[1]], d[t[2]]} }

func (r BoxRule) fitOne(need Dims, b Box) BoxFit {
	ways := turns[:]
	if r.Upright {
		ways = turns[:2]
	}
	var best BoxFit
	usable := 0
	for i, t := range ways {
		f := r.lay(need.turned(t), b)
		if f.Usable() {
			usable++
		}
		if i == 0 || f.better(best) {
			best = f
		}
	}
	best.Ways = usable
	return best
}

// better prefers the larger tightest clearance, then the fewer sides to fill,
// then the more even clearances; all of these are the same however the sides
// of item and box are listed. What is left is decided by the box's first sides.
func (f BoxFit) better(g BoxFit) bool {
	a, b := f.Clearance.Sorted(), g.Clearance.Sorted()
	return cmp.Or(
		cmp.Compare(f.Tightest, g.Tightest),
		cmp.Compare(g.FillSides, f.FillSides),
		cmp.Compare(a[1], b[1]),
		cmp.Compare(f.Clearance[0], g.Clearance[0]),
		cmp.Compare(f.Clearance[1], g.Clearance[1])) > 0
}

func (r BoxRule) lay(need Dims, b Box) BoxFit {
	f := BoxFit{Box: b, Need: need}
	for i := range need {
		f.Clearance[i] = b.Inner[i] - need[i]
		if f.Clearance[i] > r.Snug {
			f.FillSides++
		}
	}
	f.Tightest = min(f.Clearance[0], f.Clearance[1], f.Clearance[2])
	f.Void = max(0, b.Inner.Volume()-need.Volume())
	switch {
	case f.Tightest < -r.Give:
		f.Verdict = WillCrush
	case f.Tightest < 0:
		f.Verdict = Tight
	case f.FillSides > 0:
		f.Verdict = Fill
	default:
		f.Verdict = Snug
	}
	return f
}

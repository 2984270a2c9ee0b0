package prep

import (
	"cmp"
	"slices"
)

// BagVerdict says how an item goes into a bag.
type BagVerdict string

// The verdicts; BagRule holds what divides them.
const (
	BagFits      BagVerdict = "fits"
	BagReinforce BagVerdict = "reinforce" // just fits: its closure is held by tape as well
	BagTooSmall  BagVerdict = "too-small"
)

// BagRule is how much more than the bare item a bag has to be.
//
// Laid flat, a bag of width W and gusset G is a tube of half girth W + G. An
// item l × w × h slid in along l takes w + h of that, and of the bag's length
// l and, for the two ends that fold over the item, half of h each: l + h.
type BagRule struct {
	Ease     Length // beyond w + h, so that the item slides
	Lip      Length // beyond l + h, for the closure
	LeastLip Length // with less ease than Ease or less lip than Lip, but this at least, tape holds the closure
}

// DefaultBagRule is this project's own.
var DefaultBagRule = BagRule{Ease: Inch / 2, Lip: Inch * 3 / 2, LeastLip: Inch / 2}

// Need gives the least width (with the gusset) and length of a bag for an item
// whose sides are, in order, along the bag's length, across it, and thick.
func (r BagRule) Need(item Dims) (width, length Length) {
	return item[1] + item[2] + r.Ease, item[0] + item[2] + r.Lip
}

// LinerNeed is the trade's rule for bags that line a box, given beside ours:
// width = across + thick + 2 in; length = half the narrower of the two + along
// + closure, which is 5 to 8 in for a fold or tie and 2 in for a cover.
// Source: trade formula sheet for flat bags and liners; item 6×4×8 in, 8 in
// along the bag, gives 12 in and 10 in + closure.
func LinerNeed(item Dims, closure Length) (width, length Length) {
	return item[1] + item[2] + 2*Inch, item[0] + min(item[1], item[2])/2 + closure
}

// BagFit is one bag held against an item.
type BagFit struct {
	Bag         Bag        `json:"bag"`
	Item        Dims       `json:"item_mm"` // turned: along the bag's length, across it, thick
	NeedWidth   Length     `json:"need_width_mm"`
	NeedLength  Length     `json:"need_length_mm"`
	SpareWidth  Length     `json:"spare_width_mm"` // bag less need; negative where the bag is smaller
	SpareLength Length     `json:"spare_length_mm"`
	Verdict     BagVerdict `json:"verdict"`
}

// Usable tells whether the item goes in at all.
func (f BagFit) Usable() bool { return f.Verdict != BagTooSmall }

// FitBag holds an item against every bag by the default rule.
func FitBag(item Dims, bags []Bag) []BagFit { return DefaultBagRule.Fit(item, bags) }

// Fit turns the item every way for every bag, keeps the best way, and returns
// the bags from the best to the worst: those that fit, from the least film; then
// those that want tape; then those too small. Equal film goes by price, then by
// id. The first is the choice and the second, if it is usable, the runner-up.
func (r BagRule) Fit(item Dims, bags []Bag) []BagFit {
	out := make([]BagFit, 0, len(bags))
	for _, b := range bags {
		best := r.lay(item.turned(turns[0]), b)
		for _, t := range turns[1:] {
			if f := r.lay(item.turned(t), b); f.better(best) {
				best = f
			}
		}
		out = append(out, best)
	}
	slices.SortStableFunc(out, func(a, b BagFit) int {
		return cmp.Or(
			cmp.Compare(a.Verdict.rank(), b.Verdict.rank()),
			cmp.Compare(a.Bag.area(), b.Bag.area()),
			cmp.Compare(a.Bag.Price, b.Bag.Price),
			cmp.Compare(a.Bag.ID, b.Bag.ID))
	})
	return out
}

func (r BagRule) lay(item Dims, b Bag) BagFit {
	f := BagFit{Bag: b, Item: item}
	f.NeedWidth, f.NeedLength = r.Need(item)
	f.SpareWidth = b.Width + b.Gusset - f.NeedWidth
	f.SpareLength = b.Length - f.NeedLength
	switch {
	case f.SpareWidth >= 0 && f.SpareLength >= 0:
		f.Verdict = BagFits
	case f.SpareWidth+r.Ease >= 0 && f.SpareLength+r.Lip >= r.LeastLip:
		f.Verdict = BagReinforce
	default:
		f.Verdict = BagTooSmall
	}
	return f
}

// better prefers the better verdict, then the larger of the smaller spares,
// then the longer side along the bag, so that the answer does not hang on the
// order of the sides.
func (f BagFit) better(g BagFit) bool {
	return cmp.Or(
		cmp.Compare(g.Verdict.rank(), f.Verdict.rank()),
		cmp.Compare(min(f.SpareWidth, f.SpareLength), min(g.SpareWidth, g.SpareLength)),
		cmp.Compare(f.Item[0], g.Item[0]),
		cmp.Compare(f.Item[1], g.Item[1])) > 0
}

func (v BagVerdict) rank() int {
	return slices.Index([]BagVerdict{BagFits, BagReinforce, BagTooSmall}, v)
}

// area is the film of one face, laid flat.
func (b Bag) area() int64 { return int64(b.Width+b.Gusset) * int64(b.Length) }

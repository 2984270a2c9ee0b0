package prep

import (
	"fmt"
	"slices"
)

// chooseMaterials unites the wrap that the rules ask for, then finds the bag
// and the box that hold the wrapped item, and makes known what they are.
func (w *making) chooseMaterials() {
	w.uniteWrap()
	if w.bag = w.choose(KindBag, UsesBag); w.bag != nil {
		w.k.setNumber(factBagOpening, int64(w.bag.Width+w.bag.Gusset), true)
	}
	w.box = w.choose(KindBox, UsesBox)
	w.k.mask[factUses] = 0
	for _, m := range []Means{UsesBag, UsesBox} {
		if w.enclosed.has(m) {
			w.k.setWord(factUses, string(m))
		}
	}
	for _, m := range []Means{WarmAir, Remover} {
		if w.methods.has(m) {
			w.k.setWord(factUses, string(m))
		}
	}
}

// uniteWrap takes for each wrap the most layers that any rule asks for.
func (w *making) uniteWrap() {
	for _, i := range w.hits {
		for _, u := range w.c.rules[i].uses {
			if u.kind == KindWrap {
				w.addLayers(u, w.c.rules[i].ID)
			}
		}
	}
}

func (w *making) addLayers(u readyUse, rule string) {
	if made := w.used(u.made); made != u.made {
		u.made, u.Material = made, made.ID
	}
	layers, before := max(u.Layers, 1), 0
	need := MaterialNeed{Material: u.Material, Kind: KindWrap, Layers: layers, Rule: rule, Amount: amountOf(u.Use) * Fixed(layers)}
	at := slices.IndexFunc(w.uses, func(n MaterialNeed) bool { return n.Material == u.Material })
	if at >= 0 {
		before = w.uses[at].Layers
	}
	switch {
	case at < 0:
		w.uses = append(w.uses, need)
	case before < layers:
		w.uses[at] = need
	}
	w.wrapped += 2 * u.made.Thickness * Length(max(layers-before, 0))
}

func amountOf(u Use) Fixed {
	if u.Amount == 0 {
		return One
	}
	return u.Amount
}

// wish is what the fired rules say together about one kind of enclosure.
type wish struct {
	rule    string    // the first that asks
	named   *Material // what a rule names
	by      string    // the rule that names it
	padding Length
}

// choose finds the one enclosure of a kind, if any rule asks for one. What
// cannot be settled is asked.
func (w *making) choose(kind string, m Means) *Material {
	wanted := w.wishFor(kind)
	if wanted.rule == "" {
		return nil
	}
	if w.forbidden.has(m) {
		w.drop("the "+kind, wanted.rule, m, Must)
		return nil
	}
	w.enclosed |= bitOf(m)
	chosen, why := w.fitting(kind, wanted)
	if by := w.used(chosen); by != chosen {
		chosen, why = w.fitting(kind, wish{rule: wanted.rule, named: by, by: wanted.rule, padding: wanted.padding})
	}
	if chosen == nil {
		w.ask(why)
		return nil
	}
	rule := wanted.rule
	if wanted.named != nil {
		rule = wanted.by
	}
	w.uses = append(w.uses, MaterialNeed{Material: chosen.ID, Kind: kind, Amount: One, Rule: rule, Why: why})
	return chosen
}

func (w *making) wishFor(kind string) wish {
	var out wish
	for _, i := range w.hits {
		for _, u := range w.c.rules[i].uses {
			if u.kind != kind {
				continue
			}
			if out.rule == "" {
				out.rule = w.c.rules[i].ID
			}
			out.padding = max(out.padding, u.Padding)
			switch {
			case u.made == nil || out.named == u.made:
			case out.named == nil:
				out.named, out.by = u.made, w.c.rules[i].ID
			case out.named.ID != u.made.ID:
				w.conflict(fmt.Sprintf("%s wants %s and %s wants %s", out.by, out.named.ID, w.c.rules[i].ID, u.made.ID), "name one of them, or let both pick: "+kind)
			}
		}
	}
	return out
}

// fitting finds the material and says how it was chosen, or says what to ask.
// A named enclosure of an unmeasured item is believed.
func (w *making) fitting(kind string, wanted wish) (*Material, string) {
	d := w.item.Dims
	if d[0] <= 0 || d[1] <= 0 || d[2] <= 0 {
		if wanted.named == nil {
			return nil, "It has not been measured. Measure it: the " + kind + " is picked by size."
		}
		return wanted.named, ""
	}
	for i := range d {
		d[i] += w.wrapped + 2*wanted.padding
	}
	id, verdict := "", ""
	if kind == KindBag {
		id, verdict = w.fittingBag(d, wanted.named)
		w.k.mask[factBagFit] = 0
		w.k.setWord(factBagFit, verdict)
	} else {
		id, verdict = w.fittingBox(d, wanted.named)
		w.k.mask[factBoxFit] = 0
		w.k.setWord(factBoxFit, verdict)
	}
	if id == "" {
		return nil, noFit(kind, wanted.named)
	}
	return w.book.Materials.find(id), verdict
}

func (w *making) fittingBag(d Dims, named *Material) (id, verdict string) {
	bags := w.c.bags
	if named != nil {
		bags = []Bag{named.Bag()}
	}
	if best := FitBag(d, bags); len(best) > 0 && best[0].Usable() {
		return best[0].Bag.ID, string(best[0].Verdict)
	}
	return "", ""
}

func (w *making) fittingBox(d Dims, named *Material) (id, verdict string) {
	boxes := w.c.boxes
	if named != nil {
		boxes = []Box{named.Box()}
	}
	if best := FitBox(d, boxes); len(best) > 0 && best[0].Usable() {
		return best[0].Box.ID, string(best[0].Verdict)
	}
	return "", ""
}

func noFit(kind string, named *Material) string {
	if named != nil {
		return "It does not go into " + named.ID + " without crushing. Ask the owner."
	}
	return "No " + kind + " of the catalogue holds it. Ask the owner."
}

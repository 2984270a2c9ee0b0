package prep

import "fmt"

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
		for _, u := range w.c.rules[i].Materials {
			if m, _ := w.book.Materials.Find(u.Material); m.Kind == KindWrap {
				w.addLayers(u, w.c.rules[i].ID)
			}
		}
	}
}

func (w *making) addLayers(u Use, rule string) {
	u.Layers = max(u.Layers, 1)
	use := MaterialNeed{Material: u.Material, Kind: KindWrap, Layers: u.Layers, Rule: rule, Amount: amountOf(u) * Fixed(u.Layers)}
	for i := range w.uses {
		if w.uses[i].Material == u.Material {
			if w.uses[i].Layers < u.Layers {
				w.uses[i], w.layers[i] = use, u
			}
			return
		}
	}
	w.uses, w.layers = append(w.uses, use), append(w.layers, u)
}

func amountOf(u Use) Fixed {
	if u.Amount == 0 {
		return One
	}
	return u.Amount
}

// wish is what the fired rules say together about one kind of enclosure.
type wish struct {
	rule    string // the first that asks
	named   string // a material that a rule names
	by      string // the rule that names it
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
	if chosen == nil {
		w.ask(why)
		return nil
	}
	rule := wanted.rule
	if wanted.named != "" {
		rule = wanted.by
	}
	w.uses = append(w.uses, MaterialNeed{Material: chosen.ID, Kind: kind, Amount: One, Rule: rule, Why: why})
	return chosen
}

func (w *making) wishFor(kind string) wish {
	var out wish
	for _, i := range w.hits {
		for _, u := range w.c.rules[i].Materials {
			m, _ := w.book.Materials.Find(u.Material)
			if u.Pick != kind && m.Kind != kind {
				continue
			}
			if out.rule == "" {
				out.rule = w.c.rules[i].ID
			}
			out.padding = max(out.padding, u.Padding)
			switch {
			case m.ID == "" || out.named == m.ID:
			case out.named != "":
				w.ask(fmt.Sprintf("%s wants %s and %s wants %s. Ask the owner.", out.by, out.named, w.c.rules[i].ID, m.ID))
			default:
				out.named, out.by = m.ID, w.c.rules[i].ID
			}
		}
	}
	return out
}

// need is the size of the item under its wrap and padding; false when the
// item has not been measured.
func (w *making) need(padding Length) (Dims, bool) {
	d := w.item.Dims
	if d[0] <= 0 || d[1] <= 0 || d[2] <= 0 {
		return Dims{}, false
	}
	for _, u := range w.layers {
		m, _ := w.book.Materials.Find(u.Material)
		d = Wrapped(d, m.Thickness, u.Layers)
	}
	return Wrapped(d, padding, 1), true
}

// fitting finds the material and says how it was chosen, or says what to ask.
// A named enclosure of an unmeasured item is believed.
func (w *making) fitting(kind string, wanted wish) (*Material, string) {
	padding := wanted.padding
	d, measured := w.need(padding)
	if !measured {
		if wanted.named == "" {
			return nil, "It has not been measured. Measure it: the " + kind + " is picked by size."
		}
		m, _ := w.book.Materials.Find(wanted.named)
		return &m, ""
	}
	if kind == KindBag {
		return w.fittingBag(d, wanted.named)
	}
	return w.fittingBox(d, wanted.named)
}

func (w *making) fittingBag(d Dims, named string) (*Material, string) {
	var bags []Bag
	for _, bag := range w.book.Materials.Bags() {
		if bag.Film >= w.book.LeastFilm && (named == "" || bag.ID == named) {
			bags = append(bags, bag)
		}
	}
	best := FitBag(d, bags)
	if len(best) == 0 || !best[0].Usable() {
		return nil, noFit(KindBag, named)
	}
	w.k.mask[factBagFit] = 0
	w.k.setWord(factBagFit, string(best[0].Verdict))
	m, _ := w.book.Materials.Find(best[0].Bag.ID)
	return &m, string(best[0].Verdict)
}

func (w *making) fittingBox(d Dims, named string) (*Material, string) {
	boxes := w.book.Materials.Boxes()
	if named != "" {
		m, _ := w.book.Materials.Find(named)
		boxes = []Box{m.Box()}
	}
	best := FitBox(d, boxes)
	if len(best) == 0 || !best[0].Usable() {
		return nil, noFit(KindBox, named)
	}
	w.k.mask[factBoxFit] = 0
	w.k.setWord(factBoxFit, string(best[0].Verdict))
	m, _ := w.book.Materials.Find(best[0].Box.ID)
	return &m, string(best[0].Verdict)
}

func noFit(kind, named string) string {
	if named != "" {
		return "It does not go into " + named + " without crushing. Ask the owner."
	}
	return "No " + kind + " of the catalogue holds it. Ask the owner."
}

package prep

import "slices"

// group is a set of rules that may contradict each other over some means.
type group struct {
	means meansSet
	rules []int
}

// touched is every means that a rule speaks of: allows, forbids, works with in
// a step, or chooses as an enclosure.
func (p *proof) touched(r *readyRule) meansSet {
	set := r.allow | r.forbid
	for _, s := range append(slices.Clone(r.must), r.should...) {
		set |= p.c.means[s]
	}
	for _, u := range r.uses {
		switch u.kind {
		case KindBag:
			set |= bitOf(UsesBag)
		case KindBox:
			set |= bitOf(UsesBox)
		}
	}
	if set != 0 {
		set |= meansRead(&r.when)
	}
	return set
}

// meansRead is every means that must be in use, or must not, for a condition
// on what the recipe uses: whoever decides on it belongs to the same group.
func meansRead(w *readyWhen) (set meansSet) {
	w.each(func(t *readyTest) {
		switch t.fact {
		case factUses:
			for _, word := range facts[factUses].said(t.want) {
				set |= bitOf(Means(word))
			}
		case factBagFit, factBagOpening:
			set |= bitOf(UsesBag)
		case factBoxFit:
			set |= bitOf(UsesBox)
		}
	})
	return set
}

// groups joins rules that touch the same means, or two that are kept apart.
// The ways of removal are one group, even of no rules: one of them must be left
// for a sticker.
func (p *proof) groups() []group {
	joined := []meansSet{removalSet}
	for _, pair := range p.c.apart {
		joined = append(joined, bitOf(pair[0])|bitOf(pair[1]))
	}
	for i := range p.c.rules {
		if set := p.touched(&p.c.rules[i]); set != 0 {
			joined = append(joined, set)
		}
	}
	var out []group
	for _, means := range merged(joined) {
		g := group{means: means}
		for i := range p.c.rules {
			if p.touched(&p.c.rules[i])&means != 0 {
				g.rules = append(g.rules, i)
			}
		}
		if len(g.rules) > 0 || means&removalSet != 0 {
			out = append(out, g)
		}
	}
	return out
}

// merged unites the sets that share a means, until none do.
func merged(sets []meansSet) []meansSet {
	var out []meansSet
	for _, s := range sets {
		rest := out[:0]
		for _, o := range out {
			if o&s != 0 {
				s |= o
			} else {
				rest = append(rest, o)
			}
		}
		out = append(rest, s)
	}
	return out
}

// walkGroup works out every combination of what the group's rules read, and
// keeps one example of each contradiction.
func (p *proof) walkGroup(g group) {
	product := p.productOf(g.rules)
	if g.means&removalSet != 0 {
		product.include(factSurface)
		product.include(factSticker)
	}
	if product.size() > largestProduct {
		p.tangled(p.c.rules[g.rules[0]].ID, product)
		return
	}
	only := make([]bool, len(p.c.rules))
	for _, i := range g.rules {
		only[i] = true
	}
	fired := make([]bool, len(p.c.rules))
	seen := map[string]bool{}
	product.each(func(k *knowledge) bool {
		given := *k
		w := p.try(k, only, g.means)
		if w == nil {
			return true
		}
		for _, i := range w.hits {
			fired[i] = true
		}
		for _, c := range w.conflicts {
			if !seen[c.what] {
				seen[c.what] = true
				p.add(FoundConflict, p.blamed(w, c.what), "the rules contradict each other: "+c.what, c.do, product.told(&given))
			}
		}
		*k = given
		return true
	})
	for _, i := range g.rules {
		if !fired[i] && !p.reported(p.c.rules[i].ID) {
			id := p.c.rules[i].ID
			p.add(FoundNeverHits, id, "rule "+id+" can never fire: nothing makes the recipe use what it reads", "let a rule allow or choose it", "")
		}
	}
}

func (p *proof) reported(rule string) bool {
	return slices.ContainsFunc(p.found, func(f Finding) bool { return f.Rule == rule && f.Kind == FoundNeverHits })
}

// blamed is the rule that a contradiction names first, else the last that fired.
func (p *proof) blamed(w *making, text string) string {
	for _, i := range w.hits {
		if id := p.c.rules[i].ID; len(text) > len(id) && text[:len(id)+1] == id+" " {
			return id
		}
	}
	if len(w.hits) == 0 {
		return ""
	}
	return p.c.rules[w.hits[len(w.hits)-1]].ID
}

// try works out one combination with the group's rules alone. Sizes are left
// out: which bag fits is no matter of rules. It is nil when the derived facts of
// the combination cannot come about.
func (p *proof) try(k *knowledge, only []bool, means meansSet) *making {
	w := p.book.making(p.c, k)
	w.only = only
	w.fire(false)
	if means&removalSet != 0 {
		w.chooseRemoval()
	} else {
		w.methods = removalSet // no matter of this group
	}
	w.dropForbidden()
	w.wishEnclosure(KindBag, UsesBag)
	w.wishEnclosure(KindBox, UsesBox)
	if !w.agrees(k, means) {
		return nil
	}
	w.fire(true)
	w.dropForbidden()
	w.missEnclosure(means & (bitOf(UsesBag) | bitOf(UsesBox)))
	if means&removalSet == 0 {
		w.methods = 0
	}
	w.keepApart()
	return w
}

// wishEnclosure is choose without sizes.
func (w *making) wishEnclosure(kind string, m Means) {
	wanted := w.wishFor(kind)
	switch {
	case wanted.rule == "":
	case w.forbidden.has(m):
		w.drop("the "+kind, wanted.rule, m, Must)
	default:
		w.enclosed |= bitOf(m)
	}
}

// agrees tells whether the derived facts of a combination can come about with
// what the group's rules have chosen. Means of other groups are left free.
func (w *making) agrees(k *knowledge, means meansSet) bool {
	inUse := w.methods | w.enclosed
	uses := facts[factUses].words
	if k.mask[factUses] != bitUnknown {
		for i := 1; i < len(uses); i++ {
			m := Means(uses[i])
			if means.has(m) && inUse.has(m) != (k.mask[factUses]&(1<<i) != 0) {
				return false
			}
		}
	}
	bagKnown := k.mask[factBagOpening]&bitKnown != 0 || k.mask[factBagFit]&^bitUnknown != 0
	boxKnown := k.mask[factBoxFit]&^bitUnknown != 0
	return !(means.has(UsesBag) && bagKnown && !inUse.has(UsesBag)) && !(means.has(UsesBox) && boxKnown && !inUse.has(UsesBox))
}

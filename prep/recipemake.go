package prep

import (
	"fmt"
	"slices"
	"strings"
)

// Recipe works out what the item gets. It is a pure function of the rulebook
// and the item: the same two always give the same recipe.
//
// First the rules that read the item fire, together. What they ask for is
// united; what any of them forbids is taken away, and a must that is taken
// away holds the item and asks. Then the enclosures are chosen by fit, and the
// rules that read what the recipe uses fire, once.
func (b *Rulebook) Recipe(it Item) Recipe {
	c := b.made
	if c == nil {
		c = b.ready()
	}
	w := &making{book: b, c: c, item: it, k: knownOf(it), r: Recipe{Rev: b.Rev}}
	w.fire(false)
	w.askForUnknown()
	w.r.Name = w.name()
	if len(w.r.Stop) == 0 {
		w.chooseRemoval()
		w.dropForbidden()
		w.chooseMaterials()
		w.fire(true)
		w.dropForbidden()
		w.keepApart()
		w.r.Name = w.name()
	}
	w.writeHits()
	w.writeCautions()
	if w.r.Open() {
		w.writeSteps()
		w.writeLabels()
		w.writeRest()
	}
	return w.r
}

// making is a recipe while it is being worked out.
type making struct {
	book *Rulebook
	c    *compiled
	item Item
	k    *knowledge
	r    Recipe

	hits      []int // indices of rules, in the rulebook's order
	severity  []Severity
	askedBy   []int // per step: the rule that asks the most for it
	dropped   []bool
	allowed   meansSet
	forbidden meansSet
	methods   meansSet // ways of removal that are allowed, usable and not forbidden
	enclosed  meansSet
	bag, box  *Material
	layers    []Use // wrap, as used
	uses      []MaterialNeed
}

// fire tries the rules of one round and unites what they ask for.
func (w *making) fire(second bool) {
	if w.severity == nil {
		n := len(w.book.Steps)
		w.severity, w.askedBy, w.dropped = make([]Severity, n), make([]int, n), make([]bool, n)
	}
	for i := range w.c.rules {
		r := &w.c.rules[i]
		if r.second != second || !r.when.holds(w.k) {
			continue
		}
		w.hits = append(w.hits, i)
		w.allowed |= r.allow
		w.forbidden |= r.forbid
		w.askSteps(i, r.must, Must)
		w.askSteps(i, r.should, Should)
		if r.Stop != "" {
			w.r.Stop = append(w.r.Stop, w.hit(i))
		}
		if r.Ask != "" {
			w.ask(r.Ask)
		}
	}
	slices.Sort(w.hits)
}

func (w *making) askSteps(rule int, steps []int, s Severity) {
	for _, step := range steps {
		if w.severity[step] < s {
			w.severity[step], w.askedBy[step] = s, rule
		}
	}
}

func (w *making) ask(question string) {
	if !slices.Contains(w.r.Ask, question) {
		w.r.Ask = append(w.r.Ask, question)
	}
}

func (w *making) askForUnknown() {
	for _, i := range w.c.askFor {
		if !attributes[i].known(&w.item.Attrs) {
			w.ask(attributes[i].name + " is not known. " + attributes[i].ask)
		}
	}
}

// chooseRemoval works out the ways in which the sticker may come off: those
// that a rule allows, the surface bears and no rule forbids.
func (w *making) chooseRemoval() {
	sticker := w.item.Attrs.Sticker
	if sticker == StickerUnknown || sticker == StickerNone {
		return
	}
	for _, m := range removalMeans {
		if w.allowed.has(m) && !w.forbidden.has(m) && Leaves(w.item.Attrs.Surface, m).Usable() {
			w.methods |= bitOf(m)
		}
	}
	if w.methods == 0 {
		w.ask("The sticker must come off, and no way is left. " + AttrQuestion("surface_under_sticker"))
	}
}

const removalSet meansSet = 1<<5 - 1 // the first of allMeans

// dropForbidden takes away the steps whose means may not be used. A must that
// is taken away is an unresolved conflict: hold and ask.
func (w *making) dropForbidden() {
	for i := range w.book.Steps {
		m := w.book.Steps[i].Means
		if w.severity[i] == 0 || w.dropped[i] || m == "" || w.mayUse(m) {
			continue
		}
		w.dropped[i] = true
		w.drop("step "+w.book.Steps[i].ID, w.c.rules[w.askedBy[i]].ID, m, w.severity[i])
	}
}

func (w *making) mayUse(m Means) bool {
	if bitOf(m)&removalSet != 0 {
		return w.methods.has(m)
	}
	return !w.forbidden.has(m)
}

func (w *making) drop(what, rule string, m Means, s Severity) {
	because := w.whyNot(m)
	w.r.Dropped = append(w.r.Dropped, Dropped{What: what, Rule: rule, Because: because, Severity: s})
	if s >= Must {
		w.ask(fmt.Sprintf("%s wants %s, but %s. Ask the owner.", rule, what, because))
	}
}

// whyNot says who forbids a means.
func (w *making) whyNot(m Means) string {
	for _, i := range w.hits {
		if w.c.rules[i].forbid.has(m) {
			return w.c.rules[i].ID + " forbids " + string(m)
		}
	}
	if !Leaves(w.item.Attrs.Surface, m).Usable() {
		return "the surface table says " + Leaves(w.item.Attrs.Surface, m).String() + " to " + string(m)
	}
	return "no rule allows " + string(m)
}

// keepApart asks when two means are left that may never meet in one run.
func (w *making) keepApart() {
	inUse := w.methods | w.enclosed
	for i, s := range w.severity {
		if s > 0 && !w.dropped[i] {
			inUse |= bitOf(w.book.Steps[i].Means)
		}
	}
	for _, pair := range w.c.apart {
		if inUse.has(pair[0]) && inUse.has(pair[1]) {
			w.ask(fmt.Sprintf("%s and %s may never meet in one run. The rulebook must choose one.", pair[0], pair[1]))
		}
	}
}

func (w *making) name() string {
	for _, n := range w.c.names {
		all := true
		for _, i := range n.rules {
			all = all && slices.Contains(w.hits, i)
		}
		if all {
			return n.name
		}
	}
	return w.book.Otherwise
}

func (w *making) hit(i int) Hit {
	r := w.c.rules[i]
	return Hit{Rule: r.ID, Title: r.Title, Severity: r.Severity(), Why: r.when.why(w.k), Verdict: r.Stop}
}

func (w *making) writeHits() {
	w.r.Hits = make([]Hit, 0, len(w.hits))
	for _, i := range w.hits {
		w.r.Hits = append(w.r.Hits, w.hit(i))
	}
}

// why says in words which answers made the condition hold.
func (w *readyWhen) why(k *knowledge) string {
	if w.always {
		return "always"
	}
	parts := make([]string, 0, len(w.all)+1)
	for i := range w.all {
		parts = append(parts, w.all[i].why(k))
	}
	for i := range w.any {
		if w.any[i].holds(k) {
			parts = append(parts, w.any[i].why(k))
		}
	}
	return strings.Join(parts, ", ")
}

func (t *readyTest) why(k *knowledge) string {
	f := &facts[t.fact]
	if f.kind == asWords {
		return f.name + " is " + strings.Join(f.said(k.mask[t.fact]&t.want), " and ")
	}
	if k.mask[t.fact]&bitKnown == 0 {
		return f.name + " is " + unknownWord
	}
	return f.name + " is " + f.shown(k.num[t.fact])
}

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
	w := b.making(c, knownOf(it))
	w.item = it
	w.decide()
	return w.write()
}

// decide lets the rules fire and settles what they ask for.
func (w *making) decide() {
	w.fire(false)
	w.askForUnknown()
	if len(w.r.Stop) > 0 {
		return
	}
	w.chooseRemoval()
	w.dropForbidden()
	w.chooseMaterials()
	w.fire(true)
	w.dropForbidden()
	w.missEnclosure(bitOf(UsesBag) | bitOf(UsesBox))
	w.keepApart()
}

// write turns what was decided into a recipe in words.
func (w *making) write() Recipe {
	w.r.Name = w.name()
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

	only      []bool    // when set, the rules that take part: for the proof of a rulebook
	hits      []int     // indices of rules, in the rulebook's order
	steps     []asked   // one for each step of the rulebook
	conflicts []problem // questions that the rulebook should have settled
	allowed   meansSet
	forbidden meansSet
	methods   meansSet // ways of removal that are allowed, usable and not forbidden
	enclosed  meansSet
	bag, box  *Material
	instead   map[string]string // what is used for what
	uses      []MaterialNeed    // wrap first
	wrapped   Length            // how much all wrap adds to one side, both ends

	hitsRoom [24]int // what most recipes need, so that it is not grown for
	usesRoom [8]MaterialNeed
}

// asked is what the rules say of one step: how strongly it is wanted, by the
// rule that wants it most, and whether a prohibition has taken it away.
type asked struct {
	severity Severity
	dropped  bool
	rule     int32
}

// left tells whether the step is wanted and still there.
func (a asked) left() bool { return a.severity > 0 && !a.dropped }

func (b *Rulebook) making(c *compiled, k *knowledge) *making {
	w := &making{book: b, c: c, k: k, r: Recipe{Rev: b.Rev}, steps: make([]asked, len(b.Steps))}
	w.hits, w.uses = w.hitsRoom[:0], w.usesRoom[:0]
	return w
}

// fire tries the rules of one round and unites what they ask for.
func (w *making) fire(second bool) {
	for i := range w.c.rules {
		r := &w.c.rules[i]
		if r.second != second || (w.only != nil && !w.only[i]) || !r.when.holds(w.k) {
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
		if a := &w.steps[step]; a.severity < s {
			a.severity, a.rule = s, int32(rule)
		}
	}
}

func (w *making) ask(question string) {
	if !slices.Contains(w.r.Ask, question) {
		w.r.Ask = append(w.r.Ask, question)
	}
}

// conflict asks what the rulebook leaves open; do is what would settle it there.
func (w *making) conflict(what, do string) {
	w.conflicts = append(w.conflicts, problem{what: what, do: do})
	w.ask("The rulebook contradicts itself: " + what + ". Ask the owner.")
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
	if w.k.mask[factSticker]&(1<<StickerUnknown|1<<StickerNone) != 0 {
		return
	}
	surface := w.k.surface()
	w.methods = w.allowed &^ w.forbidden & usableOn(surface)
	switch {
	case w.methods != 0:
	case surface == SurfaceUnknown:
		w.ask("The sticker must come off. " + AttrQuestion("surface_under_sticker"))
	default:
		w.conflict("the sticker must come off, and no rule allows a way that the surface bears", "write a rule that allows one")
	}
}

const removalSet meansSet = 1<<5 - 1 // the first of allMeans

// dropForbidden takes away the steps whose means may not be used. A must that
// is taken away is an unresolved conflict: hold and ask. While the surface is
// unknown nothing may come off, and that is asked already.
func (w *making) dropForbidden() {
	for i := range w.book.Steps {
		m := w.book.Steps[i].Means
		if !w.steps[i].left() || m == "" || w.mayUse(w.c.means[i]) {
			continue
		}
		w.steps[i].dropped = true
		w.drop("step "+w.book.Steps[i].ID, w.c.rules[w.steps[i].rule].ID, m, w.steps[i].severity)
	}
}

func (w *making) mayUse(m meansSet) bool {
	if m&removalSet != 0 {
		return w.methods&m != 0
	}
	return w.forbidden&m == 0
}

func (w *making) drop(what, rule string, m Means, s Severity) {
	because := w.whyNot(m)
	w.r.Dropped = append(w.r.Dropped, Dropped{What: what, Rule: rule, Because: because, Severity: s})
	if s >= Must && (bitOf(m)&removalSet == 0 || w.k.surface() != SurfaceUnknown) {
		w.conflict(fmt.Sprintf("%s wants %s, but %s", rule, what, because), "ask for it under should, or change the prohibition")
	}
}

// whyNot says who forbids a means.
func (w *making) whyNot(m Means) string {
	for _, i := range w.hits {
		if w.c.rules[i].forbid.has(m) {
			return w.c.rules[i].ID + " forbids " + string(m)
		}
	}
	if surface := w.k.surface(); surface != SurfaceUnknown && bitOf(m)&removalSet != 0 && !Leaves(surface, m).Usable() {
		return "the surface table says " + Leaves(surface, m).String() + " to " + string(m)
	}
	return "no rule allows " + string(m)
}

// missEnclosure asks about steps that put goods into a bag or box of those
// means when no rule chooses one.
func (w *making) missEnclosure(means meansSet) {
	for i, m := range w.c.means {
		if w.steps[i].left() && m&means&^w.enclosed != 0 {
			w.conflict(fmt.Sprintf("%s wants step %s, but no rule chooses one of kind %s",
				w.c.rules[w.steps[i].rule].ID, w.book.Steps[i].ID, w.book.Steps[i].Means), "add a pick: to the materials of a rule")
		}
	}
}

// keepApart asks when two means are left that may never meet in one run.
func (w *making) keepApart() {
	inUse := w.methods | w.enclosed
	for i, s := range w.steps {
		if s.left() {
			inUse |= w.c.means[i]
		}
	}
	for _, pair := range w.c.apart {
		if inUse.has(pair[0]) && inUse.has(pair[1]) {
			w.conflict(fmt.Sprintf("%s and %s may never meet in one run", pair[0], pair[1]), "allow only one of them")
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

package prep

import (
	"errors"
	"slices"
)

// compiled is a rulebook made ready to work: names resolved to indices,
// thresholds to numbers. It is never changed once made.
type compiled struct {
	rules  []readyRule
	askFor []int // attributes that must be known
	names  []readyName
	apart  [][2]Means
	means  []meansSet // of each step
	bags   []Bag      // not thinner than the least film
	boxes  []Box
}

type readyRule struct {
	*Rule
	when          readyWhen
	second        bool // reads a derived fact: fires after the first rules
	must, should  []int
	labels        []int
	cautions      []int
	allow, forbid meansSet
	uses          []readyUse
}

// readyUse is a Use with its material; kind is what the use comes to.
type readyUse struct {
	Use
	kind string
	made *Material // nil when it is picked by size
}

type readyName struct {
	name  string
	rules []int
}

// meansSet is a set of Means, one bit for each of allMeans.
type meansSet uint16

func meansOf(list []Means) meansSet {
	var s meansSet
	for _, m := range list {
		s |= bitOf(m)
	}
	return s
}

func bitOf(m Means) meansSet {
	if i := slices.Index(allMeans, m); i >= 0 {
		return 1 << i
	}
	return 0
}

func (s meansSet) has(m Means) bool { return s&bitOf(m) != 0 }

// compile makes the rulebook ready, after checking that it can be. Problems
// come back all together as *InputErrors without a place.
func (b *Rulebook) compile() error {
	var errs []error
	for _, p := range b.problems() {
		errs = append(errs, Input(p.what, p.do))
	}
	if len(errs) > 0 {
		return errors.Join(errs...)
	}
	b.made = b.ready()
	return nil
}

// ready resolves every name; it wants a rulebook without problems.
func (b *Rulebook) ready() *compiled {
	c := &compiled{apart: append(slices.Clone(apart), b.Never...)}
	for i := range attributes {
		if attributes[i].safety || slices.Contains(b.AskFor, attributes[i].name) {
			c.askFor = append(c.askFor, i)
		}
	}
	for _, s := range b.Steps {
		c.means = append(c.means, bitOf(s.Means))
	}
	for _, bag := range b.Materials.Bags() {
		if bag.Film >= b.LeastFilm {
			c.bags = append(c.bags, bag)
		}
	}
	c.boxes = b.Materials.Boxes()
	for i := range b.Rules {
		c.rules = append(c.rules, b.readyRule(&b.Rules[i]))
	}
	for _, n := range b.Names {
		rn := readyName{name: n.Name}
		for _, id := range n.Rules {
			rn.rules = append(rn.rules, slices.IndexFunc(b.Rules, func(r Rule) bool { return r.ID == id }))
		}
		c.names = append(c.names, rn)
	}
	return c
}

func (b *Rulebook) readyRule(r *Rule) readyRule {
	rr := readyRule{Rule: r, allow: meansOf(r.Allow), forbid: meansOf(r.Forbid)}
	rr.when, _ = readyCondition(r.When)
	rr.when.each(func(t *readyTest) { rr.second = rr.second || derived(t.fact) })
	for _, id := range r.Must {
		rr.must = append(rr.must, b.stepIndex(id))
	}
	for _, id := range r.Should {
		rr.should = append(rr.should, b.stepIndex(id))
	}
	for _, id := range r.Labels {
		rr.labels = append(rr.labels, slices.IndexFunc(b.Labels, func(l LabelWord) bool { return l.ID == id }))
	}
	for _, id := range r.Cautions {
		rr.cautions = append(rr.cautions, slices.IndexFunc(b.Cautions, func(c CautionWord) bool { return c.ID == id }))
	}
	for _, u := range r.Materials {
		ru := readyUse{Use: u, kind: u.Pick}
		if m := b.Materials.find(u.Material); m != nil {
			ru.made, ru.kind = m, m.Kind
		}
		rr.uses = append(rr.uses, ru)
	}
	return rr
}

func (b *Rulebook) stepIndex(id string) int {
	return slices.IndexFunc(b.Steps, func(s StepWord) bool { return s.ID == id })
}

// readyCondition resolves a condition. The path of an error is the path
// inside the condition: an attribute's name, or any.2.name.
func readyCondition(c Condition) (readyWhen, []problem) {
	w := readyWhen{always: c.Always}
	var bad []problem
	for _, t := range c.All {
		rt, problems := readyTestOf(t)
		w.all = append(w.all, rt)
		bad = append(bad, problems...)
	}
	for i, sub := range c.Any {
		rw, problems := readyCondition(sub)
		w.any = append(w.any, rw)
		bad = append(bad, under(path("any", i), problems)...)
	}
	return w, bad
}

func readyTestOf(t Test) (readyTest, []problem) {
	i := findFact(t.Attr)
	if i < 0 {
		return readyTest{}, []problem{{t.Attr, quoted(t.Attr) + " is not an attribute", suggest(t.Attr, factNames())}}
	}
	f := facts[i]
	if f.kind != asWords {
		return readyNumber(t, i)
	}
	rt := readyTest{fact: i}
	var bad []problem
	if t.Number != "" || len(t.Is) == 0 {
		bad = append(bad, problem{t.Attr, t.Attr + " takes words", suggest("", f.words)})
	}
	for _, w := range t.Is {
		at := slices.Index(f.words, w)
		if at < 0 {
			bad = append(bad, problem{path(t.Attr, w), quoted(w) + " is not a word for " + t.Attr, suggest(w, f.words)})
			continue
		}
		if rt.want&(1<<at) != 0 {
			bad = append(bad, problem{path(t.Attr, w), w + " is there twice", "leave one out"})
		}
		rt.want |= 1 << at
	}
	return rt, bad
}

func readyNumber(t Test, i int) (readyTest, []problem) {
	phrase := t.Number
	if phrase == "" && len(t.Is) == 1 {
		phrase = t.Is[0]
	}
	rt, err := parseNumberTest(phrase, facts[i].kind)
	rt.fact = i
	if err == nil {
		return rt, nil
	}
	var in *InputError
	if !errors.As(err, &in) {
		in = Input(err.Error(), numberHint)
	}
	return rt, []problem{{t.Attr, t.Attr + ": " + in.What, in.Do}}
}

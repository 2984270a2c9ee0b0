package prep

import (
	"slices"
	"strconv"
	"strings"
)

// ParseRulebook reads a rulebook from YAML. It returns every error it can find
// at once, joined, each an *InputError with file, line, column and the source
// line; an unknown word comes with the nearest known one.
func ParseRulebook(file string, src []byte) (*Rulebook, error) {
	s, root := readSource(file, src)
	if root == nil {
		return nil, s.failed()
	}
	b := &Rulebook{}
	root.fields("a rulebook", []field{
		{"rev", marked(&b.Rev, "rev")},
		{"note", &b.Note},
		{"ask_when_unknown", named(&b.AskFor, "ask_when_unknown")},
		{"recipes", func(n node) { b.readNames(n) }},
		{"never_together", func(n node) { b.readNever(n) }},
		{"least_film", &b.LeastFilm},
		{"steps", func(n node) { b.readSteps(n) }},
		{"labels", func(n node) { b.readLabels(n) }},
		{"cautions", func(n node) { b.readCautions(n) }},
		{"materials", func(n node) { b.readMaterials(n) }},
		{"rules", func(n node) { b.readRules(n) }},
	})
	unread := s.failedLines() // what follows from a value that could not be read is no news
	for _, p := range b.problems() {
		if at := s.place(p.path); !unread[at.line] {
			s.fail(at, p.what, p.do)
		}
	}
	if err := s.failed(); err != nil {
		return nil, err
	}
	b.made, b.src = b.ready(), s
	return b, nil
}

// named reads a list of words and notes where each stands.
func named(into *[]string, at string) func(node) {
	return func(n node) {
		for _, item := range n.items() {
			word := item.text()
			item.mark(path(at, word), item.place())
			*into = append(*into, word)
		}
	}
}

func (b *Rulebook) readNames(n node) {
	n.mark("names", n.place())
	for _, p := range n.pairs() {
		if p.key == "otherwise" {
			n.mark("otherwise", p.at)
			b.Otherwise = p.value.text()
			continue
		}
		at := path("names", p.key)
		n.mark(at, p.at)
		nm := Naming{Name: p.key}
		named(&nm.Rules, at)(p.value)
		b.Names = append(b.Names, nm)
	}
}

func (b *Rulebook) readNever(n node) {
	for _, item := range n.items() {
		var words []string
		named(&words, "never_together")(item)
		if len(words) != 2 {
			item.fail("two are wanted here", "write [warm-air, remover]")
			continue
		}
		b.Never = append(b.Never, [2]Means{Means(words[0]), Means(words[1])})
	}
}

func (b *Rulebook) readSteps(n node) {
	for _, p := range n.pairs() {
		s := StepWord{ID: p.key}
		at := path("steps", p.key)
		n.mark(at, p.at)
		p.value.fields("a step", []field{
			{"phase", oneOf(&s.Phase, phaseWords, "phase")},
			{"say", marked(&s.Say, path(at, "say"))},
			{"check", marked((*string)(&s.Check), path(at, "check"))},
			{"means", marked((*string)(&s.Means), path(at, "means"))},
			{"seconds", &s.Seconds},
			{"each", &s.Each},
			{"one_in", marked(&s.OneIn, path(at, "one_in"))},
		})
		b.Steps = append(b.Steps, s)
	}
}

func (b *Rulebook) readLabels(n node) {
	for _, p := range n.pairs() {
		l := LabelWord{ID: p.key}
		at := path("labels", p.key)
		n.mark(at, p.at)
		p.value.fields("a label", []field{
			{"material", marked(&l.Material, path(at, "material"))},
			{"where", marked(&l.Where, path(at, "where"))},
			{"on_bag", marked(&l.OnBag, path(at, "on_bag"))},
			{"on_box", marked(&l.OnBox, path(at, "on_box"))},
			{"unless_printed", marked(&l.Unless, path(at, "unless_printed"))},
			{"count", marked(&l.Count, path(at, "count"))},
		})
		b.Labels = append(b.Labels, l)
	}
}

func (b *Rulebook) readCautions(n node) {
	for _, p := range n.pairs() {
		c := CautionWord{ID: p.key}
		at := path("cautions", p.key)
		n.mark(at, p.at)
		p.value.fields("a caution", []field{
			{"signal", oneOf(&c.Signal, signalWords, "signal word")},
			{"about", &c.About},
			{"means", marked((*string)(&c.Means), path(at, "means"))},
			{"say", marked(&c.Say, path(at, "say"))},
			{"source", &c.Source},
		})
		b.Cautions = append(b.Cautions, c)
	}
}

// marked reads into target and notes where the value stands.
func marked(target any, at string) func(node) {
	return func(n node) {
		n.mark(at, n.place())
		n.into(target)
	}
}

// oneOf reads one word of a list into its index.
func oneOf[T ~uint8](into *T, words []string, what string) func(node) {
	return func(n node) {
		if word := n.text(); word != "" {
			n.refuse(readWord(into, []byte(matchCase(word, words)), words, what))
		}
	}
}

// matchCase lets danger stand for DANGER.
func matchCase(word string, words []string) string {
	if i := slices.IndexFunc(words, func(w string) bool { return strings.EqualFold(w, word) }); i > 0 {
		return words[i]
	}
	return word
}

func (b *Rulebook) readRules(n node) {
	n.mark("rules", n.place())
	for i, item := range n.items() {
		r := Rule{}
		at := path("rules", item.peek("rule", strconv.Itoa(i+1)))
		item.mark(at, item.place())
		item.fields("a rule", []field{
			{"rule", marked(&r.ID, at)},
			{"title", marked(&r.Title, path(at, "title"))},
			{"when", func(n node) { n.mark(path(at, "when"), n.place()); r.When = readCondition(n, path(at, "when")) }},
			{"stop", marked(&r.Stop, path(at, "stop"))},
			{"ask", &r.Ask},
			{"must", named(&r.Must, at)},
			{"should", named(&r.Should, at)},
			{"materials", func(n node) { r.Materials = readUses(n, path(at, "materials")) }},
			{"labels", named(&r.Labels, at)},
			{"cautions", named(&r.Cautions, at)},
			{"allow", meansList(&r.Allow, at)},
			{"forbid", meansList(&r.Forbid, at)},
			{"pair_check", &r.PairCheck},
			{"because", &r.Because},
			{"source", &r.Source},
		})
		b.Rules = append(b.Rules, r)
	}
}

// peek reads one name of a mapping beforehand, without an error.
func (n node) peek(name, otherwise string) string {
	quiet := node{&source{lines: []string{""}, at: map[string]place{}}, n.ast}
	for _, p := range quiet.pairs() {
		if s, ok := p.value.scalar(); ok && p.key == name && s != "" {
			return s
		}
	}
	return otherwise
}

func meansList(into *[]Means, at string) func(node) {
	return func(n node) {
		var words []string
		named(&words, at)(n)
		for _, w := range words {
			*into = append(*into, Means(w))
		}
	}
}

func readUses(n node, at string) []Use {
	var out []Use
	for _, item := range n.items() {
		u := Use{}
		name := item.peek("use", "") + item.peek("pick", "")
		item.mark(path(at, name), item.place())
		item.fields("a material of a rule", []field{
			{"use", &u.Material}, {"pick", &u.Pick}, {"amount", &u.Amount}, {"layers", &u.Layers}, {"padding", &u.Padding},
		})
		out = append(out, u)
	}
	return out
}

func readCondition(n node, at string) Condition {
	var c Condition
	if s, ok := n.scalar(); ok {
		if s != "always" {
			n.fail(quoted(s)+" is not a condition", "write always, or attributes and words")
		}
		c.Always = s == "always"
		return c
	}
	seen := map[string]bool{}
	for _, p := range n.pairs() {
		n.mark(path(at, p.key), p.at)
		switch {
		case seen[p.key]:
			n.src.fail(p.at, quoted(p.key)+" is written twice", "put all its words in one list")
		case p.key == "any":
			for i, item := range p.value.items() {
				c.Any = append(c.Any, readCondition(item, path(at, "any", i)))
			}
		default:
			c.All = append(c.All, readTest(p, path(at, p.key)))
		}
		seen[p.key] = true
	}
	return c
}

func readTest(p pair, at string) Test {
	t := Test{Attr: p.key}
	if i := findFact(p.key); i >= 0 && facts[i].kind != asWords {
		p.value.mark(at, p.value.place())
		t.Number = p.value.text()
		return t
	}
	named(&t.Is, at)(p.value)
	return t
}

package prep

import (
	"fmt"
	"slices"
	"strings"
)

// problem is one thing wrong with a rulebook, at a path of names such as
// rules/P-09/must/peel-card. The YAML reader knows where each path stands.
type problem struct{ path, what, do string }

func path(parts ...any) string {
	words := make([]string, len(parts))
	for i, p := range parts {
		words[i] = fmt.Sprint(p)
	}
	return strings.Join(words, "/")
}

func under(prefix string, problems []problem) []problem {
	for i := range problems {
		problems[i].path = path(prefix, problems[i].path)
	}
	return problems
}

// problems lists everything in the rulebook that is not defined, not allowed
// or said twice: what can be seen without trying combinations.
func (b *Rulebook) problems() []problem {
	var out []problem
	out = append(out, b.headProblems()...)
	out = append(out, b.stepProblems()...)
	out = append(out, b.labelProblems()...)
	out = append(out, b.cautionProblems()...)
	out = append(out, b.Materials.problems()...)
	for i := range b.Rules {
		out = append(out, under(path("rules", b.Rules[i].ID), b.ruleProblems(&b.Rules[i]))...)
	}
	return append(out, b.nameProblems()...)
}

func (b *Rulebook) headProblems() []problem {
	var out []problem
	if b.Rev < 1 {
		out = append(out, problem{"rev", "the revision has no number", "write rev: 1, and one more for each revision"})
	}
	if len(b.Rules) == 0 {
		out = append(out, problem{"rules", "there is no rule", "write at least one"})
	}
	for _, name := range b.AskFor {
		if findAttribute(name) == nil {
			out = append(out, problem{path("ask_when_unknown", name), quoted(name) + " is not an attribute", suggest(name, AttrNames())})
		}
	}
	for _, pair := range b.Never {
		for _, m := range pair {
			if bitOf(m) == 0 {
				out = append(out, problem{path("never_together", m), quoted(string(m)) + " is not a means", suggest(string(m), meansNames())})
			}
		}
	}
	return append(out, twice("rules", b.ruleIDs())...)
}

func (b *Rulebook) stepProblems() []problem {
	var out []problem
	for _, s := range b.Steps {
		at := path("steps", s.ID)
		out = append(out, idProblem(at, s.ID)...)
		if s.Phase < PhaseLook || s.Phase > PhaseVerify {
			out = append(out, problem{at, "step " + s.ID + " has no phase", "choose from " + strings.Join(phaseWords[1:], ", ")})
		}
		out = append(out, sayProblems(path(at, "say"), s.Say)...)
		if s.Check == CheckTimer && s.Seconds <= 0 {
			out = append(out, problem{path(at, "check"), "a timer without a time", "write seconds: and how long to wait"})
		}
		if s.Seconds < 0 || s.Seconds > 86400 || s.OneIn < 0 || s.OneIn > 10000 {
			out = append(out, problem{at, "step " + s.ID + " has an impossible number", "check seconds and one_in"})
		}
		if s.Each && s.OneIn > 0 {
			out = append(out, problem{path(at, "one_in"), "each unit and one in " + fmt.Sprint(s.OneIn), "leave one of them out"})
		}
		if s.Check != CheckNone && !slices.Contains(checkWords, string(s.Check)) {
			out = append(out, problem{path(at, "check"), quoted(string(s.Check)) + " is not a check", suggest(string(s.Check), checkWords)})
		}
		out = append(out, meansProblem(path(at, "means"), s.Means)...)
	}
	return append(out, twice("steps", b.stepIDs())...)
}

func (b *Rulebook) labelProblems() []problem {
	var out []problem
	for _, l := range b.Labels {
		at := path("labels", l.ID)
		out = append(out, idProblem(at, l.ID)...)
		out = append(out, b.materialProblem(path(at, "material"), l.Material, KindLabel)...)
		out = append(out, sayProblems(path(at, "where"), l.Where)...)
		for _, say := range [][2]string{{"on_bag", l.OnBag}, {"on_box", l.OnBox}} {
			if say[1] != "" {
				out = append(out, sayProblems(path(at, say[0]), say[1])...)
			}
		}
		if l.Unless != "" && !slices.Contains(printedWords, l.Unless) {
			out = append(out, problem{path(at, "unless_printed"), quoted(l.Unless) + " is not printed on bags", suggest(l.Unless, printedWords)})
		}
		if l.Count < 0 || l.Count > 20 {
			out = append(out, problem{path(at, "count"), "so many labels on one unit", "check the count"})
		}
	}
	return append(out, twice("labels", b.labelIDs())...)
}

var printedWords = []string{"warning", "keep-closed"}

func (b *Rulebook) cautionProblems() []problem {
	var out []problem
	for _, c := range b.Cautions {
		at := path("cautions", c.ID)
		out = append(out, idProblem(at, c.ID)...)
		if c.Signal < SignalNotice || c.Signal > SignalDanger {
			out = append(out, problem{at, "caution " + c.ID + " has no signal word", "choose from " + strings.Join(signalWords[1:], ", ")})
		}
		if c.About == "" {
			out = append(out, problem{at, "caution " + c.ID + " does not say what it is about", "write about: and one word"})
		}
		out = append(out, sayProblems(path(at, "say"), c.Say)...)
		out = append(out, meansProblem(path(at, "means"), c.Means)...)
	}
	return append(out, twice("cautions", b.cautionIDs())...)
}

func (b *Rulebook) nameProblems() []problem {
	var out []problem
	if b.Otherwise == "" {
		out = append(out, problem{"otherwise", "no name for what no rule names", `write otherwise: plain label, or another short name`})
	}
	seen := []string{b.Otherwise}
	for _, n := range b.Names {
		at := path("names", n.Name)
		if slices.Contains(seen, n.Name) {
			out = append(out, problem{at, quoted(n.Name) + " names two recipes", "give each its own name"})
		}
		seen = append(seen, n.Name)
		if n.Name == "" || len(n.Rules) == 0 {
			out = append(out, problem{at, "a recipe name without a rule", "write name: and rules: together"})
		}
		for _, id := range n.Rules {
			if _, ok := b.Rule(id); !ok {
				out = append(out, problem{path(at, id), "there is no rule " + quoted(id), suggest(id, b.ruleIDs())})
			}
		}
	}
	return out
}

func (b *Rulebook) materialProblem(at, id, kind string) []problem {
	m, ok := b.Materials.Find(id)
	switch {
	case !ok:
		return []problem{{at, "there is no material " + quoted(id), suggest(id, b.Materials.ids())}}
	case kind != "" && m.Kind != kind:
		return []problem{{at, id + " is a " + m.Kind + ", not a " + kind, "name a " + kind + " of the catalogue"}}
	}
	return nil
}

func idProblem(at, id string) []problem {
	if isWord(id) {
		return nil
	}
	return []problem{{at, quoted(id) + " is not a plain word", "use small letters, digits and hyphens"}}
}

func meansProblem(at string, m Means) []problem {
	if m == "" || bitOf(m) != 0 {
		return nil
	}
	return []problem{{at, quoted(string(m)) + " is not a means", suggest(string(m), meansNames())}}
}

func sayProblems(at, say string) []problem {
	switch n := len(strings.Fields(say)); {
	case n == 0:
		return []problem{{at, "there are no words to show", "write what to do, in at most 12 words"}}
	case n > MaxStepWords:
		return []problem{{at, fmt.Sprintf("%d words are too many for a bench card", n), "say it in at most 12"}}
	}
	return nil
}

func twice(section string, ids []string) []problem {
	var out []problem
	for i, id := range ids {
		if slices.Contains(ids[:i], id) {
			out = append(out, problem{path(section, id), id + " is defined twice", "rename or remove one"})
		}
	}
	return out
}

func meansNames() []string {
	names := make([]string, len(allMeans))
	for i, m := range allMeans {
		names[i] = string(m)
	}
	return names
}

func (b *Rulebook) ruleIDs() []string {
	return idsOf(b.Rules, func(r Rule) string { return r.ID })
}
func (b *Rulebook) stepIDs() []string {
	return idsOf(b.Steps, func(s StepWord) string { return s.ID })
}
func (b *Rulebook) labelIDs() []string {
	return idsOf(b.Labels, func(l LabelWord) string { return l.ID })
}
func (b *Rulebook) cautionIDs() []string {
	return idsOf(b.Cautions, func(c CautionWord) string { return c.ID })
}

func idsOf[T any](list []T, id func(T) string) []string {
	ids := make([]string, len(list))
	for i, v := range list {
		ids[i] = id(v)
	}
	return ids
}

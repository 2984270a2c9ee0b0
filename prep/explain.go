package prep

import (
	"fmt"
	"slices"
	"strings"
)

// Explanation says why an item gets its recipe: every rule with the reason
// why it fired or did not, and for each step the rules that ask for it.
type Explanation struct {
	Item   string     `json:"item"`
	Rev    int        `json:"rules_rev"`
	Recipe Recipe     `json:"result"`
	Rules  []RuleWhy  `json:"rules"`
	Steps  []StepWhy  `json:"steps,omitempty"`
	Cost   Money      `json:"materials_minor"`
	Lines  []CostLine `json:"cost,omitempty"`
}

// RuleWhy is one rule, whether it fired, and the answers that decided it.
type RuleWhy struct {
	Rule  string `json:"rule"`
	Title string `json:"title"`
	Fired bool   `json:"fired"`
	Why   string `json:"why"`
}

// StepWhy is one step of the recipe with every rule that asks for it, and the
// reason that the rule that asks the most gives.
type StepWhy struct {
	Step    Step     `json:"step"`
	Rules   []string `json:"rules"`
	Because string   `json:"because,omitempty"`
}

// CostLine is what one unit takes of one material, at the catalogue's price.
type CostLine struct {
	Material string `json:"material"`
	Amount   Fixed  `json:"amount"`
	Minor    Money  `json:"minor"`
}

// Explain works out an item's recipe and says why.
func Explain(b *Rulebook, it Item) Explanation {
	e := Explanation{Item: it.Item, Rev: b.Rev, Recipe: b.Recipe(it)}
	k := knownOf(it)
	for i := range b.Rules {
		e.Rules = append(e.Rules, e.rule(&b.Rules[i], k))
	}
	for _, s := range e.Recipe.Steps {
		e.Steps = append(e.Steps, e.step(b, s))
	}
	for _, u := range e.Recipe.Materials {
		minor := b.Materials.Cost(u)
		e.Lines = append(e.Lines, CostLine{u.Material, u.Amount, minor})
		e.Cost += minor
	}
	return e
}

func (e *Explanation) rule(r *Rule, k *knowledge) RuleWhy {
	for _, h := range e.Recipe.Hits {
		if h.Rule == r.ID {
			return RuleWhy{r.ID, r.Title, true, h.Why}
		}
	}
	w, _ := readyCondition(r.When)
	return RuleWhy{r.ID, r.Title, false, w.whyNot(k)}
}

func (e *Explanation) step(b *Rulebook, s Step) StepWhy {
	out := StepWhy{Step: s}
	for _, h := range e.Recipe.Hits {
		r, _ := b.Rule(h.Rule)
		if slices.Contains(r.Must, s.ID) || slices.Contains(r.Should, s.ID) {
			out.Rules = append(out.Rules, r.ID)
		}
		if r.ID == s.Rule {
			out.Because = r.Because
		}
	}
	return out
}

// whyNot says which answer kept the condition from holding.
func (w *readyWhen) whyNot(k *knowledge) string {
	for i := range w.all {
		if t := &w.all[i]; !t.holds(k) {
			return facts[t.fact].told(k, t.fact)
		}
	}
	var parts []string
	for i := range w.any {
		if not := w.any[i].whyNot(k); !slices.Contains(parts, not) {
			parts = append(parts, not)
		}
	}
	return strings.Join(parts, ", ")
}

// told gives the whole answer to a fact.
func (f *fact) told(k *knowledge, i int) string {
	if derived(i) && k.mask[i] == bitUnknown {
		return "the recipe says nothing of " + f.name
	}
	if f.kind == asWords {
		return f.name + " is " + strings.Join(f.said(k.mask[i]), " and ")
	}
	if k.mask[i]&bitKnown == 0 {
		return f.name + " is " + unknownWord
	}
	return f.name + " is " + f.shown(k.num[i])
}

// String is the explanation as text: the verdict, dangers first, then the
// steps with their reasons, materials, and the rules that did not fire.
func (e Explanation) String() string {
	var b strings.Builder
	r := e.Recipe
	fmt.Fprintf(&b, "%s: %s (rules r%d, verdict %s)\n", e.Item, r.Name, e.Rev, r.Verdict())
	for _, h := range r.Stop {
		fmt.Fprintf(&b, "STOP %s %s: %s\n", h.Rule, h.Title, h.Why)
	}
	for _, ask := range r.Ask {
		fmt.Fprintf(&b, "ASK %s\n", ask)
	}
	for _, c := range r.Cautions {
		fmt.Fprintf(&b, "%s %s (%s)\n", c.Signal, c.Text, c.Rule)
	}
	for i, s := range e.Steps {
		fmt.Fprintf(&b, "%2d %s%s\n   %s: %s\n", i+1, s.Step.Text, s.Step.asked(), strings.Join(s.Rules, ", "), s.Because)
	}
	e.writeGoods(&b)
	for _, rule := range e.Rules {
		if !rule.Fired {
			fmt.Fprintf(&b, "not %s %s: %s\n", rule.Rule, rule.Title, rule.Why)
		}
	}
	return b.String()
}

func (e Explanation) writeGoods(b *strings.Builder) {
	for _, m := range e.Recipe.RemovalMethods {
		fmt.Fprintf(b, "take off by %s, %s (%s)\n", m.Means, m.How, m.Rule)
	}
	for _, l := range e.Recipe.Labels {
		fmt.Fprintf(b, "label %s ×%d, %s (%s)\n", l.ID, l.Count, l.Where, l.Rule)
	}
	for i, u := range e.Recipe.Materials {
		fmt.Fprintf(b, "uses %s %s (%s) %s\n", u.Amount, u.Material, u.Rule, e.Lines[i].Minor)
	}
	if e.Recipe.Open() {
		fmt.Fprintf(b, "materials of one unit: %s minor units\n", e.Cost)
	}
	for _, d := range e.Recipe.Dropped {
		fmt.Fprintf(b, "left out %s of %s: %s\n", d.What, d.Rule, d.Because)
	}
}

// asked says in short what a gate wants of the step.
func (s Step) asked() string {
	switch {
	case s.Severity < Must:
		return ""
	case s.Check == CheckTimer:
		return fmt.Sprintf(" [%s %d s%s]", s.Check, s.Seconds, s.often())
	}
	return fmt.Sprintf(" [%s%s]", s.Check, s.often())
}

func (s Step) often() string {
	switch {
	case s.Each:
		return ", each unit"
	case s.OneIn > 0:
		return fmt.Sprintf(", one in %d", s.OneIn)
	}
	return ""
}

package prep

import (
	"fmt"
	"slices"
)

// ruleProblems lists what is wrong inside one rule. Paths are inside the rule.
func (b *Rulebook) ruleProblems(r *Rule) []problem {
	var out []problem
	if !isRuleID(r.ID) {
		out = append(out, problem{"", quoted(r.ID) + " is not a rule id", "write P- and a number, such as P-34"})
	}
	if r.Title == "" {
		out = append(out, problem{"title", "rule " + r.ID + " has no title", "say in a few words what it is about"})
	}
	w, bad := readyCondition(r.When)
	out = append(out, under("when", bad)...)
	if !r.When.Always && len(r.When.All) == 0 && len(r.When.Any) == 0 {
		out = append(out, problem{"when", "rule " + r.ID + " has no condition", "write when: always, or attributes and words"})
	}
	if r.Stop != "" && r.Stop != VerdictHold && r.Stop != VerdictDivert {
		out = append(out, problem{"stop", quoted(r.Stop) + " is not where goods go", suggest(r.Stop, []string{VerdictHold, VerdictDivert})})
	}
	out = append(out, b.namedInRule(r)...)
	out = append(out, b.useProblems(r)...)
	if len(bad) == 0 {
		out = append(out, b.secondProblems(r, &w)...)
	}
	return out
}

// namedInRule checks that every name is defined and that each must has a check.
func (b *Rulebook) namedInRule(r *Rule) []problem {
	var out []problem
	steps := b.stepIDs()
	for _, id := range append(slices.Clone(r.Must), r.Should...) {
		if !slices.Contains(steps, id) {
			out = append(out, problem{id, "there is no step " + quoted(id), suggest(id, steps)})
		}
	}
	for _, id := range r.Must {
		if i := b.stepIndex(id); i >= 0 && b.Steps[i].Check == CheckNone {
			out = append(out, problem{id, "step " + id + " is a must but has no check", "give it check: done, value, timer, scan or look, or ask for it under should"})
		}
	}
	for _, id := range r.Labels {
		if !slices.Contains(b.labelIDs(), id) {
			out = append(out, problem{id, "there is no label " + quoted(id), suggest(id, b.labelIDs())})
		}
	}
	for _, id := range r.Cautions {
		if !slices.Contains(b.cautionIDs(), id) {
			out = append(out, problem{id, "there is no caution " + quoted(id), suggest(id, b.cautionIDs())})
		}
	}
	for _, m := range append(slices.Clone(r.Allow), r.Forbid...) {
		if bitOf(m) == 0 {
			out = append(out, problem{string(m), quoted(string(m)) + " is not a means", suggest(string(m), meansNames())})
		}
	}
	for _, m := range r.Allow {
		if slices.Contains(r.Forbid, m) {
			out = append(out, problem{string(m), string(m) + " is allowed and forbidden in one rule", "leave one out"})
		}
	}
	return out
}

func (b *Rulebook) useProblems(r *Rule) []problem {
	var out []problem
	for _, u := range r.Materials {
		name := u.Material + u.Pick
		if (u.Material == "") == (u.Pick == "") {
			out = append(out, problem{path("materials", name), "a material needs use: or pick:, not both", "name one, or pick: bag or pick: box"})
			continue
		}
		if u.Pick != "" && u.Pick != KindBag && u.Pick != KindBox {
			out = append(out, problem{path("materials", name), quoted(u.Pick) + " cannot be picked by size", suggest(u.Pick, []string{KindBag, KindBox})})
		}
		if u.Material != "" {
			out = append(out, b.materialProblem(path("materials", name), u.Material, "")...)
		}
		if m, ok := b.Materials.Find(u.Material); ok && m.Kind == KindBag && m.Film < b.LeastFilm {
			out = append(out, problem{path("materials", name), u.Material + " is thinner than least_film", "name a bag of at least " + b.LeastFilm.String()})
		}
		if m, ok := b.Materials.Find(u.Material); u.Layers > 0 && ok && m.Kind != KindWrap {
			out = append(out, problem{path("materials", name), u.Material + " has no layers", "layers: belongs to wrap"})
		}
		if u.Amount < 0 || u.Amount > 1000*One || u.Layers < 0 || u.Layers > 20 || u.Padding < 0 || u.Padding > Length(largestSide) {
			out = append(out, problem{path("materials", name), "an impossible amount of " + name, "check amount, layers and padding"})
		}
	}
	return out
}

// secondProblems keeps a rule that reads what a recipe uses from changing
// what it uses: it would chase its own tail.
func (b *Rulebook) secondProblems(r *Rule, w *readyWhen) []problem {
	reads := ""
	w.each(func(t *readyTest) {
		if derived(t.fact) {
			reads = facts[t.fact].name
		}
	})
	if reads == "" {
		return nil
	}
	changes := len(r.Allow) > 0 || len(r.Forbid) > 0 || r.Stop != ""
	for _, u := range r.Materials {
		m, _ := b.Materials.Find(u.Material)
		changes = changes || u.Pick != "" || m.Kind == KindBag || m.Kind == KindBox || m.Kind == KindWrap
	}
	if !changes {
		return nil
	}
	return []problem{{path("when", reads), fmt.Sprintf("rule %s reads %s and also changes it", r.ID, reads),
		"let another rule allow, forbid, wrap, stop or choose the enclosure"}}
}

func isRuleID(s string) bool {
	if len(s) < 3 || len(s) > 12 || s[:2] != "P-" {
		return false
	}
	for _, r := range s[2:] {
		if !(r >= '0' && r <= '9' || r >= 'a' && r <= 'z') {
			return false
		}
	}
	return true
}

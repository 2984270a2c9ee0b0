package prep

import (
	"fmt"
	"slices"
)

// Change is an item whose recipe differs between two rulebooks, with what
// goes and what comes in plain lines.
type Change struct {
	Item     string   `json:"item"`
	From     Recipe   `json:"from"`
	To       Recipe   `json:"to"`
	FromCost Money    `json:"from_materials_minor"`
	ToCost   Money    `json:"to_materials_minor"`
	Lines    []string `json:"lines"` // "- put the old", "+ put the new"
}

// Diff lists the items whose recipe changes from rulebook a to b, in the
// order given. A recipe has changed when its digest has: when anybody would
// do, use or be told anything else.
func Diff(a, b *Rulebook, items []Item) []Change {
	var out []Change
	for _, it := range items {
		from, to := a.Recipe(it), b.Recipe(it)
		if from.Digest() == to.Digest() {
			continue
		}
		c := Change{Item: it.Item, From: from, To: to, FromCost: a.Materials.PrepCost(from), ToCost: b.Materials.PrepCost(to)}
		before, after := from.lines(), to.lines()
		for _, line := range before {
			if !slices.Contains(after, line) {
				c.Lines = append(c.Lines, "- "+line)
			}
		}
		for _, line := range after {
			if !slices.Contains(before, line) {
				c.Lines = append(c.Lines, "+ "+line)
			}
		}
		out = append(out, c)
	}
	return out
}

// lines says everything that the recipe makes people do, one thing a line.
func (r Recipe) lines() []string {
	out := []string{"recipe " + r.Name, "verdict " + r.Verdict()}
	for _, h := range r.Stop {
		out = append(out, "stop "+h.Title)
	}
	for _, ask := range r.Ask {
		out = append(out, "ask "+ask)
	}
	for _, c := range r.Cautions {
		out = append(out, fmt.Sprintf("%s %s", c.Signal, c.Text))
	}
	for _, s := range r.Steps {
		out = append(out, fmt.Sprintf("%s %s%s", s.Severity, s.Text, s.asked()))
	}
	for _, m := range r.Materials {
		layers := ""
		if m.Layers > 0 {
			layers = fmt.Sprintf(", layers: %d", m.Layers)
		}
		out = append(out, fmt.Sprintf("use %s %s%s", m.Amount, m.Material, layers))
	}
	for _, l := range r.Labels {
		out = append(out, fmt.Sprintf("label %s ×%d %s", l.ID, l.Count, l.Where))
	}
	for _, m := range r.RemovalMethods {
		out = append(out, fmt.Sprintf("take off by %s, %s", m.Means, m.How))
	}
	if r.PairCheck {
		out = append(out, "pair check")
	}
	return out
}

package workflow

import (
	"fmt"
	"slices"
	"strings"

	"packwright/events"
	"packwright/prep"
)

// tote takes a tote's code: to place from, to triage, to open its run or to go on with it.
func (b *Bench) tote(f *Floor, s Scan) Said {
	code := s.Code
	r := f.runAt(b.Station)
	if r != nil && r.Tote == code && b.Hand != HandCarton {
		b.Hand = HandRun
		if r.State == RunPaused {
			return b.give("resume-run", map[string]any{"run": r.Run}, b.step)
		}
		return b.step(f)
	}
	at := map[events.Stage]int{}
	for _, c := range f.Ledger.At(code) {
		at[c.Stage] += c.Qty()
	}
	switch {
	case b.Hand == HandCarton && at[events.Prepped] > 0:
		b.Tote = code
		return prompt("From "+code+".", "Scan a piece, or POUR.")
	case b.Hand == HandCarton:
		return no(fmt.Sprintf("Nothing in %s is ready for %s.", code, b.Carton), "Another tote, or CANCEL.")
	case at[events.Received] > 0:
		return b.triage(code, at[events.Received])
	case at[events.Triaged] > 0 && !f.policy.Runs:
		return b.begin(f, code)
	case at[events.Triaged] > 0:
		return b.open(code, at[events.Triaged])
	case at[events.Prepped] > 0:
		b.Tote = code
		return prompt(fmt.Sprintf("%s: %d ready.", code, at[events.Prepped]), "Scan a carton.")
	case f.isAside(code) && len(f.Ledger.At(code)) > 0:
		return prompt(code+" holds pieces set aside.", "A supervisor settles them.")
	}
	return prompt(code+" is empty.", "Scan another.")
}

func (b *Bench) run(f *Floor, s Scan) Said {
	if r := f.Runs[s.Code]; r != nil && r.State != RunClosed {
		return b.tote(f, Scan{Class: ScanTote, Code: r.Tote})
	}
	return prompt(s.Code+" is over.", "Scan a tote.")
}

// cause waits for the card that says what happened to a piece.
func (b *Bench) cause(begun string, then func(cause string) Said) Said {
	b.want = &want{"TEAR, HEAT, STAIN, CRUSH, DROP or OTHER.", func(b *Bench, f *Floor, s Scan) (Said, bool) {
		cause := strings.ToLower(s.Code)
		if s.Class != ScanCard || !slices.Contains(causes, cause) {
			return Said{}, false
		}
		return then(cause), true
	}}
	return prompt(begun, b.want.text)
}

// open waits for a look at the bench, then opens the tote's run.
func (b *Bench) open(tote string, n int) Said {
	b.want = &want{"Clear the bench, look, then DONE.", func(b *Bench, f *Floor, s Scan) (Said, bool) {
		if s.Class != ScanCard || s.Code != "DONE" {
			return Said{}, false
		}
		return b.opens(tote, ""), true
	}}
	return prompt(fmt.Sprintf("%s: %d to prep.", tote, n), b.want.text)
}

// opens opens a run; a badge not cleared for its recipe waits for a lead's.
func (b *Bench) opens(tote, lead string) Said {
	ask := map[string]any{"tote": tote, "bench_clear": "yes"}
	if lead != "" {
		ask["lead"] = lead
	}
	said := b.give("open-run", ask, func(f *Floor) Said {
		b.Hand, b.Tote, b.Carton = HandRun, "", ""
		return b.print(f, 0)
	})
	b.asked.refused = map[Code]func(*Floor) Said{"E-PRE-06": func(f *Floor) Said {
		b.want = &want{"A lead scans a badge, or CANCEL.", func(b *Bench, f *Floor, s Scan) (Said, bool) {
			if s.Class != ScanBadge {
				return Said{}, false
			}
			return b.opens(tote, s.Code), true
		}}
		return no("You are not cleared for this recipe yet.", b.want.text)
	}}
	return said
}

// begin prints the first labels of a lot: in a house without explicit runs that
// opens its run, when nothing stands against one.
func (b *Bench) begin(f *Floor, tote string) Said {
	for _, c := range f.Ledger.At(tote) {
		recipe := f.recipe(c.Item, f.RulesRev)
		if c.Stage != events.Triaged || recipe == nil || len(recipe.Labels) == 0 {
			continue
		}
		return b.give("print-labels", map[string]any{"tote": tote, "lot": c.Lot, "kind": kinds(recipe)[0]}, func(f *Floor) Said {
			b.Hand, b.Tote, b.Carton = HandRun, "", ""
			return b.print(f, 1)
		})
	}
	return b.opens(tote, "")
}

// kinds lists the kinds of labels of a recipe.
func kinds(r *prep.Recipe) (out []events.LabelKind) {
	for _, l := range r.Labels {
		if k := kindOf(l.ID); !slices.Contains(out, k) {
			out = append(out, k)
		}
	}
	return out
}

// print prints the labels of the run just opened, kind by kind.
func (b *Bench) print(f *Floor, i int) Said {
	r := f.runAt(b.Station)
	if r == nil {
		return Said{}
	}
	kinds := kinds(f.recipeOf(r))
	if i < len(kinds) {
		return b.give("print-labels", map[string]any{"run": r.Run, "kind": kinds[i]}, func(f *Floor) Said { return b.print(f, i+1) })
	}
	if len(r.Marks) > 0 {
		return prompt(fmt.Sprintf("%s: %d labels.", r.Run, len(r.Marks)), "Scan the first and the last numbered label.")
	}
	return b.step(f)
}

// step says what comes next in the run here.
func (b *Bench) step(f *Floor) Said {
	r := f.runAt(b.Station)
	if r == nil {
		b.Hand = HandFree
		return prompt("No run is open here.", "Scan a tote.")
	}
	if m := undrawn(f.recipeOf(r), r.Materials); m != "" {
		return prompt("Fetch "+strings.ReplaceAll(m, "-", " ")+".", "Scan the roll or pack.")
	}
	if s, ok := unchecked(r, f.recipeOf(r), 1); ok {
		return prompt(s.Text, asks(s))
	}
	if left := f.left(r); left > 0 {
		return prompt(fmt.Sprintf("%d left in %s.", left, r.Run), b.finishing(f, r))
	}
	return prompt("All of "+r.Run+" is ready.", "FINISH RUN.")
}

// asks says how a step is confirmed.
func asks(s prep.Step) string {
	switch s.Check {
	case prep.CheckValue:
		return "Key in what it says, then DONE."
	case prep.CheckScan:
		return "Scan the code that shows."
	}
	return "Then DONE."
}

// finishing says how units of a run are said to be ready.
func (b *Bench) finishing(f *Floor, r *Run) string {
	switch {
	case f.marked(r) && f.recipeOf(r).PairCheck && f.policy.PairCheck:
		return "Scan the box's code, then its label."
	case f.marked(r):
		return "Scan its label when one is ready."
	}
	return "READY for all; digits first for a part."
}

// material takes a roll's or pack's code: it is used from here on.
func (b *Bench) material(f *Floor, s Scan) Said {
	r := f.runAt(b.Station)
	if r == nil {
		return no("No run is open here.", "Scan its tote first.")
	}
	recipe := f.recipeOf(r)
	draw := func(m string) Said {
		return b.give("draw-material", map[string]any{"run": r.Run, "material": m, "matlot": s.Code}, func(f *Floor) Said {
			return Said{Text: s.Code + " is " + strings.ReplaceAll(m, "-", " ") + ".", Next: b.step(f).Text}
		})
	}
	if m := f.materialOf(s.Code); m != "" && takes(recipe, m) {
		return draw(m)
	}
	if m := undrawn(recipe, r.Materials); m != "" {
		return draw(m) // the one that was asked for
	}
	if lot := f.blockedIn(r); lot != "" {
		return draw(f.materialOf(lot)) // in its place
	}
	var may []string
	for _, m := range recipe.Materials {
		if m.Kind != prep.KindLabel && !slices.Contains(may, m.Material) {
			may = append(may, m.Material)
		}
	}
	return b.which(may, draw)
}

// which waits for the number of one of several materials; of one, it goes on.
func (b *Bench) which(may []string, then func(material string) Said) Said {
	switch {
	case len(may) == 0:
		return no("This recipe uses no such thing.", "Look at the step card.")
	case len(may) == 1:
		return then(may[0])
	}
	words := make([]string, 0, len(may))
	for i, m := range may[:min(len(may), 4)] {
		words = append(words, fmt.Sprintf("%d %s", i+1, m))
	}
	b.want = &want{strings.Join(words, ", "), func(b *Bench, f *Floor, s Scan) (Said, bool) {
		if s.Class != ScanDigit || s.N < 1 || s.N > len(may) {
			return Said{}, false
		}
		return then(may[s.N-1]), true
	}}
	return prompt("Which is it? Scan its number.", b.want.text)
}

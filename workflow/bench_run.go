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
			return b.give("resume-run", map[string]any{"run": r.Run}, then{Do: "step"})
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
func (b *Bench) cause(begun string, next then) Said {
	return b.wants(begun, "TEAR, HEAT, STAIN, CRUSH, DROP or OTHER.", then{Do: "cause", Next: &next})
}

func (b *Bench) caused(f *Floor, t then, s Scan) (Said, bool) {
	cause := strings.ToLower(s.Code)
	if s.Class != ScanCard || !slices.Contains(causes, cause) {
		return Said{}, false
	}
	return reasons[t.Next.Do](b, f, *t.Next, cause), true
}

// open waits for a look at the bench, then opens the tote's run.
func (b *Bench) open(tote string, n int) Said {
	return b.wants(fmt.Sprintf("%s: %d to prep.", tote, n), "Clear the bench, look, then DONE.", then{Do: "clear", Tote: tote})
}

func (b *Bench) cleared(f *Floor, t then, s Scan) (Said, bool) {
	if s.Class != ScanCard || s.Code != "DONE" {
		return Said{}, false
	}
	return b.opens(t.Tote, ""), true
}

// opens opens a run; a badge not cleared for its recipe waits for a lead's.
func (b *Bench) opens(tote, lead string) Said {
	ask := map[string]any{"tote": tote, "bench_clear": "yes"}
	if lead != "" {
		ask["lead"] = lead
	}
	return b.give("open-run", ask, then{Do: "opened-run", Tote: tote})
}

// openedRun prints the labels of the run just opened, from the Nth kind on.
func (b *Bench) openedRun(f *Floor, t then) Said {
	b.Hand, b.Tote, b.Carton = HandRun, "", ""
	return b.print(f, t)
}

func (b *Bench) notCleared(f *Floor, t then) Said {
	b.Want = &want{then{Do: "lead", Tote: t.Tote}, "A lead scans a badge, or CANCEL."}
	return no("You are not cleared for this recipe yet.", b.Want.Text)
}

func (b *Bench) leads(f *Floor, t then, s Scan) (Said, bool) {
	if s.Class != ScanBadge {
		return Said{}, false
	}
	return b.opens(t.Tote, s.Code), true
}

// begin prints the first labels of a lot: in a house without explicit runs that
// opens its run, when nothing stands against one.
func (b *Bench) begin(f *Floor, tote string) Said {
	for _, c := range f.Ledger.At(tote) {
		recipe := f.recipe(c.Item, f.RulesRev)
		if c.Stage != events.Triaged || recipe == nil || len(recipe.Labels) == 0 {
			continue
		}
		return b.give("print-labels", map[string]any{"tote": tote, "lot": c.Lot, "kind": kinds(recipe)[0]}, then{Do: "opened-run", N: 1})
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
func (b *Bench) print(f *Floor, t then) Said {
	r := f.runAt(b.Station)
	if r == nil {
		return Said{}
	}
	kinds := kinds(f.recipeOf(r))
	if t.N < len(kinds) {
		return b.give("print-labels", map[string]any{"run": r.Run, "kind": kinds[t.N]}, then{Do: "print", N: t.N + 1})
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
	draw := then{Do: "draw", Run: r.Run, Lot: s.Code}
	if m := f.materialOf(s.Code); m != "" && takes(recipe, m) {
		return b.draw(f, draw, m)
	}
	if m := undrawn(recipe, r.Materials); m != "" {
		return b.draw(f, draw, m) // the one that was asked for
	}
	if lot := f.blockedIn(r); lot != "" {
		return b.draw(f, draw, f.materialOf(lot)) // in its place
	}
	var may []string
	for _, m := range recipe.Materials {
		if m.Kind != prep.KindLabel && !slices.Contains(may, m.Material) {
			may = append(may, m.Material)
		}
	}
	return b.which(f, may, draw)
}

func (b *Bench) draw(f *Floor, t then, material string) Said {
	ask := map[string]any{"run": t.Run, "material": material, "matlot": t.Lot}
	return b.give("draw-material", ask, then{Do: "drawn", Text: t.Lot + " is " + strings.ReplaceAll(material, "-", " ") + "."})
}

func (b *Bench) drawn(f *Floor, t then) Said { return Said{Text: t.Text, Next: b.step(f).Text} }

// which waits for the number of one of several materials; of one, it goes on.
func (b *Bench) which(f *Floor, may []string, next then) Said {
	switch {
	case len(may) == 0:
		return no("This recipe uses no such thing.", "Look at the step card.")
	case len(may) == 1:
		return choices[next.Do](b, f, next, may[0])
	}
	words := make([]string, 0, len(may))
	for i, m := range may[:min(len(may), 4)] {
		words = append(words, fmt.Sprintf("%d %s", i+1, m))
	}
	return b.wants("Which is it? Scan its number.", strings.Join(words, ", "), then{Do: "which", May: may, Next: &next})
}

func (b *Bench) chosen(f *Floor, t then, s Scan) (Said, bool) {
	if s.Class != ScanDigit || s.N < 1 || s.N > len(t.May) {
		return Said{}, false
	}
	return choices[t.Next.Do](b, f, *t.Next, t.May[s.N-1]), true
}

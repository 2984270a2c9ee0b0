package floors

import (
	"maps"
	"slices"

	"packwright/events"
	"packwright/prep"
	"packwright/workflow"
)

// closeRun gives back what is left, and destroys labels that are left over.
func (d *Day) closeRun(p *person, r *workflow.Run) *act {
	if d.sulking(p, "close-run "+r.Run) {
		return nil
	}
	over := r.Marks.Minus(r.UsedMarks).Minus(r.Torn)
	if len(over) > 0 && !d.erring(200) && !d.sulking(p, "spoil-labels "+r.Run) && d.mind.Percent(70) {
		run := over.Runs()[0]
		return d.say(p, "spoil-labels", "run", r.Run, "from", run.From, "to", run.To, "why", "left over")
	}
	words := []any{"run", r.Run, "returned", r.Q - r.Used - r.Spoiled}
	if len(over) > 0 && d.mind.Percent(60) {
		words = append(words, "labels_returned", len(over))
	}
	return d.say(p, "close-run", words...)
}

// firstScan begins a run in a house that does not open them: by its first scan.
func (d *Day) firstScan(p *person, f *workflow.Floor) *act {
	for _, tote := range slices.Sorted(maps.Keys(f.Totes)) {
		n, lot := d.triaged(f, tote)
		if n < 1 || d.sulking(p, "print-labels "+tote) || d.sulking(p, "open-run "+tote) {
			continue
		}
		if f.Lots[lot].Item == "CRD" {
			if n < 2 {
				continue
			}
			return d.say(p, "open-run", "tote", tote, "lot", lot, "item", "DUO", "bench_clear", "yes", "q", n/2*2)
		}
		return d.say(p, "print-labels", "tote", tote, "lot", lot, "kind", d.firstLabel(f.Lots[lot].Item), "n", n)
	}
	return nil
}

func (d *Day) firstLabel(item string) events.LabelKind {
	if d.items[item].Trace == prep.TraceMark {
		return events.KeepSealed
	}
	return events.ItemLabel
}

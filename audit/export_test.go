package audit

import (
	"maps"

	"packwright/events"
	"packwright/prep"
)

// Tamper changes how a fold applies one type of event: zero times, or twice.
func (f *Fold) Tamper(t events.Type, times int) {
	right := f.table[t]
	f.table = maps.Clone(f.table)
	f.table[t] = func(f *Fold, e *events.Event) error {
		for range times {
			if err := right(f, e); err != nil {
				return err
			}
		}
		return nil
	}
}

// Skew applies a type rightly and then counts one unit of its lots twice: a
// fold whose books do not balance.
func (f *Fold) Skew(t events.Type) {
	right := f.table[t]
	f.table = maps.Clone(f.table)
	f.table[t] = func(f *Fold, e *events.Event) error {
		err := right(f, e)
		for _, id := range f.touched {
			f.lots.change(id).Sum++
		}
		return err
	}
}

// Recount sums all cells anew.
func (f *Fold) Recount() events.Digest {
	d, n := f.recount()
	if n != f.byStage {
		return events.Digest{} // the sums by stage differ
	}
	return d
}

// Steps lists the types that have a step.
func Steps() []events.Type {
	var out []events.Type
	for t := range steps {
		out = append(out, t)
	}
	return out
}

// StageOrder lists the stages as the fold numbers them.
func StageOrder() []events.Stage {
	return []events.Stage{received.name(), triaged.name(), prepped.name(), counted.name(), sealed.name(), dispatched.name(), held.name(),
		unmarked.name(), diverted.name(), writtenOff.name(), consumed.name(), unaccounted.name()}
}

// GoneStages lists the stages that the fold takes for gone.
func GoneStages() []events.Stage {
	var out []events.Stage
	for s := range stageCount {
		if s.gone() {
			out = append(out, s.name())
		}
	}
	return out
}

// StampRound takes a moment through a stamp.
func StampRound(t events.Time) events.Time { return stampOf(t).time() }

// StampLess compares two moments as stamps.
func StampLess(a, b events.Time) bool { return stampOf(a) < stampOf(b) }

// RefRound takes a place through a ref.
func RefRound(s events.Seq) events.Seq { return refOf(s).seq() }

// TrailOf packs frames into a trail and unpacks them, with its size in bytes.
func TrailOf(frames []uint64) ([]uint64, int) {
	var t trail
	for _, f := range frames {
		t.add(f)
	}
	return t.frames(), len(t.Steps)
}

// SpansOf keeps command numbers in the order given.
func SpansOf(list []uint64) (spans [][2]uint64, behind int) {
	ep := epoch{Spans: []numbers{{list[0], list[0]}}}
	for _, n := range list[1:] {
		ep.add(n)
	}
	for _, s := range ep.Spans {
		spans = append(spans, [2]uint64{s.From, s.To})
	}
	return spans, ep.Behind
}

// Splitmix gives the first n numbers of the generator.
func Splitmix(seed uint64, n int) []uint64 {
	var out []uint64
	for range n {
		out = append(out, splitmix(&seed))
	}
	return out
}

// Draw picks n of 0..of-1.
func Draw(n, of int, seed uint64) []int { return draw(n, of, seed) }

// RunCount gives how many runs there are, and Resting how many rows and pages rest.
func (f *Fold) RunCount() int { return f.runs.size() - 1 }

// Resting counts what rests.
func (f *Fold) Resting() int {
	n := len(f.marks.rest)
	for _, r := range f.cartons.rest {
		if r != "" {
			n++
		}
	}
	return n
}

// TakeBook puts a rulebook in force as revision 1, and opens a run "R-1" by it.
func (f *Fold) TakeBook(b prep.Rulebook) {
	f.books = append(f.books, book{Rev: 1, Rulebook: b})
	f.runs.change(f.runs.id("R-1")).Rev = 1
}

// Warms applies a step to that run and says whether it is of the warm-air set, once.
func (f *Fold) Warms(d *events.StepChecked) bool {
	f.warmed(1, f.runs.change(1), d)
	return f.runs.row(1).Warm
}

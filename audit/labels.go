package audit

import (
	"fmt"
	"slices"
	"sort"

	"packwright/events"
	"packwright/prep"
)

// labels counts what a run printed and spoiled of one kind.
type labels struct {
	Kind             name
	Printed, Spoiled int
	Revs             []int // of the template of labels without marks, where the printing said
}

// printed is a range of marks that was printed for a run. The list is in the
// order of printing.
type printed struct {
	From, To prep.Mark
	Kind     name
	Rev      int32 // of the template; 0: the printing does not say
	Run      runID
	Live     bool
	Fact     fact
	Spoiled  []prep.MarkRun
}

func (f *Fold) labelsPrinted(e *events.Event, d *events.LabelsPrinted) error {
	if d.Run == "" {
		return nil // a carton's label
	}
	id, r, err := f.runOf(e, d.Run)
	if err != nil {
		return err
	}
	l := r.label(f.names.id(string(d.Kind)))
	l.Printed += d.N
	if d.From > 0 {
		f.printedMarks(printed{From: d.From, To: d.To, Kind: l.Kind, Rev: int32(d.Template), Run: id, Fact: f.fact(e)})
		return nil
	}
	if rev := d.Template; rev != 0 && !slices.Contains(l.Revs, rev) {
		f.setOfKey(setKey{ofTemplate, int32(l.Kind), int32(rev)})
		f.resort(id, func() { f.printedBy(id, l, rev) })
	}
	return nil
}

func (r *run) label(kind name) *labels {
	i := slices.IndexFunc(r.Labels, func(l labels) bool { return l.Kind == kind })
	if i < 0 {
		r.Labels = append(r.Labels, labels{Kind: kind})
		i = len(r.Labels) - 1
	}
	return &r.Labels[i]
}

func (f *Fold) labelsLive(e *events.Event, d *events.LabelsLive) error {
	_, _, err := f.runOf(e, d.Run)
	if p := f.printedAs(d.From); p != nil && d.To <= p.To {
		p.Live = true
	}
	return err
}

func (f *Fold) labelsSpoiled(e *events.Event, d *events.LabelsSpoiled) error {
	_, r, err := f.runOf(e, d.Run)
	if err != nil {
		return err
	}
	r.label(f.names.id(string(d.Kind))).Spoiled += d.N
	if p := f.printedAs(d.From); d.From > 0 && p != nil {
		p.Spoiled = append(p.Spoiled, prep.MarkRun{From: d.From, To: max(d.From, d.To)})
	}
	return nil
}

// printedAs gives the range that a mark was printed in, or nil.
func (f *Fold) printedAs(m prep.Mark) *printed {
	i := f.printedUpTo(m) - 1
	if i < 0 || m > f.printed[f.byMark[i]].To {
		return nil
	}
	return &f.printed[f.byMark[i]]
}

// printedUpTo counts the ranges that begin with a mark or before it.
func (f *Fold) printedUpTo(m prep.Mark) int {
	return sort.Search(len(f.byMark), func(i int) bool { return f.printed[f.byMark[i]].From > m })
}

// paper is the life of a mark beyond the piece it was first put on.
type paper struct {
	Voided     fact
	Reason     string
	Replaces   prep.Mark // the label that sat on this box before
	ReplacedBy prep.Mark // the label that sits there now
	Marked     fact      // for a mark that was given later
	How        name
	Outs       []out
}

// out is one time that the marked unit was taken out of a carton.
type out struct {
	Carton cartonID
	Fact   fact
	Reason string
}

func (f *Fold) paper(m prep.Mark) *paper {
	p := f.papers[m]
	if p == nil {
		p = &paper{}
		f.papers[m] = p
	}
	return p
}

func (f *Fold) markVoided(e *events.Event, d *events.MarkVoided) error {
	lot, err := f.lotOf(d.Lot, d.Item)
	if err != nil {
		return err
	}
	s, err := stageOf(d.Stage)
	if err != nil {
		return err
	}
	at, ok := f.places.find(d.Place)
	if !ok {
		return fmt.Errorf("nothing was ever in %q", d.Place)
	}
	if err := f.void(d.Mark, at, lot, s, stampOf(e.At)); err != nil {
		return err
	}
	p := f.paper(d.Mark)
	p.Voided, p.Reason = f.fact(e), d.Reason
	f.touch(e, d.Place, f.lots.change(lot))
	return nil
}

func (f *Fold) unitMarked(e *events.Event, d *events.UnitMarked) error {
	lot, err := f.lotOf(d.Lot, d.Item)
	if err != nil {
		return err
	}
	var id runID
	if d.Run != "" {
		if id, _, err = f.runOf(e, d.Run); err != nil {
			return err
		}
	}
	from, ok := f.places.find(d.From)
	if !ok {
		return fmt.Errorf("nothing was ever in %q", d.From)
	}
	if _, err := f.take(from, lot, unmarked, 1); err != nil {
		return err
	}
	if err := f.bind(d.Mark, f.placeOf(d.To), lot, refOf(e.Seq), stampOf(e.At)); err != nil {
		return err
	}
	f.remark(d.Mark, lot, id)
	p := f.paper(d.Mark)
	p.Marked, p.How, p.Replaces = f.fact(e), f.names.id(d.How), d.Replaces
	if d.Replaces > 0 {
		f.paper(d.Replaces).ReplacedBy = d.Mark
	}
	f.touch(e, d.To, f.lots.change(lot))
	return nil
}

package audit

import (
	"fmt"
	"slices"

	"packwright/events"
)

func (f *Fold) bundleBuilt(e *events.Event, d *events.BundleBuilt) error {
	_, r, err := f.runOf(e, d.Run)
	if err != nil {
		return err
	}
	if d.Q < 1 || len(d.Components) == 0 {
		return fmt.Errorf("%d bundles of %d components", d.Q, len(d.Components))
	}
	id, l, err := f.openLot(e, d.Lot, d.Item)
	if err != nil {
		return err
	}
	l.Kind, l.Owner = f.names.id("bundle"), f.names.id(d.Owner)
	for _, c := range d.Components {
		if err := f.consume(e, id, l, c); err != nil {
			return err
		}
	}
	at := stampOf(e.At)
	l.Received += d.Q
	f.put(f.placeOf(d.To), heap{Lot: id, Stage: triaged, N: d.Q, First: at, Last: at})
	f.joinLot(id, r.self[0])
	f.touch(e, d.To, l)
	return nil
}

// consume takes one component into a bundle's lot.
func (f *Fold) consume(e *events.Event, into lotID, l *lot, c events.Component) error {
	from, ok := f.lots.find(c.Lot)
	if !ok {
		return fmt.Errorf("there is no lot %q", c.Lot)
	}
	if from == into {
		return fmt.Errorf("lot %s is to go into itself", c.Lot)
	}
	p := part{Lot: from, Q: c.Q, Marks: slices.Clone(c.Marks)}
	s, err := stageOf(c.Stage)
	if err != nil {
		return err
	}
	if at, ok := f.places.find(c.From); ok && len(c.Marks) == 0 {
		for _, h := range f.places.row(at).Heaps {
			if h.Lot == from && h.Stage == s {
				p.Runs = h.Runs
			}
		}
	}
	if err := f.exit(e, goods{c.Lot, c.Item, c.Q, c.Marks}, c.Stage, c.From, spot{stage: consumed}); err != nil {
		return err
	}
	l.join(p)
	if src := f.lots.change(from); !slices.Contains(src.Into, into) {
		src.Into = append(src.Into, into)
	}
	return nil
}

// join adds a part to those of the same lot and runs.
func (l *lot) join(p part) {
	for i := range l.Parts {
		if o := &l.Parts[i]; o.Lot == p.Lot && slices.Equal(o.Runs, p.Runs) {
			o.Q += p.Q
			o.Marks = o.Marks.Union(p.Marks)
			return
		}
	}
	l.Parts = append(l.Parts, p)
}

package audit

// When a row of each noun may rest. Questions about what stands on the floor now
// ask only rows that are awake (shelf.awake), so a row of which one of them still
// speaks is never done.

func (l *lot) done() bool {
	n := 0
	for _, h := range l.Gone {
		n += h.N
	}
	return n == l.Sum
}

func (r *run) done() bool { return r.Closed.Ref != 0 }

func (p *place) done() bool { return len(p.Heaps) == 0 && len(p.Marks) == 0 }

func (c *carton) done() bool { return c.State == Dispatched || c.State == Void }

func (p *plan) done() bool { return p.Closed.Ref != 0 }

func (m *matter) done() bool { return !m.open() }

func (l *load) done() bool { return l.Closed.Ref != 0 }

// KeepAwake says how many rows of each noun stay awake although they are done
// with. No answer depends on it, only what memory and time it takes.
func (f *Fold) KeepAwake(rows int) { f.warm = rows }

// settle puts to rest what has been done with for a while. It is called between
// events, when nobody holds a row.
func (f *Fold) settle() {
	f.lots.settle(f.warm)
	f.runs.settle(f.warm)
	f.places.settle(f.warm)
	f.cartons.settle(f.warm)
	f.plans.settle(f.warm)
	f.matters.settle(f.warm)
	f.loads.settle(f.warm)
	f.marks.settle(min(f.warm, warmPages))
}

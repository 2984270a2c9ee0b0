package workflow

import (
	"cmp"

	"packwright/events"
	"packwright/prep"
)

// finishAsk says that pieces are ready: marked ones by their labels, others as
// a quantity. The pair check is either said, or done by sending the code of the
// item with its label.
type finishAsk struct {
	ofRun
	Q     int        `json:"q"` // 0: all that is left of the run
	Marks prep.Marks `json:"marks"`
	Mark  prep.Mark  `json:"mark"` // one, as a scanner sends it
	To    string     `json:"to"`   // empty: the tote used last; the run's own when all of it is ready
	Pair  bool       `json:"pair_checked"`
	Item  string     `json:"item"` // what the code on the item says: the house's short code
	Code  string     `json:"code"` // or as it was read
}

func (in *finishAsk) check() error {
	if in.Mark != 0 {
		in.Marks = in.Marks.Union(prep.Marks{in.Mark})
	}
	if in.Q < 0 || in.Q > 0 && len(in.Marks) > 0 && in.Q != len(in.Marks) {
		return prep.Input("the quantity and the labels do not agree", "send one of them")
	}
	return nil
}

var finishUnitsRule = on(rule{Name: "finish-units", Who: packers, Late: true, Moves: []Move{{"unit", "triaged", "prepped"}, {"run", "open", "closed"}}}, working(
	gate[finishAsk]{Gate{"marked goods by their labels", "E-OUT-06", ""}, func(d *decision, in *finishAsk) *Refusal {
		if len(in.Marks) == 0 && d.f.marked(in.run) {
			return refuse("E-OUT-06", in.run.Tote)
		}
		return nil
	}},
	eachMark("labels that are not cancelled", "E-CAR-07", func(d *decision, in *finishAsk, m prep.Mark) *Refusal {
		if v, void := d.f.Voided[m]; void {
			return cancelled(v)
		}
		return nil
	}),
	eachMark("labels on no finished unit yet", "E-CAR-04", func(d *decision, in *finishAsk, m prep.Mark) *Refusal {
		u := d.f.Units[m]
		switch {
		case u == nil:
			return nil
		case len(in.Marks) == 1 && u.Run == in.run.Run:
			return again(refuse("E-CAR-04", d.f.Ledger.Find(m).Place))
		}
		return refuse("E-CAR-04", d.f.Ledger.Find(m).Place)
	}),
	eachMark("labels that were printed here", "E-CAR-06", func(d *decision, in *finishAsk, m prep.Mark) *Refusal {
		if !d.f.Printed.Has(m) {
			return refuse("E-CAR-06")
		}
		return nil
	}),
	eachMark("no label of another run", "E-PRE-04", func(d *decision, in *finishAsk, m prep.Mark) *Refusal {
		if !in.run.Marks.Contains(m) {
			return refuse("E-PRE-04")
		}
		return nil
	}),
	eachMark("labels whose range was scanned", "E-PRE-10", func(d *decision, in *finishAsk, m prep.Mark) *Refusal {
		if !in.run.Live.Contains(m) {
			return refuse("E-PRE-10", m.Display())
		}
		return nil
	}),
	gate[finishAsk]{Gate{"no more than is left of the run", "E-INT-05", ""}, func(d *decision, in *finishAsk) *Refusal {
		left := d.f.left(in.run)
		if in.Q = cmp.Or(in.Q, len(in.Marks), left); in.Q < 1 || in.Q > left {
			return refuse("E-INT-05", in.Q)
		}
		return nil
	}},
	gate[finishAsk]{Gate{"the item's code, when it was read, is of the item in hand", "E-PRE-03", ""}, func(d *decision, in *finishAsk) *Refusal {
		code := cmp.Or(in.Code, in.Item)
		if code == "" {
			return nil
		}
		in.Pair = true
		return d.rightItem(in.run, code)
	}},
	gate[finishAsk]{Gate{"each required step is confirmed, and the pair check done", "E-PRE-02", ""}, stepsDone},
	gate[finishAsk]{Gate{"what was wet has dried", "E-PRE-13", ""}, func(d *decision, in *finishAsk) *Refusal {
		return d.dry(in.run, in.recipe)
	}},
	gate[finishAsk]{Gate{"each material of the recipe was drawn", "E-PRE-12", ""}, func(d *decision, in *finishAsk) *Refusal {
		if m := undrawn(in.recipe, in.run.Materials); m != "" {
			return refuse("E-PRE-12", m)
		}
		return nil
	}},
	gate[finishAsk]{Gate{"no roll or pack in use is blocked", "E-PRE-05", ""}, func(d *decision, in *finishAsk) *Refusal {
		return d.f.unblocked(in.run)
	}},
	gate[finishAsk]{Gate{"an item label was printed for each", "E-PRE-17", ""}, func(d *decision, in *finishAsk) *Refusal {
		want := labelsFor(in.recipe, events.ItemLabel) * (in.run.done() + in.Q)
		if good := in.run.Printed[events.ItemLabel] - in.run.Torns[events.ItemLabel]; d.f.policy.Balance && good < want {
			return refuse("E-PRE-17", good, want)
		}
		return nil
	}},
	gate[finishAsk]{Gate{"a tote that is empty or holds the same lot, ready", "E-INT-02", ""}, outTote},
), func(d *decision, in *finishAsk) {
	d.begin(&in.ofRun)
	from := in.run.source()
	e := &events.UnitsPrepped{Run: in.run.Run, Lot: from.Lot, Item: in.run.Item, From: from.Place, To: in.To, Q: in.Q,
		Marks: in.Marks, Recipe: in.run.Recipe, Pair: in.Pair}
	if len(in.Marks) == 0 {
		e.Marks = nil
	}
	d.emit(e)
	after := *in.run
	after.finish(e, in.recipe)
	if d.f.left(in.run) == in.Q {
		d.ends(&after, in.recipe)
	}
})

// eachMark is a gate that every label of the ask must pass.
func eachMark(needs string, code Code, shut func(*decision, *finishAsk, prep.Mark) *Refusal) gate[finishAsk] {
	return gate[finishAsk]{Gate{needs, code, ""}, func(d *decision, in *finishAsk) *Refusal {
		for _, m := range in.Marks {
			d.scope.Mark = m
			if no := shut(d, in, m); no != nil {
				return no
			}
		}
		return nil
	}}
}

// stepsDone asks for the steps, and for the pair check where the recipe and the
// house want it: said, read, or confirmed as a step.
func stepsDone(d *decision, in *finishAsk) *Refusal {
	r := *in.run
	r.Every = r.Every || d.f.Lots[r.source().Lot].Leaked // perhaps found at another bench
	if s, open := unchecked(&r, in.recipe, in.Q); open {
		return refuse("E-PRE-02", stepName(in.recipe, s))
	}
	if !in.recipe.PairCheck {
		return nil
	}
	s, ok := in.recipe.Step(PairCheck)
	if ok && in.run.Checked[PairCheck].reaches(s, in.run.done()+in.Q) {
		in.Pair = true
	}
	if in.Pair || !d.f.policy.PairCheck {
		return nil
	}
	if !ok {
		s.ID = PairCheck
	}
	return refuse("E-PRE-02", stepName(in.recipe, s))
}

// outTote finds where the units go, and asks that they may lie there. What is
// ready and what is not never lie in one tote, where totes are used.
func outTote(d *decision, in *finishAsk) *Refusal {
	r, from := in.run, in.run.source()
	there := d.f.Ledger.N(from)
	if in.To == "" {
		in.To = r.Out
	}
	if in.To == "" && (in.Q == there || r.Set > 0 || !d.f.policy.Totes) {
		in.To = r.Tote
	}
	if r.Set > 0 && !d.f.policy.Totes && in.To == r.Tote {
		in.To = from.Lot
	}
	if in.To == "" {
		return refuse("E-INT-02", from.Place, there-in.Q)
	}
	if in.To != from.Place || in.Q < there {
		return d.f.toteTakes(in.To, from.Lot, events.Prepped)
	}
	others := d.f.Ledger.QtyAt(in.To) - in.Q
	if c := d.f.Ledger.Cell(Key{from.Lot, events.Prepped, in.To}); c != nil {
		others -= c.Qty()
	}
	if others > 0 && d.f.toteTakes(in.To, from.Lot, events.Prepped) != nil {
		return refuse("E-INT-02", in.To, others)
	}
	return nil
}

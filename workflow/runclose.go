package workflow

import (
	"packwright/events"
	"packwright/prep"
)

// closeRunAsk ends a run: what is left of the pieces and labels is given back.
type closeRunAsk struct {
	ofRun
	Returned int `json:"returned"`        // pieces that stay in the tote, not worked on
	Labels   int `json:"labels_returned"` // labels handed back, to be destroyed
}

func (in *closeRunAsk) check() error {
	if in.Returned < 0 || in.Labels < 0 {
		return prep.Input("a number below zero was given back", "count what is left")
	}
	return nil
}

// labelBalance is the override that closes a run with labels missing.
const labelBalance = "label-balance"

// closeGates are what closing asks, whether it is asked for or follows from the last piece.
var closeGates = []gate[closeRunAsk]{
	{Gate{"the hot tool is in its holder, where the recipe says so", "E-PRE-02", ""}, func(d *decision, in *closeRunAsk) *Refusal {
		if in.recipe == nil || in.run.done() == 0 {
			return nil
		}
		for _, s := range in.recipe.Required() {
			if atClose(s) && !in.run.Checked[s.ID].OK {
				return refuse("E-PRE-02", stepName(in.recipe, s))
			}
		}
		return nil
	}},
	{Gate{"in is used, spoiled and given back; each set built is finished", "E-PRE-11", ""}, func(d *decision, in *closeRunAsk) *Refusal {
		r := in.run
		unfinished := 0
		if r.Set > 0 {
			unfinished = d.f.Ledger.N(r.source()) - d.made(r)
		}
		if out := r.Used + r.Spoiled + in.Returned; out != r.Q || unfinished > 0 {
			return refuse("E-PRE-11", r.Q, out-unfinished*r.Set)
		}
		return nil
	}},
	{Gate{"numbered labels printed are used, spoiled and given back", "E-PRE-07", labelBalance}, func(d *decision, in *closeRunAsk) *Refusal {
		if off := in.run.unbalanced() - in.back(d.f); off != 0 && d.f.policy.Balance {
			return refuse("E-PRE-07", len(in.run.Marks), len(in.run.Marks)-off)
		}
		return nil
	}},
}

var closeRunRule = on(rule{Name: "close-run", Who: packers, Late: true, Moves: []Move{{"run", "open", "closed"}, {"run", "paused", "closed"}, {"run", "stopped", "closed"}}},
	append([]gate[closeRunAsk]{ofHands[closeRunAsk]()}, closeGates...),
	func(d *decision, in *closeRunAsk) {
		e := d.closed(in)
		d.emit(e)
		if e.Balance != 0 && d.f.policy.Balance {
			printed, found := len(in.run.Marks), len(in.run.Marks)-e.Balance
			d.raise(events.LabelBal, events.Scope{Run: e.Run}, events.Evidence{Planned: &printed, Counted: &found}, true)
			d.calls("E-PRE-07", printed, found)
		}
	})

// back counts the numbered labels given back.
func (in *closeRunAsk) back(f *Floor) int {
	if f.marked(in.run) {
		return in.Labels
	}
	return 0
}

// made counts the sets finished in this very decision.
func (d *decision) made(r *Run) (n int) {
	for i := range d.out {
		if p, ok := d.out[i].Data.(*events.UnitsPrepped); ok && p.Run == r.Run {
			n += p.Q
		}
	}
	return n
}

// closed is the fact of a run's end. Of plain item labels the numbers are kept as they are.
func (d *decision) closed(in *closeRunAsk) *events.RunClosed {
	r := in.run
	e := &events.RunClosed{Run: r.Run, In: r.Q, Made: r.Made, Used: r.Used, Spoiled: r.Spoiled, Returned: in.Returned}
	e.Labels = events.LabelBalance{Printed: len(r.Marks), Used: len(r.UsedMarks), Spoiled: len(r.Torn), Returned: in.Labels}
	e.Balance = r.unbalanced() - in.back(d.f)
	if !d.f.marked(r) {
		e.Labels.Printed, e.Labels.Spoiled = r.Printed[events.ItemLabel], r.Torns[events.ItemLabel]
		e.Labels.Used = 0
		if in.recipe != nil {
			e.Labels.Used = r.done() * labelsFor(in.recipe, events.ItemLabel)
		}
	}
	idle := r.Idle
	if r.State == RunPaused {
		idle += d.c.At.Sub(r.PausedAt).Milliseconds()
	}
	e.IdleS = int(idle / 1000)
	return e
}

// closeable judges a closing that nobody asked for, and gives its fact.
func (d *decision) closeable(in *closeRunAsk, into **events.RunClosed) *Refusal {
	for _, g := range closeGates {
		if no := g.shut(d, in); no != nil {
			return no
		}
	}
	*into = d.closed(in)
	return nil
}

// ends closes a run whose last piece this was, in a house without explicit runs.
func (d *decision) ends(after *Run, recipe *prep.Recipe) {
	if d.f.policy.Runs || after.inHand() > 0 {
		return
	}
	var e *events.RunClosed
	if d.closeable(&closeRunAsk{ofRun: ofRun{run: after, recipe: recipe}}, &e) == nil {
		d.emit(e).Basis = events.Derived
	}
}

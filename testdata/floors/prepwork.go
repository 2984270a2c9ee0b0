package floors

import (
	"maps"
	"slices"

	"packwright/events"
	"packwright/prep"
	"packwright/workflow"
)

// prep gives the next step of a run: draw, print, check, finish, close.
func (d *Day) prep(p *person, f *workflow.Floor, r *workflow.Run) *act {
	if r.State == workflow.RunPaused {
		return d.goOn(p, f, r)
	}
	if d.mind.Mille(12) && d.stations[p.here].back == 0 {
		return d.say(p, "pause-run", "run", r.Run, "reason", "lunch")
	}
	it, book := f.Items[r.Item], f.Books[r.Rev]
	if it == nil || book == nil || r.Stopped {
		return d.closeRun(p, r)
	}
	recipe := book.Recipe(*it)
	for _, step := range []func(*person, *workflow.Floor, *workflow.Run, *prep.Recipe) *act{d.draw, d.print, d.mishap, d.build, d.check, d.finish} {
		if a := step(p, f, r, &recipe); a != nil {
			return a
		}
	}
	return d.closeRun(p, r)
}

// unitsOf counts the units a run can still make.
func unitsOf(f *workflow.Floor, r *workflow.Run) int {
	n := r.Q - r.Used - r.Spoiled
	if r.Set > 0 {
		return n/r.Set + built(f, r)
	}
	return n
}

// built counts the sets that stand built and unfinished.
func built(f *workflow.Floor, r *workflow.Run) int {
	if r.Bundle == "" {
		return 0
	}
	return f.Ledger.N(workflow.Key{Lot: r.Bundle, Stage: events.Triaged, Place: r.Stand})
}

func carrier(it *prep.Item, recipe *prep.Recipe) events.LabelKind {
	if it.Trace != prep.TraceMark {
		return ""
	}
	for _, l := range recipe.Labels {
		if l.ID == "keep-sealed" {
			return events.KeepSealed
		}
	}
	return events.ItemLabel
}

// print prints what is missing; the numbered label is scanned first and last.
func (d *Day) print(p *person, f *workflow.Floor, r *workflow.Run, recipe *prep.Recipe) *act {
	kinds := map[string]events.LabelKind{"item-label": events.ItemLabel, "keep-sealed": events.KeepSealed, "sold-as-set": events.SoldAsOne}
	numbered := carrier(f.Items[r.Item], recipe)
	for _, l := range recipe.Labels {
		kind := kinds[l.ID]
		want := unitsOf(f, r) + r.Made + r.Lost - (r.Printed[kind] - r.Torns[kind])
		if kind == numbered {
			want = unitsOf(f, r) - (len(r.Marks) - len(r.UsedMarks) - len(r.Torn))
		}
		if want > 0 && !d.sulking(p, "print-labels "+r.Run) {
			words := []any{"run", r.Run, "kind", kind, "n", want, "printer", "LP-1"}
			if kind == numbered && d.mind.Percent(15) { // a roll numbered before
				words = append(words, "marks_from", f.Next.Mark+prep.Mark(d.mind.Between(0, 5)))
			}
			return d.say(p, "print-labels", words...)
		}
	}
	fresh := r.Marks.Minus(r.Live).Minus(r.UsedMarks).Minus(r.Torn)
	if len(fresh) > 0 && !d.sulking(p, "labels-live "+r.Run) {
		run := fresh.Runs()[0]
		return d.say(p, "labels-live", "run", r.Run, "from", run.From, "to", run.To)
	}
	return nil
}

// mishap: a label jams, a piece tears.
func (d *Day) mishap(p *person, f *workflow.Floor, r *workflow.Run, recipe *prep.Recipe) *act {
	if !d.mind.Mille(40) || unitsOf(f, r) < 1 || d.sulking(p, "spoil "+r.Run) {
		return nil
	}
	switch d.mind.Below(4) {
	case 0:
		if len(r.Live) > 0 {
			m := pick(d.mind, r.Live)
			return d.say(p, pick(d.mind, []string{"print-again", "spoil-labels"}), "run", r.Run, "from", m, "to", m, "why", "jam")
		}
		return d.say(p, pick(d.mind, []string{"print-again", "spoil-labels"}), "run", r.Run, "kind", events.ItemLabel, "n", 1, "why", "jam")
	case 1:
		if len(r.UsedMarks) > 0 {
			return d.spoilMarked(p, r, pick(d.mind, r.UsedMarks))
		}
	}
	there := d.inHandOf(r)
	if len(there) == 0 || r.Set > 0 && r.Q-r.Used-r.Spoiled < 1 {
		return nil
	}
	verdict, where := d.fate(p)
	return d.say(p, "spoil", "run", r.Run, "q", 1, "cause", pick(d.mind, []string{"tear", "crush", "drop"}), "verdict", verdict).
		hands(func() { there[0].where = where }, func() { there[0].where = r.Tote })
}

func (d *Day) spoilMarked(p *person, r *workflow.Run, m prep.Mark) *act {
	x := d.truth.marked(m)
	if x == nil {
		return nil
	}
	was := x.where
	verdict, where := d.fate(p)
	return d.say(p, "spoil", "run", r.Run, "mark", m, "cause", "stain", "verdict", verdict).
		hands(func() { x.where = where }, func() { x.where = was })
}

func (d *Day) fate(p *person) (events.Verdict, string) {
	if d.mind.Percent(40) {
		return events.ToHold, "A-" + p.here
	}
	return pick(d.mind, []events.Verdict{events.ToDivert, events.ToWriteOff}), away
}

// inHandOf lists the pieces of a run's tote that are not ready yet.
func (d *Day) inHandOf(r *workflow.Run) []*piece {
	return d.truth.find(func(x *piece) bool { return x.where == r.Tote && x.lot == r.Lot && !x.ready })
}

// build makes sets of two of the parts that really lie there.
func (d *Day) build(p *person, f *workflow.Floor, r *workflow.Run, recipe *prep.Recipe) *act {
	left := r.Q - r.Used - r.Spoiled
	if r.Set == 0 || left < r.Set || built(f, r) > 0 || d.sulking(p, "build-bundle "+r.Run) {
		return nil
	}
	there := d.inHandOf(r)
	q := min(left, len(there)) / r.Set
	if q == 0 {
		return nil
	}
	if q > 2 && d.mind.Percent(30) {
		q = d.mind.Between(1, q)
	}
	parts := there[:q*r.Set]
	var sets []*piece
	for i := range q {
		sets = append(sets, &piece{item: r.Item, lot: r.Lot + "/B", where: p.here, grams: parts[2*i].grams + parts[2*i+1].grams + 4})
	}
	return d.say(p, "build-bundle", "run", r.Run, "q", q).hands(func() { move(parts, away) }, func() { move(parts, r.Tote) }).
		then(func(Answer) { d.truth.pieces = append(d.truth.pieces, sets...) })
}

// check confirms the first step that does not cover all units of the run.
func (d *Day) check(p *person, f *workflow.Floor, r *workflow.Run, recipe *prep.Recipe) *act {
	all := r.Made + r.Lost + unitsOf(f, r)
	for _, s := range recipe.Required() {
		c := r.Checked[s.ID]
		if s.ID == workflow.PairCheck || c.OK && (c.All || c.N >= all || s.OneIn > 0 && c.N*s.OneIn >= all) || all == r.Made+r.Lost ||
			d.sulking(p, "check-step "+r.Run) {
			continue
		}
		words := []any{"run", r.Run, "step", s.ID}
		if s.Each || s.OneIn > 0 {
			words = append(words, "n", max(1, all-c.N))
		}
		switch s.Check {
		case prep.CheckScan:
			code := string(f.Items[r.Item].Codes[0])
			if d.erring(40) {
				code = pick(d.mind, slices.Sorted(maps.Keys(d.items)))
			}
			words = append(words, "value", code)
		case prep.CheckValue:
			words = append(words, "value", "2033-01")
		}
		if d.mind.Mille(15) {
			words = append(words, "ok", false)
		}
		a := d.say(p, "check-step", words...)
		if d.mind.Mille(20) {
			a.then(func(Answer) { p.send(d.takesBack(p)) })
		}
		return a
	}
	return nil
}

// takesBack is the errand of taking one's last action back.
func (d *Day) takesBack(p *person) errand {
	return func(*workflow.Floor) *act { return d.say(p, "take-back", "reason", "my slip") }
}

// finish says that pieces are ready: marked ones with the labels that were stuck on.
func (d *Day) finish(p *person, f *workflow.Floor, r *workflow.Run, recipe *prep.Recipe) *act {
	left, lot, from := unitsOf(f, r), r.Lot, r.Tote
	there := d.inHandOf(r)
	if r.Set > 0 {
		left, lot, from = built(f, r), r.Bundle, r.Stand
		there = d.truth.find(func(x *piece) bool { return x.where == r.Stand && x.lot == r.Bundle && !x.ready })
	}
	if r.Set > 0 && left > 0 && len(there) == 0 && !d.sulking(p, "spoil "+r.Run) { // a set that fell under the bench
		return d.say(p, "spoil", "run", r.Run, "item", r.Item, "q", 1, "cause", "drop", "verdict", events.ToWriteOff)
	}
	if left = min(left, len(there)); left == 0 || d.sulking(p, "finish-units "+r.Run) {
		return nil
	}
	to := r.Out
	if to == "" || f.Ledger.QtyAt(to) == 0 && d.Policy.Totes {
		to = d.tote(lot)
	}
	words := []any{"run", r.Run, "to", to}
	if recipe.PairCheck {
		code := any(r.Item)
		if d.erring(40) {
			code = pick(d.mind, []string{"FIG", "FOX", "CUP"})
		}
		words = append(words, "item", code)
	}
	live := r.Live
	if f.Items[r.Item].Trace == prep.TraceMark {
		n := min(left, len(live), d.mind.Between(1, 4))
		if n == 0 {
			return nil
		}
		return d.stick(p, there[:n], live[:n], to, from, words)
	}
	q := left
	if q > 3 && d.mind.Percent(40) {
		q = d.mind.Between(1, q)
	}
	there = there[:q]
	return d.say(p, "finish-units", append(words, "q", q)...).hands(func() { ready(there, to, true) }, func() { ready(there, from, false) })
}

// ready moves pieces that have become ready, or are not after all.
func ready(pieces []*piece, where string, is bool) {
	for _, x := range pieces {
		x.where, x.ready = where, is
	}
}

// stick puts labels on boxes; now and then one of them goes on a box of another
// run, which gets this one's: the mistake that only a scale can see.
func (d *Day) stick(p *person, pieces []*piece, marks prep.Marks, to, from string, words []any) *act {
	a := d.say(p, "finish-units", append(words, "marks", marks)...)
	return a.hands(func() {
		ready(pieces, to, true)
		for i, x := range pieces {
			x.mark = marks[i]
		}
		others := d.truth.find(func(x *piece) bool { return x.mark != 0 && x.item != pieces[0].item && x.where[:1] == "T" })
		if len(others) > 0 && d.erring(25) {
			pieces[0].mark, others[0].mark = others[0].mark, pieces[0].mark
			pieces[0].where, others[0].where = others[0].where, pieces[0].where
		}
	}, func() {
		ready(pieces, from, false)
		for _, x := range pieces {
			x.mark = 0
		}
	})
}

package floors

import (
	"maps"
	"slices"
	"strings"

	"packwright/events"
	"packwright/prep"
	"packwright/workflow"
)

// own is the owner: answers changes of the plan, sometimes new rules.
func (d *Day) own(p *person, f *workflow.Floor) *act {
	if a := d.answer(p, f); a != nil {
		return a
	}
	switch {
	case f.RulesRev == 1 && d.round > d.rounds/2 && d.mind.Percent(3):
		source := strings.Replace(string(rulesFile), "rev: 1\n", "rev: 2\n", 1)
		if d.mind.Percent(50) {
			source = strings.Replace(source, "must: [read-date]", "must: [read-date, wrap-all-faces]", 1)
		}
		return d.say(p, "publish-rulebook", "source", source, "file", "rules.yaml", "effective", pick(d.mind, []string{"new-runs", "at-once"}))
	case d.mind.Mille(8):
		return d.say(p, "set-rate", "kind", "labour", "key", "packing", "minor", d.mind.Between(1800, 1900))
	case d.mind.Mille(15):
		badge := "pk-" + string(rune('5'+d.mind.Below(2)))
		return d.say(p, pick(d.mind, []string{"enrol-badge", "retire-badge", "clear-recipe"}), "badge", badge, "roles", []string{"packer"}).trimmed()
	}
	return nil
}

// trimmed drops what a command does not take.
func (a *act) trimmed() *act {
	switch a.typ {
	case "retire-badge":
		delete(a.data, "roles")
		a.data["reason"] = "left"
	case "clear-recipe":
		delete(a.data, "roles")
		a.data["recipe"] = "plain label"
	}
	return a
}

// answer says yes to most changes of the plan, no to some.
func (d *Day) answer(p *person, f *workflow.Floor) *act {
	for _, code := range slices.Sorted(maps.Keys(f.Proposals)) {
		pr := f.Proposals[code]
		if !pr.Answered.IsZero() || d.sulking(p, "approve "+code) || d.sulking(p, "decline "+code) {
			continue
		}
		mine := func(owner string) bool { return (owner == "mill") == (p.job == "client") }
		if !slices.ContainsFunc(pr.Changes, func(c events.PlanChange) bool { return mine(c.Owner) && pr.Approved[c.Owner] == "" }) {
			continue
		}
		if pr.Matter == "" && d.mind.Percent(25) {
			return d.say(p, "decline", "proposal", code, "reason", "no")
		}
		return d.say(p, "approve", "proposal", code)
	}
	return nil
}

// oddJob is what a supervisor does besides.
func (d *Day) oddJob(p *person, f *workflow.Floor) *act {
	asides := func() *act { return d.odds(p, f) }
	switch d.mind.Below(16) {
	case 0:
		return d.say(p, "check-scale", "scale", "SC-1", "ref_g", 5000, "read_g", pick(d.mind, []int{5001, 4999, 5000, 5000, 5040}))
	case 1:
		return d.revise(p, f)
	case 2:
		return d.leaveGiven(p, f)
	case 3:
		return d.raise(p, f)
	case 4:
		for _, code := range slices.Sorted(maps.Keys(f.Matters)) {
			if m := f.Matters[code]; !m.Resolved.IsZero() && d.erring(300) {
				return d.say(p, "reopen-mismatch", "mismatch", code, "reason", "not sure after all")
			}
		}
	case 5:
		if d.erring(120) {
			return d.say(p, "block-rulebook", "rev", f.RulesRev, "recipe", pick(d.mind, []string{"set", "bag", "damaged pack"}), "reason", "label text wrong")
		}
	case 6:
		if pr := slices.Sorted(maps.Keys(f.Proposals)); len(pr) > 0 {
			return d.say(p, "approve", "proposal", pr[len(pr)-1])
		}
	case 7:
		if d.mind.Percent(15) {
			return d.say(p, "join", "name", "ST-9")
		}
	case 8:
		return d.goneMark(p, f)
	case 9, 10:
		return d.supplies(p, f)
	case 11, 12:
		return d.instead(p, f)
	}
	return asides()
}

// odds looks after pieces in aside totes: new labels for those without, back into totes.
func (d *Day) odds(p *person, f *workflow.Floor) *act {
	var places []string
	for _, name := range d.names {
		places = append(places, "A-"+name)
	}
	for _, place := range append(places, slices.Sorted(maps.Keys(f.Totes))...) {
		for _, c := range f.Ledger.At(place) {
			if place[0] != 'A' && c.Stage != events.Unmarked || d.sulking(p, "odd "+place+c.Lot) {
				continue
			}
			if a := d.odd(p, f, place, c); a != nil {
				a.key = "odd " + place + c.Lot
				return a
			}
		}
	}
	return nil
}

func (d *Day) odd(p *person, f *workflow.Floor, aside string, c *workflow.Cell) *act {
	switch c.Stage {
	case events.Unmarked:
		run := ""
		for _, code := range slices.Sorted(maps.Keys(f.Runs)) {
			if r := f.Runs[code]; r.Lot == c.Lot || r.Bundle == c.Lot {
				run = code
			}
		}
		words := []any{"lot", c.Lot, "from", aside, "run", run}
		for _, m := range slices.Sorted(maps.Keys(f.Voided)) {
			if v := f.Voided[m]; v.By == 0 && v.Lot != "" && d.mind.Percent(50) {
				words = append(words, "how", "replace", "replaces", m)
				break
			}
		}
		bare := d.truth.find(func(x *piece) bool { return x.where == aside && x.lot == c.Lot && x.mark == 0 && x.ready })
		next := f.Next.Mark
		return d.say(p, "remark", words...).then(func(Answer) {
			if len(bare) > 0 {
				bare[0].mark = next
			}
		})
	case events.Prepped:
		for _, m := range c.Marks {
			x := d.truth.marked(m)
			if x != nil && x.item == c.Item {
				continue
			}
			if x == nil && d.mind.Percent(50) {
				return d.say(p, "declare-unaccounted", "marks", prep.Marks{m}, "second", "own")
			}
			return d.say(p, "void-mark", "mark", m, "reason", "on another box").then(func(Answer) {
				if x != nil {
					x.mark = 0
				}
			})
		}
		really := len(d.truth.find(func(x *piece) bool { return x.where == aside && x.lot == c.Lot && x.mark == 0 }))
		if c.N > really {
			typ := pick(d.mind, []string{"declare-unaccounted", "write-off", "divert"})
			a := d.say(p, typ, "from", aside, "lot", c.Lot, "stage", c.Stage, "q", 1)
			switch typ {
			case "declare-unaccounted":
				a.data["second"] = "own"
			case "divert":
				a.data["channel"] = "outlet"
				a.data["reason"] = "?"
			default:
				a.data["reason"] = "gone"
			}
			return a
		}
		if d.mind.Percent(10) && c.N > 0 {
			return d.say(p, "hold", "from", aside, "lot", c.Lot, "stage", c.Stage, "q", 1, "reason", "look again", "hazard", d.mind.Percent(30))
		}
	}
	return nil
}

// revise corrects an item's weight by what its pieces really weigh.
func (d *Day) revise(p *person, f *workflow.Floor) *act {
	if !d.erring(200) {
		return nil
	}
	it := *f.Items[pick(d.mind, slices.Sorted(maps.Keys(f.Items)))]
	it.UnitG += prep.Mass(d.mind.Between(-2, 2)) * prep.Gram
	return &act{station: d.stations[p.here], who: p, typ: "revise-item", data: itemData(it, "reason", "weighed ten"), key: "revise-item"}
}

// leaveGiven gives leave for a gate; sometimes for one that nobody may open.
func (d *Day) leaveGiven(p *person, f *workflow.Floor) *act {
	if !d.erring(150) {
		return nil
	}
	gate := pick(d.mind, []string{"bench-clear", "label-balance", "mixed-lots", "short-life", "unprepped", "third-counter", "scale-fault", "certify-by-weight",
		"late-in-count", "seal-uncounted", "two-owners"})
	scope := kv("station", pick(d.mind, d.ofJob("packer")).home)
	if open := slices.Sorted(maps.Keys(f.Cartons)); len(open) > 0 && d.mind.Percent(50) {
		scope = kv("carton", pick(d.mind, open))
	}
	return d.say(p, "override", "scope", scope, "gate", gate, "reason_code", "busy", "text", "the truck waits", "minutes", d.mind.Between(5, 60), "second", pick(d.mind, []string{"own", "own", ""}))
}

// raise opens a matter that nobody asked for.
func (d *Day) raise(p *person, f *workflow.Floor) *act {
	if !d.erring(400) {
		return nil
	}
	scope := kv("lot", pick(d.mind, d.lots))
	if open := slices.Sorted(maps.Keys(f.Cartons)); len(open) > 0 && d.mind.Percent(60) {
		scope = kv("carton", pick(d.mind, open))
	}
	kind := pick(d.mind, []events.Kind{events.Short, events.Over, events.Unknown, events.MixedLot, events.LotBal, events.SealBroken, events.NoShow, events.Unplanned})
	return d.say(p, "raise", "kind", kind, "scope", scope, "text", "looks odd", "free", d.mind.Percent(40))
}

// goneMark cancels a label, for no reason but doubt.
func (d *Day) goneMark(p *person, f *workflow.Floor) *act {
	if !d.erring(400) {
		return nil
	}
	for _, tote := range slices.Sorted(maps.Keys(f.Totes)) {
		for _, c := range f.Ledger.At(tote) {
			if len(c.Marks) > 1 && c.Stage == events.Prepped {
				m := pick(d.mind, c.Marks)
				return d.say(p, "void-mark", "mark", m, "reason", "smeared").then(func(Answer) {
					if x := d.truth.marked(m); x != nil {
						x.mark = 0
					}
				})
			}
		}
	}
	return nil
}

package floors

import (
	"maps"
	"slices"

	"packwright/events"
	"packwright/prep"
	"packwright/workflow"
)

// reacts lets people do what a refusal tells them.
func (d *Day) reacts(a *act, code workflow.Code) {
	p := a.who
	switch code {
	case "E-CNT-02":
		carton, _ := a.data["carton"].(string)
		d.door.Look(func(f *workflow.Floor) {
			if c := f.Cartons[carton]; c != nil && c.State == workflow.CartonCounting {
				d.another(p, f, c)
			}
		})
	case "E-CNT-04":
		p.send(func(*workflow.Floor) *act {
			return d.say(p, "check-scale", "scale", "SC-1", "ref_g", 5000, "read_g", 5000+d.mind.Between(-1, 1))
		})
	case "E-CAR-09":
		if sup := d.who("sup-1"); sup.free() && d.mind.Percent(70) {
			sup.send(func(*workflow.Floor) *act {
				return d.say(sup, "override", "scope", kv("carton", a.data["carton"]), "gate", "short-life", "reason_code", "asked", "text", "the other end takes it", "minutes", 120)
			})
		}
	case "E-SES-05":
		p.sulks["sign-in"] = d.round + d.mind.Between(3, 9)
	}
}

// noise is a command that nobody in their right mind would give now: fields of
// the right kind, values picked anywhere.
func (d *Day) noise(p *person, f *workflow.Floor) *act {
	one := func(m ...[]string) string { return pick(d.mind, append(slices.Concat(m...), "Z-1")) }
	carton := func() string { return one(slices.Sorted(maps.Keys(f.Cartons)), slices.Sorted(maps.Keys(f.Past))) }
	tote := func() string {
		return one(slices.Sorted(maps.Keys(f.Totes)), d.names, slices.Sorted(maps.Keys(f.Cartons)))
	}
	run := func() string { return one(slices.Sorted(maps.Keys(f.Runs))) }
	item := func() string { return one(slices.Sorted(maps.Keys(d.items))) }
	lot := func() string { return one(d.lots, slices.Sorted(maps.Keys(f.Lots))) }
	mark := func() prep.Mark { return prep.Mark(1 + d.mind.Below(int(f.Next.Mark)+2)) }
	q := func() int { return d.mind.Between(-1, 4) }
	list := []func() *act{
		func() *act { return d.say(p, "place", "carton", carton(), "marks", prep.NewMarks(mark())) },
		func() *act {
			return d.say(p, "place", "carton", carton(), "item", item(), "from", tote(), "q", max(0, q()))
		},
		func() *act { return d.say(p, "place", "carton", carton(), "from", tote(), "pour", true) },
		func() *act { return d.say(p, "take-out", "carton", carton(), "marks", prep.NewMarks(mark(), mark())) },
		func() *act {
			return d.say(p, "take-out", "carton", carton(), "item", item(), "to", tote(), "q", max(0, q()))
		},
		func() *act { return d.say(p, "accept-count", "carton", carton()) },
		func() *act { return d.say(p, "finish-carton", "carton", carton()) },
		func() *act { return d.say(p, "seal", "carton", carton(), "seal_no", "S-900", "gross_g", 1000) },
		func() *act { return d.say(p, "reopen", "carton", carton(), "reason", "?") },
		func() *act {
			return d.say(p, "dispatch", "carton", carton(), "load", one(slices.Sorted(maps.Keys(f.Loads))), "seal_no_seen", "S-001")
		},
		func() *act { return d.leavesNow(p, f, carton()) },
		func() *act { return d.leavesNow(p, f, carton()) },
		func() *act { return d.say(p, "hand-over-carton", "carton", carton(), "to", pick(d.mind, d.names)) },
		func() *act { return d.say(p, "void-carton", "carton", carton()) },
		func() *act { return d.say(p, "enter-count", "carton", carton(), "total", max(0, q())) },
		func() *act {
			return d.say(p, "weigh", "carton", carton(), "gross_g", 700, "scale", one([]string{"SC-1", "SC-2"}))
		},
		func() *act { return d.say(p, "split-tote", "from", tote(), "to", tote(), "q", q()) },
		func() *act { return d.say(p, "split-tote", "marks", prep.NewMarks(mark()), "to", tote()) },
		func() *act { return d.say(p, "hold", "from", tote(), "q", q(), "reason", "?") },
		func() *act { return d.say(p, "hold", "marks", prep.NewMarks(mark()), "reason", "?") },
		func() *act {
			return d.say(p, "divert", "marks", prep.NewMarks(mark()), "channel", "outlet", "reason", "?")
		},
		func() *act { return d.say(p, "divert", "from", tote(), "q", q(), "channel", "outlet", "reason", "?") },
		func() *act { return d.say(p, "write-off", "from", tote(), "q", q(), "reason", "?") },
		func() *act {
			return d.say(p, "release-hold", "hold", one(slices.Sorted(maps.Keys(f.Holds))), "to", tote(), "q", max(0, q()), "reason", "?")
		},
		func() *act {
			return d.say(p, "triage", "tote", tote(), "lot", lot(), "q", q(), "verdict", events.ToPrep)
		},
		func() *act { return d.say(p, "receive", "tote", tote(), "lot", lot(), "qty", q()) },
		func() *act {
			return d.say(p, "correct-receipt", "place", tote(), "lot", lot(), "delta", q(), "reason", "?")
		},
		func() *act { return d.say(p, "un-divert", "tote", tote(), "lot", lot(), "q", q(), "reason", "?") },
		func() *act {
			return d.say(p, "finish-units", "run", run(), "marks", prep.NewMarks(mark()), "to", tote())
		},
		func() *act { return d.say(p, "finish-units", "run", run(), "q", max(0, q()), "to", tote()) },
		func() *act {
			return d.say(p, "spoil", "run", run(), "mark", mark(), "cause", "tear", "verdict", events.ToHold)
		},
		func() *act { return d.say(p, "close-run", "run", run(), "returned", max(0, q())) },
		func() *act { return d.say(p, "hand-over-run", "run", run(), "to", pick(d.mind, d.names)) },
		func() *act {
			return d.say(p, "print-labels", "run", run(), "kind", events.KeepSealed, "n", max(1, q()))
		},
		func() *act { return d.say(p, "void-mark", "mark", mark(), "reason", "?") },
		func() *act { return d.say(p, "remark", "lot", lot(), "from", tote(), "run", run()) },
		func() *act { return d.say(p, "take-back") },
		func() *act { return d.earlier(p) },
		func() *act { return d.earlier(p) },
		func() *act { return d.say(p, "clear-tote", "tote", tote()) },
		func() *act { return d.say(p, "approve", "proposal", one(slices.Sorted(maps.Keys(f.Proposals)))) },
		func() *act {
			return d.say(p, "resolve", "mismatch", one(slices.Sorted(maps.Keys(f.Matters))), "resolution", pick(d.mind, []string{"recount", "settle", "ignore", "amend-plan"}))
		},
		func() *act { return d.say(p, "sign-in", "take_over", true) },
		func() *act { return d.say(p, "sign-out", "badge", pick(d.mind, d.people).badge) },
		func() *act { return d.say(p, "close-load", "load", one(slices.Sorted(maps.Keys(f.Loads)))) },
		func() *act { return d.say(p, "build-bundle", "run", run(), "q", 1) },
	}
	a := pick(d.mind, list)()
	a.key = "noise"
	return d.early(a)
}

// leavesNow puts any carton on the first load there is, with the seal that is on it.
func (d *Day) leavesNow(p *person, f *workflow.Floor, carton string) *act {
	load, seal := "LD-1", ""
	for _, code := range slices.Sorted(maps.Keys(f.Loads)) {
		load = code
	}
	if c := f.Cartons[carton]; c != nil {
		seal = c.Seal
	}
	return d.say(p, "dispatch", "carton", carton, "load", load, "seal_no_seen", seal)
}

// earlier takes back one of the last few things a person did.
func (d *Day) earlier(p *person) *act {
	if len(p.did) == 0 {
		return d.say(p, "take-back")
	}
	return d.say(p, "take-back", "seq", pick(d.mind, p.did), "reason", "no, not that")
}

// early makes some of it testimony about a moment before.
func (d *Day) early(a *act) *act {
	if d.mind.Percent(10) {
		a.basis, a.at = events.Testimony, d.now.Add(-1e9*60)
	}
	return a
}

package audit_test

import (
	"time"

	"packwright/events"
	"packwright/prep"
)

func (s *script) intake() {
	for i, l := range dayLots {
		tote := "T-" + l.lot[2:]
		s.clock("07:52", "BOARD", "odile", &events.LotAnnounced{Lot: l.lot, Kind: "bought", Item: l.item, Owner: l.owner, Qty: l.announced})
		s.on(at(s.t, "08:00").Add(time.Duration(i)*3*time.Minute), "ST-1", "tobi", &events.LotReceived{Lot: l.lot, Item: l.item, Tote: tote, Qty: l.came})
		var list []events.Data
		rest := l.came
		odd := func(d events.UnitsTriaged) {
			d.Lot, d.Item, d.Tote = l.lot, l.item, tote
			list = append(list, &d)
			rest -= d.Q
		}
		switch l.lot {
		case "L-02":
			odd(events.UnitsTriaged{Q: 1, Verdict: events.ToDivert, Reason: "corner crushed"})
		case "L-09":
			odd(events.UnitsTriaged{Q: 1, Verdict: events.ToWriteOff, Reason: "leak"})
		case "L-12":
			odd(events.UnitsTriaged{Q: 4, Verdict: events.ToHold, Hold: "H-01", To: "A-ST-1", Hits: []string{"P-01"}, Reason: "lithium cell"})
		}
		if rest > 0 {
			odd(events.UnitsTriaged{Q: rest, Verdict: events.ToPrep})
		}
		s.on(at(s.t, "08:45").Add(seconds(200*i)), "ST-1", "tobi", list...)
	}
	s.clock("08:42", "BOARD", "maren", &events.LotShortfallNoted{Lot: "L-05", Expected: 27, Received: 24})
	s.plan()
}

func (s *script) plan() {
	lines := []events.PlanLine{}
	var changes []events.PlanChange
	for _, c := range dayCartons {
		for _, l := range c.lines {
			extra := map[string]int{"C-02MG3": 1, "C-08PUZ": 1, "C-10GLD": 3, "C-13WSH": 1}[c.carton+l.item]
			owner := ownerOf(l.item)
			lines = append(lines, events.PlanLine{Carton: c.carton, Item: l.item, Q: l.q + extra, Owner: owner})
			if extra > 0 {
				changes = append(changes, events.PlanChange{Carton: c.carton, Item: l.item, Owner: owner, Delta: -extra})
			}
		}
	}
	lines = append(lines, events.PlanLine{Carton: "C-14", Item: "RAD", Q: 4, Owner: "quill"})
	changes = append(changes, events.PlanChange{Carton: "C-14", Item: "RAD", Owner: "quill", Delta: -4})
	s.clock("08:30", "BOARD", "odile", &events.PlanReleased{Plan: "PL-1", Rev: 1, Policy: "dest-default", Lines: lines}).after = func(f *floor) { f.plan = 1 }
	s.clock("11:40", "BOARD", "maren", &events.PlanChangeProposed{Proposal: "PC-01", Plan: "PL-1", Changes: changes, Reason: "what came and what is held"})
	s.clock("11:50", "BOARD", "quinn", &events.PlanChangeApproved{Proposal: "PC-01", By: "quinn", Owner: "quill", Basis: "client"})
	s.clock("11:55", "BOARD", "odile", &events.PlanChangeApproved{Proposal: "PC-01", By: "odile", Owner: "house", Basis: "owner"},
		&events.PlanAmended{Plan: "PL-1", Rev: 2, Proposal: "PC-01", Changes: changes, Approved: []string{"quinn", "odile"}}).after = func(f *floor) { f.plan = 2 }
}

func ownerOf(item string) string {
	for _, l := range dayLots {
		if l.item == item {
			return l.owner
		}
	}
	return "quill" // the bundle of SPC
}

func (s *script) run(r dayRun) {
	begin := at(s.t, r.start)
	tote := "T-" + r.lot[2:]
	lot := r.lot
	if r.run == "R-12" {
		tote, lot = "T-11", "L-11"
	}
	q := r.q
	if r.run == "R-12" {
		q = 24
	}
	s.on(begin, r.station, r.badge, &events.RunOpened{Run: r.run, Tote: tote, Lot: lot, Item: r.item, Q: q, Recipe: r.recipe, RulesRev: r.rules, Clear: "yes"})
	if r.mark > 0 {
		to := r.mark + prep.Mark(r.q) - 1
		s.on(begin, r.station, r.badge, &events.LabelsPrinted{Run: r.run, Kind: events.KeepSealed, N: r.q, From: r.mark, To: to})
		s.on(begin, r.station, r.badge, &events.LabelsLive{Run: r.run, From: r.mark, To: to})
	}
	from := tote
	if r.run == "R-12" {
		from = "ST-3"
		s.on(begin, r.station, r.badge, &events.BundleBuilt{Run: "R-12", Lot: "L-11/B", Item: "BND", Owner: "quill", Q: 12, To: "ST-3",
			Components: []events.Component{{Lot: "L-11", Item: "SPC", Stage: events.Triaged, From: "T-11", Q: 24}}})
	}
	end := begin.Add(seconds(r.q * r.cadence))
	made := r.q
	switch {
	case r.mark > 0:
		for k := range r.q {
			s.on(begin.Add(seconds((k+1)*r.cadence)), r.station, r.badge, &events.UnitsPrepped{Run: r.run, Lot: r.lot, Item: r.item, From: from, To: from, Q: 1,
				Marks: marks(r.mark + prep.Mark(k)), Recipe: r.recipe, Pair: true})
		}
	case r.run == "R-01":
		made--
		s.on(begin.Add(seconds(17*r.cadence)), r.station, r.badge, &events.UnitSpoiled{Run: "R-01", Lot: "L-04", Item: "PUZ", Stage: events.Triaged, From: tote, Q: 1,
			Cause: "tear", Verdict: events.ToDivert})
		fallthrough
	default:
		s.on(end, r.station, r.badge, &events.UnitsPrepped{Run: r.run, Lot: r.lot, Item: r.item, From: from, To: "P-" + r.run, Q: made, Recipe: r.recipe})
	}
	s.on(end, r.station, r.badge, &events.RunClosed{Run: r.run, In: q, Made: made, Used: q - (r.q - made), Spoiled: r.q - made})
}

// materials: the wrap of the figures, one roll used up within R-08.
func (s *script) materials() {
	for _, r := range []string{"R-06", "R-07", "R-08"} {
		for _, d := range dayRuns {
			if d.run == r {
				s.on(at(s.t, d.start), "ST-2", "ife", &events.MaterialDrawn{Run: r, Material: "wrap-3-16", MatLot: "BW-18"})
			}
		}
	}
	s.clock("10:49", "ST-2", "ife", &events.MaterialSwapped{Run: "R-08", Material: "wrap-3-16", From: "BW-18", To: "BW-19", AtUnit: 10})
	s.clock("10:29:55", "ST-2", "maren", &events.OverrideGranted{Override: "OV-01", Scope: events.Scope{Station: "ST-2"}, Gate: "bench-clear", Reason: "time",
		Text: "one closed box waits for its label", Expires: at(s.t, "10:59:55")})
}

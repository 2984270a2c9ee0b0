package audit_test

import (
	"math"

	"packwright/events"
	"packwright/prep"
)

// dayExpected works the expected weight out once more, in floating point.
func dayExpected(c dayCarton) (mean, sd prep.Mass) {
	g, v := float64(c.tare)+60, 4.0*4+5*5+2*2
	for _, l := range c.lines {
		for _, it := range dayItems {
			if it.item == l.item {
				g += float64(l.q) * float64(it.g) / 10
				v += float64(l.q) * float64(it.sd) / 10 * float64(it.sd) / 10
			}
		}
	}
	return prep.Mass(math.Round(g * 1000)), prep.Mass(math.Round(math.Sqrt(v) * 1000))
}

func num(n int) *int { return &n }

func gram(n int) *prep.Mass {
	m := prep.Mass(n) * prep.Gram
	return &m
}

func carton(name string) dayCarton {
	for _, c := range dayCartons {
		if c.carton == name {
			return c
		}
	}
	panic(name)
}

// stopped is how the three cartons that do not fit are kept.
func (s *script) stopped(c dayCarton, placed events.Time) {
	weighed, counted := placed.Add(seconds(41)), placed.Add(seconds(100))
	switch c.carton {
	case "C-03":
		s.on(weighed, c.station, c.badge, &events.MismatchRaised{Mismatch: "X-01", Kind: events.Weight, Scope: events.Scope{Carton: "C-03"}, Blocks: true,
			Evidence: events.Evidence{Planned: num(12), Scanned: num(12), Weighed: gram(6049), Residual: gram(-51)}})
		s.count(counted, c, 0)
	case "C-02":
		s.on(weighed, c.station, c.badge, &events.MismatchSymptomAdded{Mismatch: "X-01", Kind: events.Weight, Scope: events.Scope{Carton: "C-02"},
			Evidence: events.Evidence{Planned: num(11), Scanned: num(11), Weighed: gram(5165), Residual: gram(53)}})
		s.count(counted, c, 0)
	case "C-07":
		s.count(counted, c, 1)
		s.on(counted, c.station, c.badge, &events.MismatchRaised{Mismatch: "X-02", Kind: events.Short, Scope: events.Scope{Carton: "C-07"}, Blocks: true,
			Evidence: events.Evidence{Planned: num(21), Scanned: num(21), Counted: num(20), Weighed: gram(11827), Residual: gram(-303)}})
	}
}

// swappedPair: M-0023 sits on a no. 4 box in C-02, M-0024 on a no. 3 box in C-03.
func (s *script) swappedPair() {
	c2, c3 := carton("C-02"), carton("C-03")
	c2.station, c2.badge, c3.badge = "ST-2", "maren", "maren"
	s.clock("15:30", "BOARD", "maren", &events.MismatchTaken{Mismatch: "X-01", By: "maren"})
	s.clock("15:35", "ST-2", "maren", &events.CartonHandedOver{Carton: "C-02", From: "ST-3", To: "ST-2"})
	for _, v := range []struct {
		clock, carton string
		mark          prep.Mark
		lot, item     string
	}{{"15:36", "C-02", 23, "L-02", "MG3"}, {"15:38", "C-03", 24, "L-13", "MG4"}} {
		s.clock(v.clock, "ST-2", "maren", &events.CountVoided{Carton: v.carton, Why: "a unit was taken out"},
			&events.UnitTakenOut{Carton: v.carton, Item: v.item, Lot: v.lot, To: "A-ST-2", Q: 1, Marks: marks(v.mark), Reason: "weighs as the other figure"},
			&events.MarkVoided{Mark: v.mark, Lot: v.lot, Item: v.item, Stage: events.Prepped, Place: "A-ST-2", Reason: "on the other figure's box"})
	}
	s.clock("15:39", "ST-2", "maren", &events.UnitMarked{Mark: 72, Lot: "L-02", Item: "MG3", Run: "R-07", From: "A-ST-2", To: "A-ST-2", How: "replace", Replaces: 24})
	s.clock("15:39:40", "ST-2", "maren", &events.UnitPlaced{Carton: "C-02", Item: "MG3", Lot: "L-02", Run: "R-07", From: "A-ST-2", Q: 1, Marks: marks(72)})
	s.clock("15:41", "ST-2", "maren", &events.UnitMarked{Mark: 73, Lot: "L-13", Item: "MG4", Run: "R-08", From: "A-ST-2", To: "A-ST-2", How: "replace", Replaces: 23})
	s.clock("15:41:40", "ST-2", "maren", &events.UnitPlaced{Carton: "C-03", Item: "MG4", Lot: "L-13", Run: "R-08", From: "A-ST-2", Q: 1, Marks: marks(73)})
	s.clock("15:43:30", "ST-2", "maren", &events.MismatchFixed{Mismatch: "X-01", Actions: []string{"labelled anew"}})
	s.clock("15:44:30", "ST-2", "maren", &events.CartonFinished{Carton: "C-02"})
	s.clock("15:44:40", "ST-2", "maren", &events.CartonFinished{Carton: "C-03"})
	s.weigh(at(s.t, "15:45"), c2, 5109)
	s.weigh(at(s.t, "15:48"), c3, 6103)
	s.count(at(s.t, "15:46"), c2, 0)
	s.count(at(s.t, "15:49"), c3, 0)
	s.accept(at(s.t, "15:46:02"), c2)
	s.accept(at(s.t, "15:49:02"), c3)
	s.clock("15:49:30", "ST-2", "maren", &events.MismatchResolved{Mismatch: "X-01", Resolution: "find-swap", Approver: "maren", Where: "between R-07 and R-08"})
	s.sealing(at(s.t, "15:50"), c2, c2.seal)
	s.sealing(at(s.t, "15:53"), c3, c3.seal)
}

// shortCarton: at 17:28:54 a plush was taken out of C-07 and not scanned.
func (s *script) shortCarton() {
	c := carton("C-07")
	s.clock("17:41", "BOARD", "maren", &events.MismatchTaken{Mismatch: "X-02", By: "maren"})
	c.badge = "tobi"
	s.count(at(s.t, "17:43"), c, 1)
	s.clock("17:44:30", "ST-3", "sunniva", &events.UnitTakenOut{Carton: "C-07", Item: "PLU", Lot: "L-07", To: "A-ST-3", Q: 1, Reason: "bag torn"},
		&events.CountVoided{Carton: "C-07", Why: "a unit was taken out"}).told = at(s.t, "17:28:54")
	s.clock("17:46", "ST-3", "sunniva", &events.UnitPlaced{Carton: "C-07", Item: "PLU", Lot: "L-07", From: "A-ST-3", Q: 1})
	s.clock("17:46:30", "BOARD", "maren", &events.MismatchFixed{Mismatch: "X-02", Actions: []string{"found", "bagged anew", "placed"}})
	s.clock("17:46:45", "ST-3", "sunniva", &events.CartonFinished{Carton: "C-07"})
	s.weigh(at(s.t, "17:47"), c, 12136)
	s.count(at(s.t, "17:49"), c, 0)
	s.accept(at(s.t, "17:49:02"), c)
	s.clock("17:50", "BOARD", "maren", &events.MismatchResolved{Mismatch: "X-02", Resolution: "find-and-add", Approver: "maren", Where: "rework shelf"})
	s.sealing(at(s.t, "17:52"), c, c.seal)
}

// openedAgain: C-05 was opened at 15:05 and sealed anew.
func (s *script) openedAgain() {
	c := carton("C-05")
	s.clock("15:05", "BOARD", "maren", &events.CartonReopened{Carton: "C-05", Seal: "000404", Reason: "a lid may press"})
	s.clock("15:07", "ST-3", "sunniva", &events.CartonFinished{Carton: "C-05"})
	s.weigh(at(s.t, "15:08"), c, 6006)
	s.count(at(s.t, "15:09"), c, 0)
	s.accept(at(s.t, "15:09:02"), c)
	s.sealing(at(s.t, "15:12"), c, "000410")
	s.clock("14:43", "HUB", "", &events.StationQuiet{Name: "ST-1", LastSeen: at(s.t, "14:41")})
	s.clock("14:49:30", "HUB", "", &events.StationCaughtUp{Name: "ST-1", N: 10, Oldest: at(s.t, "14:41:12"), Newest: at(s.t, "14:43")})
	s.clock("13:51:30", "ST-2", "ife", &events.ScanRefused{Raw: "ab", Class: "mark", Error: "E-CAR-04", Carton: "C-04"})
}

func (s *script) leaving() {
	s.clock("17:20", "BOARD", "maren", &events.LoadOpened{Load: "LD-1", Due: at(s.t, "18:00")})
	for _, c := range dayCartons {
		number := c.seal
		if c.carton == "C-05" {
			number = "000410"
		}
		s.clock(c.load, "ST-1", "tobi", &events.CartonDispatched{Carton: c.carton, Load: "LD-1", Seal: number})
	}
	s.clock("17:59", "BOARD", "maren", &events.LoadClosed{Load: "LD-1"})
	s.clock("17:59", "BOARD", "maren", &events.PlanClosed{Plan: "PL-1", Rev: 2, Planned: 221, Sealed: 221, Dispatched: 221})
}

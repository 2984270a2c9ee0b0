package audit_test

import (
	"fmt"

	"packwright/events"
	"packwright/prep"
)

// pack fills, weighs, counts and seals a carton, as far as nothing stops it.
func (s *script) pack(c dayCarton) {
	open := at(s.t, c.open)
	s.on(open, c.station, c.badge, &events.CartonOpened{Carton: c.carton, Plan: "PL-1", Rev: 2, Tare: prep.Mass(c.tare) * prep.Gram})
	when := open
	for _, l := range c.lines {
		for k := range l.q {
			when = when.Add(seconds(12))
			s.on(when, c.station, c.badge, placing(c.carton, l, k))
		}
	}
	s.on(when.Add(seconds(30)), c.station, c.badge, &events.CartonFinished{Carton: c.carton})
	s.weigh(when.Add(seconds(40)), c, c.first)
	if c.carton == "C-02" || c.carton == "C-03" || c.carton == "C-07" {
		s.stopped(c, when)
		return
	}
	s.count(when.Add(seconds(100)), c, 0)
	s.accept(when.Add(seconds(102)), c)
	s.sealing(when.Add(seconds(220)), c, c.seal)
}

// placing is the k-th unit of a line.
func placing(carton string, l dayLine, k int) *events.UnitPlaced {
	d := &events.UnitPlaced{Carton: carton, Item: l.item, Lot: l.lot, Q: 1}
	for _, r := range dayRuns {
		if m := l.mark + prep.Mark(k); l.mark > 0 && r.mark > 0 && r.mark <= m && m < r.mark+prep.Mark(r.q) {
			d.Lot, d.Run, d.Marks, d.From = r.lot, r.run, marks(m), "T-"+r.lot[2:]
		}
		if l.mark == 0 && r.lot == l.lot {
			d.Run, d.From = r.run, "P-"+r.run
		}
	}
	return d
}

func (s *script) weigh(when events.Time, c dayCarton, grams int) {
	e, sd := dayExpected(c)
	s.on(when, c.station, c.badge, &events.CartonWeighed{Carton: c.carton, Gross: prep.Mass(grams) * prep.Gram, Scale: "SC-1", Stable: true,
		Expected: e, SD: sd, Z: prep.FixedOf((float64(grams) - e.Grams()) / sd.Grams())})
}

func (s *script) count(when events.Time, c dayCarton, less int) {
	lines, total := c.countLines(), 0
	lines[len(lines)-1].Q -= less
	for _, l := range lines {
		total += l.Q
	}
	s.on(when, c.station, c.badge, &events.CountEntered{Carton: c.carton, By: c.badge, ByPlacer: true, Method: "hand", Lines: lines, Total: total, Attempt: 1})
}

func (c dayCarton) countLines() []events.CountLine {
	var out []events.CountLine
	for _, l := range c.lines {
		out = append(out, events.CountLine{Item: l.item, Q: l.q})
	}
	return out
}

func (s *script) accept(when events.Time, c dayCarton) {
	s.on(when, c.station, c.badge, &events.CountAccepted{Carton: c.carton, Rev: 2, Tally: "t", Lines: c.countLines(), CountBy: c.badge, ByPlacer: true})
}

func (s *script) sealing(when events.Time, c dayCarton, number string) {
	s.on(when, c.station, c.badge, &events.CartonSealed{Carton: c.carton, Seal: number, Code: prep.SSCC(fmt.Sprintf("0952000000000%s0", number[1:])), Gross: prep.Mass(c.first) * prep.Gram})
}

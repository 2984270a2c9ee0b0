package workflow

import (
	"slices"

	"packwright/events"
	"packwright/prep"
)

// # Blind
//
// From finish-carton until its count is in, no answer about a carton holds what
// was planned, scanned, expected, or by how much a reading is off: not in a
// refusal, not in a call. What a person counted is theirs alone.

// countAsk is a person's count: of each item, or of all pieces.
type countAsk struct {
	cartonAsk
	Lines  []events.CountLine `json:"lines"`
	Total  *int               `json:"total"`
	Method string             `json:"method"`  // hand (default), weight
	PWrong prep.Fixed         `json:"p_wrong"` // of a count by weight
}

func (in *countAsk) check() error {
	sum := 0
	for _, l := range in.Lines {
		if l.Q < 0 {
			return prep.Input("a count is not below 0", "count again")
		}
		sum += l.Q
	}
	switch {
	case in.Total == nil && len(in.Lines) == 0:
		return prep.Input("nothing was counted", "give total, or lines")
	case in.Total == nil:
		in.Total = &sum
	case *in.Total < 0 || len(in.Lines) > 0 && *in.Total != sum:
		return prep.Input("lines and total do not add up", "count again")
	}
	switch in.Method {
	case "":
		in.Method = byHand
	case byHand:
	case byWeight:
		if in.PWrong <= 0 {
			return prep.Input("a count by weight may be wrong", "give p_wrong, the chance of it")
		}
	default:
		return prep.Input("a count is made by hand or by weight", `give method "hand" or "weight"`)
	}
	return nil
}

// How a count is made.
const (
	byHand   = "hand"
	byWeight = "weight"
)

// countRules take a carton from full to sealed.
var countRules = []rule{finishRule, weighRule, checkScaleRule, enterCountRule, acceptRule, sealRule, reopenRule}

var finishRule = on(rule{Name: "finish-carton", Who: packers, Moves: []Move{{"carton", "open", "counting"}}}, []gate[cartonAsk]{
	onlineGate[cartonAsk](),
	cartonIn[cartonAsk]("a carton in hand", "E-CAR-10", inHand...),
	mineGate[cartonAsk](),
	cartonGate[cartonAsk](Gate{"something is in it", "E-CAR-19", ""}, func(d *decision, c *Carton) *Refusal {
		if d.f.Ledger.QtyAt(c.Carton) == 0 {
			return refuse("E-CAR-19", c.Carton)
		}
		return nil
	}),
}, func(d *decision, in *cartonAsk) {
	c := in.carton
	if c.State != CartonOpen && c.ChangedRev <= c.FinishRev {
		return // finished before, and nothing changed since
	}
	d.reopenCount(c, "its plan changed")
	d.emit(&events.CartonFinished{Carton: c.Carton})
	short, over := d.f.againstPlan(c)
	kind := events.Over
	if short {
		kind = events.Short
	}
	if short || over {
		d.raiseOnce(kind, c)
		d.calls("E-CNT-09")
	}
})

// raiseOnce raises a kind on a carton unless it stands there already, not fixed.
func (d *decision) raiseOnce(kind events.Kind, c *Carton) {
	scope := events.Scope{Carton: c.Carton}
	if m := d.f.matterOn(c.Carton); m != nil && m.Fixed.IsZero() {
		for i, k := range m.Kinds {
			if k == kind && m.Scopes[i] == scope {
				return
			}
		}
	}
	ev := d.f.evidence(c)
	ev.Counted, ev.Weighed, ev.Residual = nil, nil, nil
	d.raise(kind, scope, ev, true)
}

var enterCountRule = on(rule{Name: "enter-count", Who: packers}, []gate[countAsk]{
	onlineGate[countAsk](),
	cartonIn[countAsk]("a carton that is finished", "E-CNT-06", CartonCounting, CartonCounted),
	notCounted[countAsk](),
	planStands[countAsk](),
	cartonGate[countAsk](Gate{"a second person, where one is due", "E-CNT-02", "third-counter"}, (*decision).mayCount),
}, func(d *decision, in *countAsk) {
	c := in.carton
	e := d.emit(&events.CountEntered{Carton: c.Carton, By: d.badge.Badge, ByPlacer: slices.Contains(c.Placers, d.badge.Badge),
		Method: in.Method, PWrong: in.PWrong, Lines: in.Lines, Total: *in.Total, Attempt: c.Tries + 1})
	if in.Method == byWeight && d.c.Basis == "" {
		e.Basis = events.ByScale
	}
	if short, same := d.f.compare(c, in.Lines, *in.Total); !same {
		kind := events.Over
		if short {
			kind = events.Short
		}
		ev := d.f.evidence(c)
		ev.Counted = in.Total
		d.raise(kind, events.Scope{Carton: c.Carton}, ev, true)
		d.calls("E-CNT-01")
	}
})

// notCounted says already to what comes after the certificate.
func notCounted[T any, P ofCarton[T]]() gate[T] {
	return cartonGate[T, P](Gate{"a carton without a certificate", "E-CNT-11", ""}, func(d *decision, c *Carton) *Refusal {
		if c.State == CartonCounted {
			return again(refuse("E-CNT-11"))
		}
		return nil
	})
}

// planStands: the carton's lines did not change since it was finished.
func planStands[T any, P ofCarton[T]]() gate[T] {
	return cartonGate[T, P](Gate{"lines that did not change since it was finished", "E-CNT-05", ""}, func(d *decision, c *Carton) *Refusal {
		if c.ChangedRev > c.FinishRev {
			return refuse("E-CNT-05", c.Changed.Clock()[:5])
		}
		return nil
	})
}

// mayCount: who placed the pieces has seen the tally rise; who counted a carton
// that is in question has said what they think.
func (d *decision) mayCount(c *Carton) *Refusal {
	who := d.badge.Badge
	switch {
	case d.f.matterOn(c.Carton) != nil && c.First == who && !d.f.alone(c, c.FirstAt, d.now):
		return refuse("E-CNT-02")
	case slices.Contains(c.Placers, who) && d.f.secondDue(c) && !d.f.alone(c, c.Touched, d.now):
		return refuse("E-CNT-02")
	}
	return nil
}

// alone says whether a house of one person may take the same hand again: after
// ten minutes, or when the scale sees one unit and is content.
func (f *Floor) alone(c *Carton, since, now events.Time) bool {
	if f.policy.Persons != 1 {
		return false
	}
	return c.Weight != nil && c.Weight.Vouches && !c.Weight.Alarm || now.Sub(since) >= tenMinutes
}

// compare holds a count against the scans: same, or else short on some line.
func (f *Floor) compare(c *Carton, lines []events.CountLine, total int) (short, same bool) {
	scanned := f.scannedLines(c)
	sum := 0
	for _, s := range scanned {
		sum += s.Q
	}
	if len(lines) == 0 {
		return total < sum, total == sum
	}
	diff := map[string]int{}
	for _, s := range scanned {
		diff[s.Item] -= s.Q
	}
	for _, l := range lines {
		diff[l.Item] += l.Q
	}
	same = true
	for _, n := range diff {
		short, same = short || n < 0, same && n == 0
	}
	return short, same
}

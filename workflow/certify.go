package workflow

import (
	"crypto/sha256"
	"encoding/binary"
	"encoding/hex"
	"fmt"
	"maps"
	"slices"

	"packwright/events"
	"packwright/prep"
)

// acceptRule makes a count certificate. The bench asks for it as soon as a
// count is in, or, where the house waives hand counts by rule, a weight. Four
// numbers have to agree: planned, scanned, counted, weighed; the last only
// where the scale can see one unit.
var acceptRule = on(rule{Name: "accept-count", Who: packers, Moves: []Move{{"carton", "counting", "counted"}, {"unit", "prepped", "contents-counted"}}}, []gate[cartonAsk]{
	onlineGate[cartonAsk](),
	cartonIn[cartonAsk]("a carton that is finished", "E-CNT-06", CartonCounting, CartonCounted),
	notCounted[cartonAsk](),
	cartonGate[cartonAsk](Gate{"a count, or a rule that waives it", "E-CNT-07", "certify-by-weight"}, func(d *decision, c *Carton) *Refusal {
		if c.Count == nil && d.f.waiver(c) == "" || c.Keyed && c.Count != nil && c.Count.Method != byHand {
			return refuse("E-CNT-07")
		}
		return nil
	}),
	cartonGate[cartonAsk](Gate{"weighed since it was finished, where a scale can tell", "E-CNT-08", ""}, func(d *decision, c *Carton) *Refusal {
		if c.Weight == nil && (c.Count == nil || d.f.policy.Scale && d.f.expect(c).tells()) {
			return refuse("E-CNT-08")
		}
		return nil
	}),
	cartonGate[cartonAsk](Gate{"without a count, a scale that can see one unit missing", "E-CNT-07", ""}, func(d *decision, c *Carton) *Refusal {
		if c.Count == nil && (!c.Weight.Vouches || c.Weight.Alarm) {
			return refuse("E-CNT-07")
		}
		return nil
	}),
	planStands[cartonAsk](),
	cartonGate[cartonAsk](Gate{"the count agrees with the scans", "E-CNT-01", ""}, func(d *decision, c *Carton) *Refusal {
		if c.Count == nil {
			return nil
		}
		if _, same := d.f.compare(c, c.Count.Lines, c.Count.Total); !same {
			return refuse("E-CNT-01")
		}
		return nil
	}),
	cartonGate[cartonAsk](Gate{"the scans agree with the plan on each line", "E-CNT-09", ""}, func(d *decision, c *Carton) *Refusal {
		if short, over := d.f.againstPlan(c); short || over {
			return refuse("E-CNT-09")
		}
		return nil
	}),
	cartonGate[cartonAsk](Gate{"no alarm of the scale", "E-CNT-03", "scale-fault"}, func(d *decision, c *Carton) *Refusal {
		if c.Weight != nil && c.Weight.Alarm {
			return refuse("E-CNT-03")
		}
		return nil
	}),
	cartonGate[cartonAsk](Gate{"two people who counted the same, where the scale is overridden", "E-CNT-02", ""}, func(d *decision, c *Carton) *Refusal {
		if c.Weight != nil && c.Weight.Alarm && !c.Agreed {
			return refuse("E-CNT-02")
		}
		return nil
	}),
	cartonGate[cartonAsk](Gate{"no open question, but one that is fixed", "E-SEA-04", ""}, func(d *decision, c *Carton) *Refusal {
		for _, m := range d.f.mattersOn(c.Carton) {
			if m.Fixed.IsZero() {
				return refuse("E-SEA-04", m.Matter)
			}
		}
		return nil
	}),
	cartonGate[cartonAsk](Gate{"after a fix, this very count by another person", "E-MIS-03", ""}, func(d *decision, c *Carton) *Refusal {
		for _, m := range d.f.mattersOn(c.Carton) {
			if c.Count == nil || !m.FixedSeq.Less(c.Count.Seq) || !d.f.otherHand(c) {
				return refuse("E-MIS-03")
			}
		}
		return nil
	}),
}, certify)

func certify(d *decision, in *cartonAsk) {
	c, f := in.carton, d.f
	cert := &events.CountAccepted{Carton: c.Carton, Rev: f.planRev(d.scope), Tally: f.tally(c), Lines: f.scannedLines(c)}
	if n := c.Count; n != nil {
		cert.CountBy, cert.ByPlacer = n.By, n.ByPlacer
	} else if cert.Waiver = f.waiver(c); cert.Waiver == "" {
		cert.Waiver = "certified by weight under override"
	}
	if w := c.Weight; w != nil && w.Vouches && !w.Alarm && (c.Count == nil || c.Count.Method != byWeight) {
		cert.Weight = w.Seq.String() // a count by weight is not vouched for by a weight
	}
	e := d.emit(cert)
	e.Basis = events.Derived
}

// mattersOn lists the open mismatches that block a carton, by number.
func (f *Floor) mattersOn(carton string) (out []*Matter) {
	for _, code := range slices.Sorted(maps.Keys(f.Matters)) {
		if m := f.Matters[code]; m.Blocks && m.Resolved.IsZero() && m.touches(carton) {
			out = append(out, m)
		}
	}
	return out
}

// secondDue says whether a count by who placed the pieces is not enough: by the
// house's rule, by the carton's value, or because the draw picked it.
func (f *Floor) secondDue(c *Carton) bool {
	p := f.policy
	return p.SecondHand || f.drawn(c.Carton) || p.SecondAbove > 0 && f.cartonWorth(c) > p.SecondAbove
}

// drawn says whether a carton is one of those in k that a second person counts.
// Whoever has the log can check the draw; nobody at a bench can foresee it.
func (f *Floor) drawn(carton string) bool {
	k := f.policy.SecondOneIn
	if k <= 0 {
		return false
	}
	sum := sha256.Sum256([]byte(f.Epoch + "/" + carton))
	return binary.BigEndian.Uint64(sum[:8])%uint64(k) == 0
}

// cartonWorth adds up what a carton's units are worth.
func (f *Floor) cartonWorth(c *Carton) (sum prep.Money) {
	for _, l := range f.scannedLines(c) {
		if it := f.Items[l.Item]; it != nil {
			sum += it.Value * prep.Money(l.Q)
		}
	}
	return sum
}

// waiver gives the rule by which a carton needs no hand count, or "": one item,
// each placed by a scan, a scale that can see one unit and does not alarm, and
// no second person due.
func (f *Floor) waiver(c *Carton) string {
	w := c.Weight
	if f.policy.HandCount || c.Keyed || w == nil || !w.Vouches || w.Alarm || len(f.scannedLines(c)) != 1 || f.secondDue(c) {
		return ""
	}
	return fmt.Sprintf("one item; the scale misses one piece with a chance under %g %%", vouches*100)
}

// tally is a digest of what lies in a carton: lots, numbers and marks.
func (f *Floor) tally(c *Carton) string {
	h := sha256.New()
	for _, x := range f.Ledger.At(c.Carton) {
		fmt.Fprintf(h, "%s\x00%s\x00%d\x00%s\n", x.Lot, x.Item, x.N, x.Marks)
	}
	return hex.EncodeToString(h.Sum(nil)[:8])
}

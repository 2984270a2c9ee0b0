package audit

import (
	"fmt"
	"slices"
	"time"

	"packwright/prep"
)

// The limits between strong, fair and weak. Waits and the age of a scale's check
// are common practice; the others are a chance and deviations.
const (
	missStrong, missFair  = 0.001, 0.01
	zStrong, zFair        = -4, -3
	waitStrong, waitFair  = 12 * time.Hour, 72 * time.Hour
	checkStrong, checkOld = 12 * time.Hour, 24 * time.Hour
)

// books compares what was planned, scanned and counted of the item.
func (s *Shortage) books(v Contents) Strand {
	planned, scanned, counted := 0, 0, 0
	known := true
	for _, l := range v.Lines {
		if l.Item == s.Item {
			planned, scanned = planned+l.Planned, scanned+l.Scanned
			if known = known && l.Counted != nil; known {
				counted += *l.Counted
			}
		}
	}
	x := Strand{"books", Strong, fmt.Sprintf("planned %d, scanned %d", planned, scanned)}
	switch {
	case known:
		x.Says += fmt.Sprintf(", counted %d", counted)
	default:
		x.Says += ", not counted item by item"
		x.Strength = Fair
	}
	if scanned < planned || known && counted < planned {
		x.Strength = Weak
		x.Says += ": our own books say that some were missing"
	}
	return x
}

// weigh compares the reading at the seal with what it would have been.
func (s *Shortage) weigh(v Contents, unit MassLine) Strand {
	w := v.Weight
	if w == nil || !w.Known || w.SD <= 0 || unit.Mean <= 0 {
		return Strand{"weight", Weak, "no weight that can be compared"}
	}
	gone, sd := prep.Mass(s.N)*unit.Mean, w.SD.Grams()
	s.Read, s.Would = w.Gross, w.Mean-gone
	s.ZExpected, s.ZReading = prep.FixedOf(-gone.Grams()/sd), prep.FixedOf((s.Would-w.Gross).Grams()/sd)
	miss := phi(-(gone - w.Limit).Grams() / sd)
	s.Miss = prep.FixedOf(miss)
	x := Strand{"weight", Weak, fmt.Sprintf("%s read, %s ± %s expected; %d missing would read %s, z %+.1f from the expected and %+.1f from the reading",
		grams(w.Gross), grams(w.Mean), grams(w.SD), s.N, grams(s.Would), s.ZExpected.Float(), s.ZReading.Float())}
	switch z := s.ZReading.Float(); {
	case z > -2:
		x.Says += ": the reading fits the claim"
	case miss < missStrong && z <= zStrong:
		x.Strength = Strong
	case miss < missFair && z <= zFair:
		x.Strength = Fair
	default:
		x.Says += fmt.Sprintf(": the scale cannot see %d %s (%s, σ %s, missed in %s)", s.N, s.Item, grams(gone), grams(w.SD), percent(s.Miss))
	}
	return x
}

// persons says who counted, and whether it was the one who packed.
func (f *Fold) persons(c *carton) Strand {
	k := c.live()
	if k == nil || k.By == 0 {
		return Strand{"persons", Weak, "no person's count stands"}
	}
	total := 0
	for _, l := range k.Lines {
		total += l.Q
	}
	who := []name{k.By}
	for _, o := range c.Counts {
		if o.Total == total && !slices.Contains(who, o.By) {
			who = append(who, o.By)
		}
	}
	by := f.names.text(k.By)
	switch {
	case len(who) > 1:
		return Strand{"persons", Strong, fmt.Sprintf("%d counted by %d persons", total, len(who))}
	case !k.ByPlacer:
		return Strand{"persons", Strong, fmt.Sprintf("%d counted by %s, who did not pack it", total, by)}
	}
	return Strand{"persons", Fair, fmt.Sprintf("%d counted by %s, who also packed it, and by nobody else", total, by)}
}

// sealed says whether the seal that was put on was seen as it left.
func (f *Fold) sealed(c *carton) Strand {
	on, out := c.closed(), c.sent()
	switch {
	case on == nil:
		return Strand{"seal", Weak, "it has no seal"}
	case out == nil:
		return Strand{"seal", Fair, "seal " + on.Number + " is on; it has not left"}
	case out.Seen != on.Number:
		return Strand{"seal", Weak, fmt.Sprintf("seal %s was put on, %q was seen as it left", on.Number, out.Seen)}
	}
	return Strand{"seal", Strong, fmt.Sprintf("seal %s, put on %s, seen as it left %s", on.Number, clock(on.Fact.At.time()), clock(out.Fact.At.time()))}
}

// waited says how long it stood sealed before it left.
func (f *Fold) waited(c *carton) Strand {
	on, out := c.closed(), c.sent()
	if on == nil || out == nil {
		return Strand{"wait", Fair, "it has not left"}
	}
	gap := out.Fact.At.since(on.Fact.At)
	return Strand{"wait", graded(gap, waitStrong, waitFair), "it stood sealed for " + howLong(gap)}
}

// scaleThen says how long before the reading the scale was last checked.
func (f *Fold) scaleThen(c *carton) Strand {
	if len(c.Weighs) == 0 {
		return Strand{"scale", Weak, "not weighed"}
	}
	w := c.Weighs[len(c.Weighs)-1]
	key := f.names.text(w.Scale)
	for _, bad := range f.odd.Scales {
		if bad.Scale == key && bad.Fact.At > w.Fact.At && bad.Fact.At.since(w.Fact.At) < checkOld {
			return Strand{"scale", Weak, fmt.Sprintf("scale %s was found wrong %s after the reading", key, howLong(bad.Fact.At.since(w.Fact.At)))}
		}
	}
	if w.Checked == 0 || !w.Right {
		return Strand{"scale", Weak, "scale " + key + " had no good check before the reading"}
	}
	age := w.Fact.At.since(w.Checked)
	return Strand{"scale", graded(age, checkStrong, checkOld), fmt.Sprintf("scale %s was checked and right %s before the reading", key, howLong(age))}
}

func graded(d, strong, fair time.Duration) Strength {
	switch {
	case d <= strong:
		return Strong
	case d <= fair:
		return Fair
	}
	return Weak
}

// howLong writes a time to the minute.
func howLong(d time.Duration) string {
	m := int(d.Round(time.Minute).Minutes())
	return fmt.Sprintf("%d h %02d min", m/60, m%60)
}

package audit

import (
	"math"
	"slices"

	"packwright/prep"
)

// Swap is two cartons whose residuals are opposite and alike, as one exchange
// between them would leave them: one matter, not two.
type Swap struct {
	Cartons  [2]string    `json:"cartons"`
	Items    [2]string    `json:"items"`       // what lies in each and should not
	Residual [2]prep.Mass `json:"residuals_g"` // of each
	Chance   prep.Fixed   `json:"chance"`
}

// swapLikely is the chance from which a pair is named.
const swapLikely = 0.5

// swapAside is how many deviations a carton must be off to be looked at as the
// other half of a pair.
const swapAside = 2

// explain weighs the causes for one carton. Scans must agree with the plan first,
// and the reading must be of what lies in it now.
func (f *Fold) explain(v Contents, p Priors) Explained {
	if why := f.unexplained(v); why != "" {
		e := Explained{Carton: v.Carton, Says: "no explanation: " + why}
		if v.Weight != nil {
			e.Power = v.Weight.Power()
		}
		return e
	}
	e := p.Explain(f.caseOf(v, p))
	e.Carton = v.Carton
	return e
}

// unexplained says why a carton's weight cannot be explained yet.
func (f *Fold) unexplained(v Contents) string {
	switch {
	case v.Weight == nil:
		return "not weighed yet"
	case v.Scanned == 0 || v.Scanned != v.Planned:
		return "scans and plan differ; settle that first"
	case stampOf(v.Weight.At) < f.cartons.get(v.Carton).Placed.Last:
		return "weighed before the last piece went in; weigh again"
	}
	return ""
}

func (f *Fold) caseOf(v Contents, p Priors) Case {
	k := Case{Weight: *v.Weight, Scanned: v.Scanned, Counted: v.Counted}
	for _, l := range v.Lines {
		i := slices.IndexFunc(k.Units, func(o MassLine) bool { return o.Item == l.Item })
		if i < 0 {
			k.Units = append(k.Units, f.massOf(l.Item))
			i = len(k.Units) - 1
		}
		k.Units[i].N += l.Planned
	}
	k.From = f.exchanges(f.cartons.get(v.Carton), p)
	return k
}

func (f *Fold) massOf(item string) MassLine {
	it := f.items[item]
	return MassLine{Item: item, Mean: it.UnitG, SD: it.UnitSD}
}

// exchanges lists which items were made near those of a carton: at the same
// bench, in runs that lie no further apart than the window. A unit of theirs may
// bear the other's label.
func (f *Fold) exchanges(c *carton, p Priors) []Exchange {
	var out []Exchange
	reach := stamp(p.Window) * 1000 << 11
	for _, in := range f.inside(c) {
		item := f.names.text(f.lots.row(in.lot).Item)
		for _, id := range in.runs {
			from, to := f.runs.row(id).span()
			for other, r := range f.worked(from-reach, to+reach) {
				a, b := r.span()
				if r.Opened.Station != f.runs.row(id).Opened.Station || a > to+reach || b < from-reach {
					continue
				}
				x := Exchange{f.massOf(f.madeBy(other)), item}
				if x.In.Item != item && !slices.Contains(out, x) {
					out = append(out, x)
				}
			}
		}
	}
	return out
}

// span is from when a run was opened to when it last made a unit.
func (r *run) span() (from, to stamp) {
	to = r.Opened.At
	for _, b := range r.Batches {
		to = max(to, b.Last)
	}
	return r.Opened.At, to
}

// madeBy gives the item that a run makes: its lot's, or the bundle built of it.
func (f *Fold) madeBy(id runID) string {
	lots := f.lotsOfRun(id)
	return f.names.text(f.lots.row(lots[len(lots)-1]).Item)
}

// swaps finds the cartons still here that can be the other half of an exchange
// with one that alarms.
func (f *Fold) swaps(v Contents, p Priors) []Swap {
	w := v.Weight
	if w == nil || !w.Alarm || f.unexplained(v) != "" {
		return nil
	}
	var out []Swap
	mine := p.weigh(f.caseOf(v, p))
	for id, c := range f.cartons.awake() {
		key := f.cartons.Keys[id]
		if key == v.Carton || c.State == Dispatched || c.State == Void {
			continue
		}
		o := f.weight(c)
		if o == nil || !o.Known || math.Abs(o.Z.Float()) < swapAside || (o.Residual > 0) == (w.Residual > 0) {
			continue
		}
		other, _ := f.Contents(key)
		if f.unexplained(other) != "" {
			continue
		}
		s := p.swap(mine, p.weigh(f.caseOf(other, p)))
		if s.Chance.Float() >= swapLikely {
			s.Cartons, s.Residual = [2]string{v.Carton, key}, [2]prep.Mass{w.Residual, o.Residual}
			out = append(out, s)
		}
	}
	return out
}

// swap weighs one exchange that both cartons share against every pair of causes
// that each has of its own:
//
//	swap·La(i for j)·Lb(j for i) / (that + Σ prior·La · Σ prior·Lb)
//
// with L the normal density of the carton's residual, after the counts.
func (p Priors) swap(a, b []guess) (s Swap) {
	var shared []guess
	best := math.Inf(-1)
	for _, x := range a {
		for _, y := range b {
			if x.Cause != Exchanged || y.Cause != Exchanged || x.Item != y.Instead || x.Instead != y.Item || x.RuledOut || y.RuledOut {
				continue
			}
			both := math.Log(p.Swap.Float()) + x.like + y.like
			shared = append(shared, guess{both: both})
			if both > best {
				best, s.Items = both, [2]string{x.Item, y.Item}
			}
		}
	}
	if len(shared) == 0 {
		return s
	}
	of := func(h guess) float64 { return h.both }
	apart := sumLogs(a, of) + sumLogs(b, of)
	all := sumLogs(append(shared, guess{both: apart}), of)
	s.Chance = prep.FixedOf(math.Exp(sumLogs(shared, of) - all))
	return s
}

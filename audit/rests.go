package audit

import (
	"strings"
	"time"

	json "github.com/goccy/go-json"

	"packwright/events"
	"packwright/prep"
)

// Rests is what the answer to a claim rests on: the claim itself, the carton and
// the units it can be about, and the lots, runs and loads they came by. It picks
// those events out of the log, for somebody who shall see these and no others.
type Rests struct {
	names  map[string]bool // claim, cartons, lots, runs, loads, matters
	items  map[string]bool
	scales map[string][]window
	marks  map[prep.Mark]bool
	frames map[uint64]bool // in which the log speaks of them
	plans  bool
}

// window is a stretch of the writer's clock.
type window struct{ from, to events.Time }

// scaleDay is how far before a weighing the check of its scale is looked for, in hours.
const scaleDay = 24

// RestsOf gathers what a claim's answer rests on. With plans, the events of plans
// are among it: they name other cartons and owners too. Errors: *NoSuch.
func (f *Fold) RestsOf(claim string, plans bool) (*Rests, error) {
	c, err := f.Claim(claim)
	if err != nil {
		return nil, err
	}
	r := &Rests{names: map[string]bool{claim: true}, items: map[string]bool{}, scales: map[string][]window{}, marks: map[prep.Mark]bool{}, frames: map[uint64]bool{}, plans: plans}
	r.in(c.Frames)
	if t, err := f.traceClaim(c); err == nil {
		r.trace(f, t)
	}
	if c.Given.Carton != "" {
		r.carton(f, c.Given.Carton)
	}
	if c.Given.Item != "" {
		r.items[c.Given.Item] = true
	}
	return r, nil
}

// traceClaim finds the units that a claim can be about.
func (f *Fold) traceClaim(c ClaimView) (Trace, error) {
	if c.Given.Mark > 0 {
		return f.TraceMark(c.Given.Mark)
	}
	return f.TraceUnits(Ask{Item: c.Given.Item, Carton: c.Given.Carton})
}

func (r *Rests) in(frames []uint64) {
	for _, n := range frames {
		r.frames[n] = true
	}
}

func (r *Rests) trace(f *Fold, t Trace) {
	journey := func(j *Journey) {
		if j != nil {
			r.carton(f, j.Carton)
		}
	}
	for _, u := range t.Units {
		r.marks[u.Mark] = true
		for _, m := range append(u.Inherits, u.Replaces) {
			if m > 0 {
				r.marks[m] = true
			}
		}
		r.in(u.Frames)
		r.items[u.Item] = true
		r.lot(f, u.Lot)
		r.runs(f, u.Prep)
		journey(u.Journey)
	}
	for _, s := range t.Sets {
		r.items[s.Item] = true
		r.lot(f, s.Lot)
		r.runs(f, s.Prep)
		for _, share := range s.Runs {
			r.run(f, share.Run)
		}
		journey(s.Journey)
	}
	for _, p := range t.Parts {
		r.lot(f, p.Lot)
		for _, run := range p.Runs {
			r.run(f, run)
		}
	}
}

func (r *Rests) runs(f *Fold, list []PrepTrace) {
	for _, p := range list {
		r.run(f, p.Run)
	}
}

func (r *Rests) run(f *Fold, key string) {
	if run := f.runs.get(key); run != nil {
		r.names[key] = true
		r.in(run.Trail.frames())
	}
}

func (r *Rests) lot(f *Fold, key string) {
	if l := f.lots.get(key); l != nil {
		r.names[key] = true
		r.in(l.Trail.frames())
	}
}

func (r *Rests) carton(f *Fold, key string) {
	v, ok := f.Contents(key)
	if !ok || r.names[key] {
		return
	}
	r.names[key] = true
	r.in(v.Frames)
	for _, l := range v.Lines {
		r.items[l.Item] = true
	}
	if v.Load != "" {
		r.names[v.Load] = true
	}
	if w := v.Weight; w != nil && w.Scale != "" {
		r.scales[w.Scale] = append(r.scales[w.Scale], window{w.At.Add(-scaleDay * time.Hour), w.At})
	}
}

// subject is what an event is about, by the fields that name it.
type subject struct {
	Claim    string        `json:"claim"`
	Mismatch string        `json:"mismatch"`
	Carton   string        `json:"carton"`
	Run      string        `json:"run"`
	Lot      string        `json:"lot"`
	Load     string        `json:"load"`
	Item     string        `json:"item"`
	Scale    string        `json:"scale"`
	Mark     prep.Mark     `json:"mark"`
	Scope    *events.Scope `json:"scope"`
}

// Concerns says whether an event of the log is among what the answer rests on.
// Ask in the order of the log: a matter that was raised on a carton is known by
// its own name afterwards.
func (r *Rests) Concerns(e *events.Event) bool {
	t := string(e.Type())
	switch d := e.Data.(type) {
	case *events.ItemRegistered:
		return r.items[d.Item.Item]
	case *events.ItemRevised:
		return r.items[d.Item.Item]
	case *events.ScaleChecked:
		return r.checked(d.Scale, e.Recorded)
	case *events.LoadOpened:
		return r.names[d.Load]
	case *events.LoadClosed:
		return r.names[d.Load]
	case *events.HeadSigned, *events.DayClosed, *events.LogRestored:
		return false // heads come with proofs of their own
	}
	if strings.HasPrefix(t, "plan.") {
		return r.plans
	}
	if !r.frames[e.Seq.Frame] && !strings.HasPrefix(t, "mismatch.") && !strings.HasPrefix(t, "claim.") {
		return false
	}
	var s subject
	if b, err := json.Marshal(e.Data); err != nil || json.Unmarshal(b, &s) != nil {
		return false
	}
	return r.about(e, s)
}

// about goes from the narrowest name to the widest: what names a carton is about
// that carton, whatever lot it names beside.
func (r *Rests) about(e *events.Event, s subject) bool {
	if s.Scope != nil {
		yes := r.names[s.Scope.Carton] || r.names[s.Scope.Run] || s.Scope.Mark > 0 && r.marks[s.Scope.Mark]
		if yes && s.Mismatch != "" {
			r.names[s.Mismatch] = true
		}
		return yes || r.names[s.Mismatch]
	}
	for _, name := range []string{s.Claim, e.Claim, s.Carton, s.Mismatch, s.Run, s.Lot} {
		if name != "" {
			return r.names[name]
		}
	}
	return s.Mark > 0 && r.marks[s.Mark]
}

func (r *Rests) checked(scale string, at events.Time) bool {
	for _, w := range r.scales[scale] {
		if !at.Before(w.from) && !at.After(w.to) {
			return true
		}
	}
	return false
}

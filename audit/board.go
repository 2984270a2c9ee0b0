package audit

import (
	"fmt"
	"slices"
	"sort"
	"strings"
	"time"

	"packwright/events"
)

// Board is the floor at one moment, as somebody who must decide needs it.
type Board struct {
	At      events.Time    `json:"at"`
	Floor   string         `json:"floor"`
	Plans   []PlanTotals   `json:"plans"`
	Cartons []BoardCarton  `json:"cartons"`
	Stages  []StageCount   `json:"stages"`
	Benches []BoardBench   `json:"benches"`
	Loads   []BoardLoad    `json:"loads"`
	Open    []BoardMatter  `json:"open_matters"`
	Runs    []BoardRun     `json:"open_runs"`
	Go      Go             `json:"go"`
	Asked   []BoardRequest `json:"waiting_approvals,omitempty"`
}

// BoardCarton is one carton of a plan that is not closed.
type BoardCarton struct {
	Carton   string    `json:"carton"`
	State    State     `json:"state"`
	Planned  int       `json:"planned"`
	Scanned  int       `json:"scanned"`
	Bench    string    `json:"bench,omitempty"`
	Blockers []string  `json:"blockers,omitempty"`
	Seal     string    `json:"seal,omitempty"`
	Load     string    `json:"load,omitempty"`
	Finish   *Estimate `json:"finish,omitempty"` // nil when done, blocked or nothing to base it on
}

// Estimate is a time still needed and what it rests on. It is no promise.
type Estimate struct {
	Minutes int    `json:"minutes"`
	Basis   string `json:"basis"`
	// Practice: part of it is common practice, as this floor has no pace of its own there.
	Practice bool `json:"common_practice,omitempty"`
}

// BoardBench is one bench that has joined or spoken.
type BoardBench struct {
	Bench    string      `json:"bench"`
	Badge    string      `json:"badge,omitempty"`
	Run      string      `json:"run,omitempty"`
	Cartons  []string    `json:"cartons,omitempty"`
	Seen     events.Time `json:"last_sign_of_life,omitzero"`
	QuietFor int         `json:"quiet_s,omitempty"` // seconds since it was heard, when it is known to be quiet
}

// BoardLoad is one truck that has not left.
type BoardLoad struct {
	Load    string      `json:"load"`
	Due     events.Time `json:"due,omitzero"`
	Minutes int         `json:"minutes_to_due"`
	Loaded  []string    `json:"loaded,omitempty"`
}

// BoardMatter is an open mismatch in one line.
type BoardMatter struct {
	Mismatch string      `json:"mismatch"`
	Kind     events.Kind `json:"kind"`
	State    string      `json:"state"`
	Where    []string    `json:"where"`
	By       string      `json:"by,omitempty"`
	Since    events.Time `json:"since"`
	Minutes  int         `json:"minutes_open"`
	Blocks   bool        `json:"blocks"`
}

// BoardRun is a run that is not closed.
type BoardRun struct {
	Run    string `json:"run"`
	Item   string `json:"item"`
	Made   int    `json:"made"`
	Q      int    `json:"q"`
	Bench  string `json:"bench"`
	Badge  string `json:"badge"`
	Paused bool   `json:"paused,omitempty"`
}

// BoardRequest is a plan change that waits for somebody's yes.
type BoardRequest struct {
	Proposal string      `json:"proposal"`
	Plan     string      `json:"plan"`
	Reason   string      `json:"reason"`
	Since    events.Time `json:"since"`
	Yes      []string    `json:"approved_by,omitempty"`
}

// Go says whether the truck can leave with all that is planned, and why not.
type Go struct {
	Go      bool     `json:"go"`
	Reasons []string `json:"reasons"`
}

// Board shows the floor as it stands. Now is the time to measure waiting from;
// give the log's own, [Fold.Now], for a moment of the past.
func (f *Fold) Board(now events.Time) Board {
	b := Board{At: now, Floor: f.founded.Floor, Stages: f.StageTotals(), Benches: f.boardBenches(now), Loads: f.boardLoads(now),
		Open: f.boardMatters(now), Runs: f.boardRuns(), Asked: f.boardRequests()}
	plans := f.plans.awake()
	if f.plans.size() == 2 {
		plans = f.plans.all() // a closed plan is shown only while it is the only one
	}
	for id, p := range plans {
		if p.Closed.Ref != 0 && f.plans.size() > 2 {
			continue
		}
		b.Plans = append(b.Plans, f.totals(f.plans.Keys[id], p))
		for _, id := range p.Cartons {
			if c := f.cartons.row(id); c.State != Void {
				b.Cartons = append(b.Cartons, f.boardCarton(f.cartons.Keys[id], c))
			}
		}
	}
	slices.SortStableFunc(b.Cartons, func(x, y BoardCarton) int { return strings.Compare(x.Carton, y.Carton) })
	b.Go = b.decide()
	return b
}

func (f *Fold) boardCarton(key string, c *carton) BoardCarton {
	v := BoardCarton{Carton: key, State: f.state(c), Bench: f.names.text(c.Bench), Blockers: f.hindering(c)}
	for _, l := range c.Lines {
		v.Planned += l.Q
	}
	for _, p := range f.inside(c) {
		if p.stage != unmarked {
			v.Scanned += p.q
		}
	}
	if s := c.closed(); s != nil {
		v.Seal = s.Number
	}
	if s := c.sent(); s != nil {
		v.Load = s.Load
	}
	v.Finish = f.finish(c, v)
	return v
}

// finish estimates the time to the seal from what this floor took lately.
func (f *Fold) finish(c *carton, v BoardCarton) *Estimate {
	if v.State == Sealed || v.State == Dispatched || v.State == Void || v.State == Blocked {
		return nil
	}
	closing, ok := f.paces.Close.median()
	if !ok {
		return nil
	}
	left := max(v.Planned-v.Scanned, 0)
	place, ok := f.paces.Place.median()
	if !ok && left > 0 {
		return nil
	}
	need := time.Duration(left)*place + closing
	basis := fmt.Sprintf("%d to place at %d s, then %d s from finish to seal; medians of the last %d and %d here",
		left, int(place.Seconds()), int(closing.Seconds()), len(f.paces.Place.List), len(f.paces.Close.List))
	return &Estimate{Minutes: int((need + time.Minute - 1) / time.Minute), Basis: basis}
}

func (f *Fold) boardBenches(now events.Time) []BoardBench {
	runs, cartons := map[name]string{}, map[name][]string{}
	for id, r := range f.runs.awake() {
		if r.Closed.Ref == 0 {
			runs[r.Station] = f.runs.Keys[id]
		}
	}
	for id, c := range f.cartons.awake() {
		if c.State == Open || c.State == Counting || c.State == Counted {
			cartons[c.Bench] = append(cartons[c.Bench], f.cartons.Keys[id])
		}
	}
	var out []BoardBench
	for no, b := range f.benches.all() {
		key := f.benches.Keys[no]
		id := f.names.lookup(key)
		v := BoardBench{Bench: key, Badge: f.names.text(b.Badge), Seen: b.Seen}
		if id != 0 {
			v.Run, v.Cartons = runs[id], cartons[id]
		}
		if b.Quiet != 0 {
			v.QuietFor = int(now.Sub(b.Quiet.time()).Seconds())
		}
		out = append(out, v)
	}
	sort.Slice(out, func(i, j int) bool { return out[i].Bench < out[j].Bench })
	return out
}

func (f *Fold) boardLoads(now events.Time) []BoardLoad {
	var out []BoardLoad
	for no, ld := range f.loads.awake() {
		if ld.Closed.Ref != 0 {
			continue
		}
		v := BoardLoad{Load: f.loads.Keys[no], Due: ld.Due.time()}
		if ld.Due != 0 {
			v.Minutes = int(v.Due.Sub(now).Minutes())
		}
		for _, id := range ld.Cartons {
			v.Loaded = append(v.Loaded, f.cartons.Keys[id])
		}
		out = append(out, v)
	}
	sort.Slice(out, func(i, j int) bool { return out[i].Load < out[j].Load })
	return out
}

func (f *Fold) boardMatters(now events.Time) []BoardMatter {
	var out []BoardMatter
	for id, m := range f.matters.awake() {
		if !m.open() {
			continue
		}
		v := BoardMatter{Mismatch: f.matters.Keys[id], Kind: m.Kind, State: m.State, By: f.names.text(m.By), Since: m.Raised.At.time(), Blocks: m.Blocks}
		v.Minutes = int(now.Sub(v.Since).Minutes())
		for _, s := range m.Symptoms {
			w := firstOf(s.Scope.Carton, s.Scope.Run, s.Scope.Lot, s.Scope.Station)
			if s.Scope.Mark > 0 && w == "" {
				w = s.Scope.Mark.String()
			}
			if !slices.Contains(v.Where, w) {
				v.Where = append(v.Where, w)
			}
		}
		out = append(out, v)
	}
	return out
}

func (f *Fold) boardRuns() []BoardRun {
	var out []BoardRun
	for id, r := range f.runs.awake() {
		if r.Closed.Ref == 0 {
			out = append(out, BoardRun{Run: f.runs.Keys[id], Item: f.names.text(r.Item), Made: r.Made, Q: r.Q,
				Bench: f.names.text(r.Station), Badge: f.names.text(r.Badge), Paused: r.Paused})
		}
	}
	return out
}

func (f *Fold) boardRequests() []BoardRequest {
	var out []BoardRequest
	for key, p := range f.props {
		if p.State != "open" {
			continue
		}
		v := BoardRequest{Proposal: key, Plan: f.plans.Keys[p.Plan], Reason: p.Reason, Since: p.Asked.At.time()}
		for _, y := range p.Yes {
			v.Yes = append(v.Yes, y.By)
		}
		out = append(out, v)
	}
	sort.Slice(out, func(i, j int) bool { return out[i].Proposal < out[j].Proposal })
	return out
}

// decide says GO when every planned carton is sealed or gone.
func (b *Board) decide() Go {
	var g Go
	waiting := 0
	for _, c := range b.Cartons {
		switch {
		case c.State == Blocked:
			g.Reasons = append(g.Reasons, fmt.Sprintf("%s is blocked by %s", c.Carton, strings.Join(c.Blockers, ", ")))
		case c.Planned > 0 && c.State != Sealed && c.State != Dispatched:
			waiting++
		}
	}
	if waiting > 0 {
		g.Reasons = append(g.Reasons, fmt.Sprintf("%d more not sealed yet", waiting))
	}
	for _, l := range b.Loads {
		if !l.Due.IsZero() && l.Minutes < 0 && len(g.Reasons) > 0 {
			g.Reasons = append(g.Reasons, fmt.Sprintf("%s was due %d min ago", l.Load, -l.Minutes))
		}
	}
	if len(b.Cartons) == 0 {
		g.Reasons = append(g.Reasons, "no plan is in force")
	}
	if g.Go = len(g.Reasons) == 0; g.Go {
		g.Reasons = []string{fmt.Sprintf("all %d cartons are sealed", len(b.Cartons))}
	}
	return g
}

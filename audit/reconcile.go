package audit

import (
	"fmt"
	"io"
	"maps"
	"slices"

	"packwright/events"
	"packwright/prep"
)

// Difference is one thing that does not agree with the plan, or with itself,
// found by the auditor whether or not the floor has raised a matter about it.
type Difference struct {
	Kind     events.Kind `json:"kind"`
	Carton   string      `json:"carton,omitempty"`
	Lot      string      `json:"lot,omitempty"`
	Run      string      `json:"run,omitempty"`
	Item     string      `json:"item,omitempty"`
	Planned  int         `json:"planned"`
	Found    int         `json:"found"`
	Mismatch string      `json:"mismatch,omitempty"` // the open matter on that carton, if any
	Text     string      `json:"text"`
}

// PlanTotals sums a plan up.
type PlanTotals struct {
	Plan       string `json:"plan"`
	Rev        int    `json:"rev"`
	Planned    int    `json:"planned"`
	Placed     int    `json:"placed"`
	Counted    int    `json:"counted"`
	Sealed     int    `json:"sealed"`
	Dispatched int    `json:"dispatched"`
	Closed     bool   `json:"closed"`
}

// Reconciliation compares the floor with the plans in force.
type Reconciliation struct {
	At          events.Time  `json:"at"`
	Plans       []PlanTotals `json:"plans"`
	Differences []Difference `json:"differences"`
	Lots        []LotBalance `json:"lots"`
	Received    int          `json:"received"`
	Balanced    bool         `json:"balanced"`
}

// Reconcile compares every carton, lot and run with what was planned, announced
// and printed.
func (f *Fold) Reconcile() Reconciliation {
	r := Reconciliation{At: f.now, Balanced: true}
	for id, p := range f.plans.all() {
		r.Plans = append(r.Plans, f.totals(f.plans.Keys[id], p))
	}
	for id, c := range f.cartons.all() {
		r.Differences = append(r.Differences, f.cartonDifferences(f.cartons.Keys[id], c)...)
	}
	r.Lots = f.Balances()
	for _, b := range r.Lots {
		r.Received += b.Received
		r.Differences = append(r.Differences, b.differences()...)
		r.Balanced = r.Balanced && b.Balanced
	}
	for id, run := range f.runs.all() {
		if run.Wrong != 0 {
			r.Differences = append(r.Differences, Difference{Kind: events.LabelBal, Run: f.runs.Keys[id], Planned: run.Balance.Printed, Found: run.Balance.Printed - run.Wrong,
				Text: fmt.Sprintf("%d labels printed, %d accounted for", run.Balance.Printed, run.Balance.Printed-run.Wrong)})
		}
	}
	return r
}

func (f *Fold) totals(key string, p *plan) PlanTotals {
	t := PlanTotals{Plan: key, Rev: p.Rev, Closed: p.Closed.Ref != 0}
	for _, id := range p.Cartons {
		c := f.cartons.row(id)
		for _, l := range c.Lines {
			t.Planned += l.Q
		}
		for _, q := range f.inside(c) {
			if q.stage == unmarked {
				continue
			}
			t.Placed += q.q
			switch c.State {
			case Dispatched:
				t.Counted, t.Sealed, t.Dispatched = t.Counted+q.q, t.Sealed+q.q, t.Dispatched+q.q
			case Sealed:
				t.Counted, t.Sealed = t.Counted+q.q, t.Sealed+q.q
			case Counted:
				t.Counted += q.q
			}
		}
	}
	return t
}

// cartonDifferences reads one carton: while it is still being packed, only what
// is too much or not planned; from FINISH CARTON on, what is missing as well.
func (f *Fold) cartonDifferences(key string, c *carton) []Difference {
	if c.State == Void {
		return nil
	}
	v, _ := f.Contents(key)
	var out []Difference
	add := func(k events.Kind, item string, planned, found int, text string, args ...any) {
		d := Difference{Kind: k, Carton: key, Item: item, Planned: planned, Found: found, Text: fmt.Sprintf(text, args...)}
		if len(v.Blockers) > 0 {
			d.Mismatch = v.Blockers[0]
		}
		out = append(out, d)
	}
	finished := c.State == Counting || c.State == Counted || c.State == Sealed || c.State == Dispatched
	for _, l := range v.Lines {
		switch {
		case l.Planned == 0 && l.Scanned > 0:
			add(events.Unplanned, l.Item, 0, l.Scanned, "%d of %s are not on the plan of this carton", l.Scanned, l.Item)
		case l.Scanned > l.Planned:
			add(events.Over, l.Item, l.Planned, l.Scanned, "%d of %s scanned, %d planned", l.Scanned, l.Item, l.Planned)
		case finished && l.Scanned < l.Planned:
			add(events.Short, l.Item, l.Planned, l.Scanned, "%d of %s scanned, %d planned", l.Scanned, l.Item, l.Planned)
		case finished && l.Counted != nil && *l.Counted < l.Planned:
			add(events.Short, l.Item, l.Planned, *l.Counted, "%d of %s counted, %d planned", *l.Counted, l.Item, l.Planned)
		}
	}
	if finished && v.Counted != nil && v.Scanned == v.Planned && *v.Counted != v.Scanned && len(out) == 0 {
		kind := events.Short
		if *v.Counted > v.Scanned {
			kind = events.Over
		}
		add(kind, "", v.Planned, *v.Counted, "%d scanned, %d counted", v.Scanned, *v.Counted)
	}
	if v.Weight != nil && v.Weight.Alarm && finished {
		add(events.Weight, "", int(v.Weight.Mean/prep.Gram), int(v.Weight.Gross/prep.Gram), "weighed %s, expected %s ± %s (z %+.1f)",
			grams(v.Weight.Gross), grams(v.Weight.Mean), grams(v.Weight.SD), v.Weight.Z.Float())
	}
	f.cartonFaults(c, v, add)
	return out
}

// cartonFaults reads a carton's certificate, seal and late words.
func (f *Fold) cartonFaults(c *carton, v Contents, add func(k events.Kind, item string, planned, found int, text string, args ...any)) {
	if v.Bare > 0 {
		add(events.Unprepped, "", 0, v.Bare, "%d units lie in it without a label", v.Bare)
	}
	if k := c.live(); k != nil {
		for _, l := range c.Lines {
			if l.Rev > k.Rev {
				add(events.PlanChanged, f.names.text(l.Item), l.Q, l.Q, "counted against r%d; %s was changed by r%d", k.Rev, f.names.text(l.Item), l.Rev)
			}
		}
	} else if c.State == Sealed || c.State == Dispatched {
		add(events.EarlySeal, "", v.Planned, v.Scanned, "sealed without a count in force")
	}
	if s := c.sent(); s != nil && c.closed() != nil && s.Seen != c.closed().Number {
		add(events.SealBroken, "", 0, 0, "seal %s was put on, %s was read at the door", c.closed().Number, s.Seen)
	}
	if len(c.Late) > 0 && c.State != Open {
		add(events.Late, "", 0, len(c.Late), "%d late reports about it moved nothing", len(c.Late))
	}
	owners := map[name]bool{}
	for _, p := range f.inside(c) {
		owners[f.lots.row(p.lot).Owner] = true
	}
	if delete(owners, 0); len(owners) > 1 {
		add(events.MixedLot, "", 1, len(owners), "goods of %d owners lie in it", len(owners))
	}
}

// LotBalance is one lot's books: what came, and where it all is.
type LotBalance struct {
	Lot       string               `json:"lot"`
	Item      string               `json:"item"`
	Owner     string               `json:"owner,omitempty"`
	Kind      string               `json:"kind,omitempty"`
	Announced int                  `json:"announced"`
	Received  int                  `json:"received"`
	At        map[events.Stage]int `json:"at"` // only stages that hold some
	Sum       int                  `json:"sum"`
	Balanced  bool                 `json:"balanced"`
	Closed    bool                 `json:"intake_closed"`
}

// Balances counts every cell anew and compares each lot's sum with what was
// received.
func (f *Fold) Balances() []LotBalance {
	out := make([]LotBalance, f.lots.size()-1)
	sums := make([]int, len(out)) // as the books kept them
	for id, l := range f.lots.all() {
		i := int(id) - 1
		sums[i] = l.Sum
		out[i] = LotBalance{Lot: f.lots.Keys[id], Item: f.names.text(l.Item), Owner: f.names.text(l.Owner), Kind: f.names.text(l.Kind),
			Announced: l.Announced, Received: l.Received, At: map[events.Stage]int{}, Closed: l.Closed.Ref != 0}
		for _, h := range l.Gone {
			out[i].At[h.Stage.name()] += h.N
		}
	}
	for _, p := range f.places.awake() { // what rests is empty
		for _, h := range p.Heaps {
			out[h.Lot-1].At[h.Stage.name()] += h.N
		}
		for _, m := range p.Marks {
			u := f.look(m)
			out[u.Lot-1].At[u.Stage.name()]++
		}
	}
	for i := range out {
		for _, n := range out[i].At {
			out[i].Sum += n
		}
		out[i].Balanced = out[i].Sum == out[i].Received && sums[i] == out[i].Sum
	}
	return out
}

func (b LotBalance) differences() []Difference {
	var out []Difference
	if !b.Balanced {
		out = append(out, Difference{Kind: events.LotBal, Lot: b.Lot, Item: b.Item, Planned: b.Received, Found: b.Sum,
			Text: fmt.Sprintf("%d received, %d in the books", b.Received, b.Sum)})
	}
	if b.Closed && b.Announced > b.Received && b.Kind != "bundle" {
		out = append(out, Difference{Kind: events.NoShow, Lot: b.Lot, Item: b.Item, Planned: b.Announced, Found: b.Received,
			Text: fmt.Sprintf("%d announced, %d came", b.Announced, b.Received)})
	}
	return out
}

// StageTotals counts units by stage over all lots, in the order people read them.
func (f *Fold) StageTotals() []StageCount {
	var out []StageCount
	for s, n := range f.byStage {
		if n > 0 {
			out = append(out, StageCount{stage(s).name(), n})
		}
	}
	return out
}

// StageCount is how many units stand at a stage.
type StageCount struct {
	Stage events.Stage `json:"stage"`
	N     int          `json:"n"`
}

// Text writes the reconciliation for people.
func (r Reconciliation) Text(w io.Writer) error {
	for _, p := range r.Plans {
		if _, err := fmt.Fprintf(w, "plan %s r%d: %d planned, %d placed, %d counted, %d sealed, %d dispatched\n",
			p.Plan, p.Rev, p.Planned, p.Placed, p.Counted, p.Sealed, p.Dispatched); err != nil {
			return err
		}
	}
	if len(r.Differences) == 0 {
		fmt.Fprintln(w, "nothing differs")
	}
	for _, d := range r.Differences {
		fmt.Fprintf(w, "%-11s %-5s %s%s\n", d.Kind, firstOf(d.Carton, d.Lot, d.Run), d.Text, inBrackets(d.Mismatch))
	}
	for _, b := range r.Lots {
		fmt.Fprintf(w, "%-7s %-4s received %3d =", b.Lot, b.Item, b.Received)
		for _, s := range slices.SortedFunc(maps.Keys(b.At), byRoad) {
			fmt.Fprintf(w, " %d %s", b.At[s], s)
		}
		if !b.Balanced {
			fmt.Fprint(w, "  DOES NOT BALANCE")
		}
		fmt.Fprintln(w)
	}
	_, err := fmt.Fprintf(w, "%d lots, balanced: %v\n", len(r.Lots), r.Balanced)
	return err
}

func byRoad(a, b events.Stage) int {
	return slices.Index(events.Stages, a) - slices.Index(events.Stages, b)
}

func firstOf(list ...string) string {
	for _, s := range list {
		if s != "" {
			return s
		}
	}
	return ""
}

func inBrackets(s string) string {
	if s == "" {
		return ""
	}
	return " (" + s + ")"
}

package audit

import (
	"fmt"
	"io"
	"slices"
	"strings"

	"packwright/events"
	"packwright/prep"
)

// Contents is one carton at a moment: planned, scanned, counted and weighed
// side by side. None of the four overwrites another.
type Contents struct {
	Carton   string        `json:"carton"`
	Plan     string        `json:"plan,omitempty"`
	PlanRev  int           `json:"plan_rev,omitempty"`
	State    State         `json:"state"`
	Bench    string        `json:"bench,omitempty"`
	Blockers []string      `json:"blockers,omitempty"`
	Lines    []ContentLine `json:"lines"`
	Planned  int           `json:"planned"`
	Scanned  int           `json:"scanned"`
	Counted  *int          `json:"counted,omitempty"` // nil: no count since it was last opened
	Bare     int           `json:"without_label,omitempty"`
	Count    *Count        `json:"count,omitempty"`
	Weight   *Weight       `json:"weight,omitempty"`
	Cert     *Certificate  `json:"certificate,omitempty"`
	Seal     string        `json:"seal,omitempty"`
	SealedAt events.Time   `json:"sealed_at,omitzero"`
	Load     string        `json:"load,omitempty"`
	SentAt   events.Time   `json:"dispatched_at,omitzero"`
	Frames   []uint64      `json:"frames,omitempty"` // where the log speaks of it
}

// ContentLine is one item of one owner in a carton.
type ContentLine struct {
	Item    string     `json:"item"`
	Owner   string     `json:"owner,omitempty"`
	Planned int        `json:"planned"`
	Scanned int        `json:"scanned"`
	Counted *int       `json:"counted,omitempty"` // nil when only a total was counted
	Lots    []LotPart  `json:"lots,omitempty"`
	Marks   prep.Marks `json:"marks,omitempty"`
}

// LotPart is units of one lot, and the runs they may have come from.
type LotPart struct {
	Lot   string     `json:"lot"`
	Q     int        `json:"q"`
	Runs  []string   `json:"runs,omitempty"`
	Marks prep.Marks `json:"marks,omitempty"`
	Stage string     `json:"stage,omitempty"`
}

// Count is one count by a person, or by weight.
type Count struct {
	By       string      `json:"by"`
	ByPlacer bool        `json:"by_placer,omitempty"`
	Method   string      `json:"method"`
	Total    int         `json:"total"`
	Attempt  int         `json:"attempt"`
	At       events.Time `json:"at"`
	Place    events.Seq  `json:"seq"`
}

// Certificate is the acceptance of a count.
type Certificate struct {
	Rev      int         `json:"plan_rev"`
	By       string      `json:"count_by,omitempty"`
	ByPlacer bool        `json:"by_placer,omitempty"`
	Waiver   string      `json:"waiver,omitempty"`
	At       events.Time `json:"at"`
	Place    events.Seq  `json:"seq"`
}

// Contents gives one carton as it stands, or false when there is none of that name.
func (f *Fold) Contents(key string) (Contents, bool) {
	id, ok := f.cartons.find(key)
	if !ok {
		return Contents{}, false
	}
	c := f.cartons.row(id)
	out := Contents{Carton: key, State: f.state(c), Bench: f.names.text(c.Bench), Blockers: f.hindering(c),
		Weight: f.weight(c), Cert: f.certificate(c), Frames: c.Trail.frames()}
	if c.Plan != 0 {
		out.Plan, out.PlanRev = f.plans.Keys[c.Plan], f.plans.row(c.Plan).Rev
	}
	if s := c.closed(); s != nil {
		out.Seal, out.SealedAt = s.Number, s.Fact.At.time()
	}
	if s := c.sent(); s != nil {
		out.Load, out.SentAt = s.Load, s.Fact.At.time()
	}
	f.fillLines(&out, c)
	return out, true
}

// Cartons lists every carton, in the order they came up.
func (f *Fold) Cartons() []Contents {
	var out []Contents
	for _, key := range f.cartons.Keys[1:] {
		c, _ := f.Contents(key)
		out = append(out, c)
	}
	return out
}

func (f *Fold) state(c *carton) State {
	switch c.State {
	case Planned, Open, Counting, Counted:
		if len(f.hindering(c)) > 0 {
			return Blocked
		}
	}
	return c.State
}

func (f *Fold) certificate(c *carton) *Certificate {
	k := c.live()
	if k == nil {
		return nil
	}
	return &Certificate{Rev: k.Rev, By: f.names.text(k.By), ByPlacer: k.ByPlacer, Waiver: k.Waiver, At: k.Fact.At.time(), Place: k.Fact.Ref.seq()}
}

// fillLines joins plan, scans and count, line by line.
func (f *Fold) fillLines(out *Contents, c *carton) {
	for _, l := range c.Lines {
		if l.Q > 0 {
			out.line(f.names.text(l.Item), f.names.text(l.Owner)).Planned = l.Q
			out.Planned += l.Q
		}
	}
	for _, p := range f.inside(c) {
		if p.stage == unmarked {
			out.Bare += p.q
			continue
		}
		out.Scanned += p.q
		l := f.lots.row(p.lot)
		cl := out.line(f.names.text(l.Item), f.names.text(l.Owner))
		cl.Scanned += p.q
		cl.Marks = cl.Marks.Union(p.marks)
		cl.Lots = append(cl.Lots, f.lotPart(p))
	}
	if k := f.counting(c); k != nil {
		out.Count = &Count{By: f.names.text(k.By), ByPlacer: k.ByPlacer, Method: f.names.text(k.Method), Total: k.Total, Attempt: k.Attempt,
			At: k.Fact.At.time(), Place: k.Fact.Ref.seq()}
		out.Counted = &out.Count.Total
		for _, l := range k.Lines {
			q := l.Q
			owner := ""
			if i := slices.IndexFunc(out.Lines, func(o ContentLine) bool { return o.Item == f.names.text(l.Item) }); i >= 0 {
				owner = out.Lines[i].Owner
			}
			out.line(f.names.text(l.Item), owner).Counted = &q
		}
		if len(out.Lines) == 1 && out.Lines[0].Counted == nil {
			out.Lines[0].Counted = out.Counted
		}
	}
}

// counting gives the count that speaks of the carton as it is: the last one
// since it was last finished, or nil.
func (f *Fold) counting(c *carton) *count {
	if len(c.Counts) == c.Stale {
		return nil
	}
	k := &c.Counts[len(c.Counts)-1]
	if n := len(c.Fin); n > 0 && c.Fin[n-1].Ref > k.Fact.Ref {
		return nil
	}
	return k
}

// line gives the line of an item and owner, making it when there is none.
func (c *Contents) line(item, owner string) *ContentLine {
	for i := range c.Lines {
		if l := &c.Lines[i]; l.Item == item && (l.Owner == owner || l.Owner == "" || owner == "") {
			if l.Owner == "" {
				l.Owner = owner
			}
			return l
		}
	}
	c.Lines = append(c.Lines, ContentLine{Item: item, Owner: owner})
	return &c.Lines[len(c.Lines)-1]
}

// parcel is units of one lot in one place that share a past.
type parcel struct {
	lot   lotID
	stage stage
	q     int
	runs  []runID
	marks prep.Marks

	first, last stamp
}

// inside lists what a carton holds, or held when it left.
func (f *Fold) inside(c *carton) []parcel {
	if c.Kept != nil {
		return f.parcels(c.Kept.Heaps, prep.FromRuns(c.Kept.Marks))
	}
	p := f.places.row(c.Place)
	return f.parcels(p.Heaps, p.Marks)
}

// parcels groups heaps and marks: a heap each, marks by lot, stage and run.
func (f *Fold) parcels(heaps []heap, list []prep.Mark) []parcel {
	var out []parcel
	for _, h := range heaps {
		out = append(out, parcel{lot: h.Lot, stage: h.Stage, q: h.N, runs: h.Runs, first: h.First, last: h.Last})
	}
	first := len(out)
	for _, m := range prep.NewMarks(list...) {
		u := f.look(m)
		runs := f.runsOf(m, u)
		i := slices.IndexFunc(out[first:], func(p parcel) bool {
			return p.lot == u.Lot && p.stage == u.Stage && slices.Equal(p.runs, runs)
		})
		if i < 0 {
			out = append(out, parcel{lot: u.Lot, stage: u.Stage, runs: runs})
			i = len(out) - 1 - first
		}
		p := &out[first+i]
		p.q++
		p.first, p.last = earlier(p.first, u.PlacedAt), max(p.last, u.PlacedAt)
		p.marks = append(p.marks, m)
	}
	return out
}

func (f *Fold) lotPart(p parcel) LotPart {
	return LotPart{Lot: f.lots.Keys[p.lot], Q: p.q, Runs: f.runNames(p.runs), Marks: p.marks, Stage: string(p.stage.name())}
}

func (f *Fold) runNames(list []runID) []string {
	var out []string
	for _, r := range list {
		out = append(out, f.runs.Keys[r])
	}
	return out
}

// Text writes the carton as a small table of the four numbers.
func (c Contents) Text(w io.Writer) error {
	b := &strings.Builder{}
	fmt.Fprintf(b, "%s  %s", c.Carton, c.State)
	if len(c.Blockers) > 0 {
		fmt.Fprintf(b, " by %s", strings.Join(c.Blockers, ", "))
	}
	if c.Plan != "" {
		fmt.Fprintf(b, "  plan %s r%d", c.Plan, c.PlanRev)
	}
	b.WriteString("\n")
	fmt.Fprintf(b, "  %-8s %7s %7s %7s\n", "item", "planned", "scanned", "counted")
	for _, l := range c.Lines {
		fmt.Fprintf(b, "  %-8s %7d %7d %7s\n", l.Item, l.Planned, l.Scanned, orDash(l.Counted))
	}
	fmt.Fprintf(b, "  %-8s %7d %7d %7s\n", "total", c.Planned, c.Scanned, orDash(c.Counted))
	if c.Bare > 0 {
		fmt.Fprintf(b, "  and %d without a label\n", c.Bare)
	}
	if c.Weight != nil {
		fmt.Fprintf(b, "  weighed  %s\n", c.Weight.line())
	}
	if c.Seal != "" {
		fmt.Fprintf(b, "  seal %s, %s", c.Seal, c.SealedAt.Clock())
		if c.Load != "" {
			fmt.Fprintf(b, "; left on %s, %s", c.Load, c.SentAt.Clock())
		}
		b.WriteString("\n")
	}
	_, err := io.WriteString(w, b.String())
	return err
}

func (w Weight) line() string {
	if !w.Known {
		return fmt.Sprintf("%s; %s", grams(w.Gross), w.Words())
	}
	return fmt.Sprintf("%s; expected %s ± %s, residual %+.0f g, z %+.1f; %s", grams(w.Gross), grams(w.Mean), grams(w.SD), w.Residual.Grams(), w.Z.Float(), w.Words())
}

func orDash(n *int) string {
	if n == nil {
		return "-"
	}
	return fmt.Sprint(*n)
}

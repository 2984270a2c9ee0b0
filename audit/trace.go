package audit

import (
	"fmt"
	"slices"

	"packwright/events"
	"packwright/prep"
)

// Trace is the answer to "which unit was it, and what was done to it": always a
// set, its size, and why it cannot be smaller.
type Trace struct {
	Query string      `json:"query"`
	Size  int         `json:"size"`
	Why   string      `json:"why"`
	Units []UnitTrace `json:"units,omitempty"`     // units with marks of their own
	Sets  []SetTrace  `json:"sets,omitempty"`      // anonymous units
	Label *LabelTrace `json:"label,omitempty"`     // what became of the label asked for
	Head  events.Seq  `json:"log_head"`            // the last event that was read
	Cells string      `json:"cells"`               // digest of all cells there
	Parts []PartTrace `json:"parts,omitempty"`     // of a bundle: what went into it
	Into  []string    `json:"went_into,omitempty"` // bundle lots that took units of this
}

// UnitTrace is the life of one marked unit.
type UnitTrace struct {
	Mark      prep.Mark    `json:"mark"`
	Item      string       `json:"item"`
	Name      string       `json:"name,omitempty"`
	Lot       string       `json:"lot"`
	Owner     string       `json:"owner,omitempty"`
	Prep      []PrepTrace  `json:"prep"` // one entry when the log knows which run and unit it was
	Stage     events.Stage `json:"stage"`
	Place     string       `json:"place,omitempty"`
	Carton    string       `json:"carton,omitempty"`
	PlacedAt  events.Time  `json:"placed_at,omitzero"`
	PlacedBy  string       `json:"placed_by,omitempty"`
	Journey   *Journey     `json:"journey,omitempty"`
	TakenOut  []TakenOut   `json:"taken_out,omitempty"`
	Replaces  prep.Mark    `json:"replaces,omitempty"` // the label that sat on the box before
	Inherits  []prep.Mark  `json:"inherits,omitempty"` // the cancelled marks these goods bore
	Frames    []uint64     `json:"frames"`
	NewLotOf  prep.Mark    `json:"returned_as,omitempty"`
	PrepKnown bool         `json:"prep_known"`
}

// PrepTrace is how a unit was made ready.
type PrepTrace struct {
	Run       string        `json:"run"`
	Unit      int           `json:"unit,omitempty"` // the how-manieth of the run, from 1
	Station   string        `json:"station"`
	Badge     string        `json:"badge"`
	At        events.Time   `json:"at,omitzero"`
	RulesRev  int           `json:"rules_rev"`
	Recipe    string        `json:"recipe"`
	Rules     string        `json:"rules,omitempty"` // what that revision gave this item
	Materials []MaterialLot `json:"materials,omitempty"`
}

// MaterialLot is material that went into a unit.
type MaterialLot struct {
	Material string `json:"material"`
	Lot      string `json:"matlot"`
}

// Journey is the carton's part of a unit's life.
type Journey struct {
	Carton   string      `json:"carton"`
	CountAt  events.Time `json:"counted_at,omitzero"`
	CountBy  string      `json:"counted_by,omitempty"`
	Seal     string      `json:"seal,omitempty"`
	SealedAt events.Time `json:"sealed_at,omitzero"`
	Load     string      `json:"load,omitempty"`
	SentAt   events.Time `json:"dispatched_at,omitzero"`
	SealSeen string      `json:"seal_seen,omitempty"`
	Weight   *Weight     `json:"weight,omitempty"`
	// Reopened and Told are what a reader of the carton's life must know beside.
	Reopened []Reopening   `json:"reopened,omitempty"`
	Told     []TestimonyOf `json:"told_later,omitempty"`
}

// TakenOut is one time a unit left a carton again.
type TakenOut struct {
	Carton string      `json:"carton"`
	At     events.Time `json:"at"`
	Reason string      `json:"reason"`
}

// NotPrinted is the error for a mark that this floor never printed nor bound.
type NotPrinted struct{ Mark prep.Mark }

func (e *NotPrinted) Error() string { return fmt.Sprintf("%s was not printed here", e.Mark) }

// TraceMark answers for one mark. It is exact when the mark is live. A mark
// that was cancelled names no unit of its own: the answer says what label took
// its place, and which marks its goods may bear now. Errors: *NotPrinted.
func (f *Fold) TraceMark(m prep.Mark) (Trace, error) {
	t := Trace{Query: "mark " + m.String(), Head: f.last, Cells: f.digest.String()}
	u := f.bound(m)
	if u == nil {
		p := f.printedAs(m)
		if p == nil {
			return t, &NotPrinted{m}
		}
		t.Label = f.labelTrace(m, nil)
		t.Why = "printed, but never put on a unit"
		return t, nil
	}
	if u.State == voided {
		t.Label = f.labelTrace(m, u)
		t.Size = len(t.Label.GoodsNow)
		t.Why = "the label is cancelled; these are the marks that its goods may bear now"
		if t.Size == 0 {
			t.Why = "the label is cancelled and its goods bear no other"
		}
		for _, g := range t.Label.GoodsNow {
			t.Units = append(t.Units, f.unitTrace(g, f.look(g)))
		}
		return t, nil
	}
	ut := f.unitTrace(m, u)
	t.Units, t.Size, t.Why = []UnitTrace{ut}, 1, "the mark is on one unit only"
	if !ut.PrepKnown {
		t.Why = fmt.Sprintf("the mark is on one unit only; which of %d cancelled marks its goods bore before is not known", len(ut.Inherits))
	}
	f.bundleTrace(&t, u.Lot)
	return t, nil
}

func (f *Fold) unitTrace(m prep.Mark, u *unit) UnitTrace {
	l := f.lots.row(u.Lot)
	item := f.names.text(l.Item)
	t := UnitTrace{Mark: m, Item: item, Name: f.items[item].Name, Lot: f.lots.Keys[u.Lot], Owner: f.names.text(l.Owner),
		Stage: u.Stage.name(), Place: f.places.Keys[u.Place], NewLotOf: l.Origin, PrepKnown: true}
	if u.Carton != 0 {
		t.PlacedAt, t.PlacedBy = u.PlacedAt.time(), f.names.text(u.PlacedBy)
		if c := f.cartons.row(u.Carton); c.Place == u.Place || u.State == left {
			t.Carton = f.cartons.Keys[u.Carton]
			t.Journey = f.journey(u.Carton)
		}
	}
	origins := f.originsOf(m, u)
	t.PrepKnown = len(origins) == 1 && origins[0].Run != 0
	for _, o := range origins {
		if o.Mark != m {
			t.Inherits = append(t.Inherits, o.Mark)
		}
		t.Prep = append(t.Prep, f.prepTrace(o, item))
	}
	if p := f.papers[m]; p != nil {
		t.Replaces = p.Replaces
		for _, o := range p.Outs {
			t.TakenOut = append(t.TakenOut, TakenOut{f.cartons.Keys[o.Carton], o.Fact.At.time(), o.Reason})
		}
	}
	t.Frames = f.framesOf(m, u)
	return t
}

// prepTrace tells of the k-th unit of a run: who, when, by which rules, with what.
func (f *Fold) prepTrace(o origin, item string) PrepTrace {
	if o.Run == 0 {
		return PrepTrace{}
	}
	r := f.runs.row(o.Run)
	b := r.by(int(o.Ordinal))
	return PrepTrace{Run: f.runs.Keys[o.Run], Unit: int(o.Ordinal), Station: f.names.text(b.Fact.Station), Badge: f.names.text(b.Fact.Badge), At: o.At.time(),
		RulesRev: r.Rev, Recipe: f.names.text(r.Recipe), Rules: f.rulesSay(r, item), Materials: f.materials(r, int(o.Ordinal))}
}

// rulesSay gives, in a few words, what the run's revision of the rules gave the
// item, as the item is described today: "1 layer of wrap-3-16".
func (f *Fold) rulesSay(r *run, item string) string {
	b := f.bookAt(r.Rev)
	it, ok := f.items[item]
	if b == nil || !ok {
		return ""
	}
	var out string
	for _, u := range b.Rulebook.Recipe(it).Materials {
		part := u.Material
		switch {
		case u.Layers == 1:
			part = "1 layer of " + u.Material
		case u.Layers > 1:
			part = fmt.Sprintf("%d layers of %s", u.Layers, u.Material)
		}
		if out != "" {
			out += ", "
		}
		out += part
	}
	return out
}

func (f *Fold) materials(r *run, ordinal int) []MaterialLot {
	var out []MaterialLot
	for _, u := range r.Materials {
		ml := MaterialLot{f.names.text(u.Material), f.names.text(u.MatLot)}
		if u.has(ordinal) && !slices.Contains(out, ml) {
			out = append(out, ml)
		}
	}
	return out
}

func (f *Fold) journey(id cartonID) *Journey {
	c := f.cartons.row(id)
	j := &Journey{Carton: f.cartons.Keys[id], Weight: f.weight(c), Reopened: c.reopenings(), Told: f.toldLater(f.cartons.Keys[id], c)}
	if k := c.live(); k != nil {
		j.CountAt, j.CountBy = k.Fact.At.time(), f.names.text(k.By)
	}
	if s := c.closed(); s != nil {
		j.Seal, j.SealedAt = s.Number, s.Fact.At.time()
	}
	if s := c.sent(); s != nil {
		j.Load, j.SentAt, j.SealSeen = s.Load, s.Fact.At.time(), s.Seen
	}
	return j
}

// framesOf lists the frames that a marked unit's life rests on.
func (f *Fold) framesOf(m prep.Mark, u *unit) []uint64 {
	list := []ref{u.Prepped, u.Placed}
	for _, o := range f.originsOf(m, u) {
		list = append(list, o.Ref)
		if o.Run != 0 {
			list = append(list, f.runs.row(o.Run).Opened.Ref)
		}
		if p := f.papers[o.Mark]; p != nil {
			list = append(list, p.Voided.Ref)
		}
	}
	if p := f.papers[m]; p != nil {
		list = append(list, p.Voided.Ref, p.Marked.Ref)
		for _, o := range p.Outs {
			list = append(list, o.Fact.Ref)
		}
	}
	if u.Carton != 0 {
		c := f.cartons.row(u.Carton)
		if k := c.live(); k != nil {
			list = append(list, k.Fact.Ref)
		}
		if s := c.closed(); s != nil {
			list = append(list, s.Fact.Ref)
		}
		if s := c.sent(); s != nil {
			list = append(list, s.Fact.Ref)
		}
	}
	var out []uint64
	for _, r := range list {
		if r != 0 {
			out = append(out, r.seq().Frame)
		}
	}
	slices.Sort(out)
	return slices.Compact(out)
}

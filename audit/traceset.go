package audit

import (
	"fmt"
	"slices"
	"strings"

	"packwright/events"
	"packwright/prep"
)

// Ask is a question about units that have no mark to name: every field that is
// set narrows it.
type Ask struct {
	Item, Lot, Run, Carton, Serial string
}

func (a Ask) String() string {
	var parts []string
	for _, p := range [][2]string{{"item", a.Item}, {"lot", a.Lot}, {"run", a.Run}, {"carton", a.Carton}, {"serial", a.Serial}} {
		if p[1] != "" {
			parts = append(parts, p[0]+" "+p[1])
		}
	}
	return strings.Join(parts, ", ")
}

// SetTrace is units that share a past and lie, or left, together.
type SetTrace struct {
	Item    string       `json:"item"`
	Lot     string       `json:"lot"`
	Owner   string       `json:"owner,omitempty"`
	Q       int          `json:"q"`
	Marks   prep.Marks   `json:"marks,omitempty"`
	Stage   events.Stage `json:"stage"`
	Place   string       `json:"place,omitempty"`
	First   events.Time  `json:"first_at,omitzero"` // when the first of them came to lie there
	Last    events.Time  `json:"last_at,omitzero"`
	Runs    []RunShare   `json:"runs,omitempty"`
	Prep    []PrepTrace  `json:"prep,omitempty"`
	Journey *Journey     `json:"journey,omitempty"`
}

// RunShare is a run that units may be of, and how many it made.
type RunShare struct {
	Run  string `json:"run"`
	Made int    `json:"made"`
}

// PartTrace is what a bundle's lot took of another lot.
type PartTrace struct {
	Lot   string     `json:"lot"`
	Item  string     `json:"item"`
	Q     int        `json:"q"`
	Runs  []string   `json:"runs,omitempty"`
	Marks prep.Marks `json:"marks,omitempty"`
}

// NoSuch is the error for a name that the log does not know.
type NoSuch struct{ Kind, Name string }

func (e *NoSuch) Error() string { return fmt.Sprintf("there is no %s %q in this log", e.Kind, e.Name) }

// unitsShown is the most marked units that a trace spells out one by one.
const unitsShown = 24

// TraceUnits answers for units that no mark names, with the smallest set that
// the log supports. Errors: *NoSuch for a name that is not in the log.
func (f *Fold) TraceUnits(a Ask) (Trace, error) {
	t := Trace{Query: a.String(), Head: f.last, Cells: f.digest.String()}
	if a.Serial != "" {
		return f.traceSerial(t, a)
	}
	if err := f.known(a); err != nil {
		return t, err
	}
	for _, l := range f.lotsFor(a) {
		for _, s := range f.setsOf(l, a) {
			t.Size += s.Q
			t.Sets = append(t.Sets, s)
		}
		f.bundleTrace(&t, l)
	}
	t.Why = f.whySet(t)
	var all prep.Marks
	for _, s := range t.Sets {
		all = all.Union(s.Marks)
	}
	if len(all) <= unitsShown {
		for _, m := range all {
			t.Units = append(t.Units, f.unitTrace(m, f.look(m)))
		}
	}
	return t, nil
}

func (f *Fold) traceSerial(t Trace, a Ask) (Trace, error) {
	b, ok := f.serials[a.Serial]
	if !ok {
		return t, &NoSuch{"serial", a.Serial}
	}
	l := f.lots.row(b.Lot)
	t.Size, t.Why = 1, "the maker's own serial number was read when it was placed"
	t.Sets = []SetTrace{{Item: f.names.text(l.Item), Lot: f.lots.Keys[b.Lot], Owner: f.names.text(l.Owner), Q: 1, Place: f.cartons.Keys[b.Carton],
		First: b.Fact.At.time(), Last: b.Fact.At.time(), Stage: stageOfCarton(f.cartons.row(b.Carton).State), Journey: f.journey(b.Carton)}}
	return t, nil
}

func stageOfCarton(s State) events.Stage {
	switch s {
	case Counted:
		return events.Counted
	case Sealed:
		return events.Sealed
	case Dispatched:
		return events.Dispatched
	}
	return events.Prepped
}

// known refuses names that the log does not hold: "no record" and "nothing
// there" are different answers.
func (f *Fold) known(a Ask) error {
	if a.Item == "" && a.Lot == "" && a.Run == "" && a.Carton == "" {
		return &NoSuch{"question without a name", ""}
	}
	if _, ok := f.lots.find(a.Lot); a.Lot != "" && !ok {
		return &NoSuch{"lot", a.Lot}
	}
	if _, ok := f.runs.find(a.Run); a.Run != "" && !ok {
		return &NoSuch{"run", a.Run}
	}
	if _, ok := f.cartons.find(a.Carton); a.Carton != "" && !ok {
		return &NoSuch{"carton", a.Carton}
	}
	if a.Item != "" && len(f.lotsFor(Ask{Item: a.Item})) == 0 {
		return &NoSuch{"lot of item", a.Item}
	}
	return nil
}

// lotsFor gives the lots that fit a question, in the order they came up.
func (f *Fold) lotsFor(a Ask) []lotID {
	var out []lotID
	item := f.names.lookup(a.Item) // 0, no item, when it is not known
	fits := func(id lotID) {
		if (a.Lot == "" || f.lots.Keys[id] == a.Lot) && (a.Item == "" || f.lots.row(id).Item == item) {
			out = append(out, id)
		}
	}
	if c := f.cartons.get(a.Carton); c != nil {
		for _, p := range f.inside(c) {
			fits(p.lot)
		}
		slices.Sort(out)
		return slices.Compact(out)
	}
	if run, ok := f.runs.find(a.Run); ok {
		for _, id := range f.lotsOfRun(run) {
			fits(id)
		}
		return out
	}
	if id, ok := f.lots.find(a.Lot); ok {
		fits(id)
		return out
	}
	for id := range f.lots.all() {
		fits(id)
	}
	return out
}

// setsOf lists a lot's units that fit the question, place by place, and then
// those that left by another door than a carton's.
func (f *Fold) setsOf(id lotID, a Ask) []SetTrace {
	var out []SetTrace
	run, _ := f.runs.find(a.Run)
	l := f.lots.row(id)
	places := l.Places
	if c := f.cartons.get(a.Carton); c != nil {
		places = []placeID{c.Place}
	}
	for _, at := range places {
		for _, q := range f.parcelsAt(at) {
			if q.lot == id && (run == 0 || slices.Contains(q.runs, run)) {
				out = append(out, f.setTrace(q, at))
			}
		}
	}
	for _, h := range l.Gone {
		if a.Carton == "" && h.Stage != dispatched && !h.Marked && (run == 0 || slices.Contains(h.Runs, run)) {
			out = append(out, f.setTrace(parcel{lot: id, stage: h.Stage, q: h.N, runs: h.Runs}, 0))
		}
	}
	return out
}

// parcelsAt lists what lies in a place, or, for a carton, lay in it when it left.
func (f *Fold) parcelsAt(at placeID) []parcel {
	p := f.places.row(at)
	if p.Carton != 0 {
		return f.inside(f.cartons.row(p.Carton))
	}
	return f.parcels(p.Heaps, p.Marks)
}

func (f *Fold) setTrace(q parcel, at placeID) SetTrace {
	l := f.lots.row(q.lot)
	item := f.names.text(l.Item)
	s := SetTrace{Item: item, Lot: f.lots.Keys[q.lot], Owner: f.names.text(l.Owner), Q: q.q, Marks: q.marks, Stage: q.stage.name(), Place: f.places.Keys[at],
		First: q.first.time(), Last: q.last.time()}
	for _, r := range q.runs {
		s.Runs = append(s.Runs, RunShare{f.runs.Keys[r], f.runs.row(r).Made})
		if len(q.marks) == 0 {
			s.Prep = append(s.Prep, f.prepTrace(origin{Run: r}, item))
		}
	}
	if c := f.places.row(at).Carton; c != 0 {
		s.Journey = f.journey(c)
		if f.cartons.row(c).State == Dispatched {
			s.Stage = events.Dispatched
		}
	}
	return s
}

// whySet says why the set cannot be smaller.
func (f *Fold) whySet(t Trace) string {
	marked, runs := 0, map[string]int{}
	for _, s := range t.Sets {
		marked += len(s.Marks)
		for _, r := range s.Runs {
			runs[r.Run] = r.Made
		}
	}
	if t.Size == 0 {
		return "the log knows the name, and no unit that fits"
	}
	if t.Size == 1 {
		return "only one unit fits"
	}
	if marked == t.Size {
		return fmt.Sprintf("%d units fit, each with a mark; ask for the mark to name one", t.Size)
	}
	which := fmt.Sprintf("cannot tell which of the %d: these units have no mark", t.Size)
	if len(runs) == 1 {
		for r, made := range runs {
			return fmt.Sprintf("%s; they are %d of run %s's %d", which, t.Size, r, made)
		}
	}
	if len(runs) > 1 {
		return fmt.Sprintf("%s; they may be of %d runs", which, len(runs))
	}
	return which
}

// bundleTrace adds what a lot was built from and what was built from it.
func (f *Fold) bundleTrace(t *Trace, id lotID) {
	l := f.lots.row(id)
	for _, p := range l.Parts {
		from := f.lots.row(p.Lot)
		t.Parts = append(t.Parts, PartTrace{Lot: f.lots.Keys[p.Lot], Item: f.names.text(from.Item), Q: p.Q, Runs: f.runNames(p.Runs), Marks: p.Marks})
	}
	for _, into := range l.Into {
		t.Into = append(t.Into, f.lots.Keys[into])
	}
}

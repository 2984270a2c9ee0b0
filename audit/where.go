package audit

import (
	"fmt"
	"io"
	"slices"
	"strings"

	"packwright/events"
	"packwright/prep"
)

// Where says where something is, and where it goes next.
type Where struct {
	Asked string      `json:"asked"`
	Kind  string      `json:"kind"` // mark, item, lot, tote, carton, run
	Here  []Lying     `json:"here"`
	Goes  []GoesTo    `json:"goes_to,omitempty"`
	Says  string      `json:"says"`
	At    events.Time `json:"at"`
}

// Lying is units in one place.
type Lying struct {
	Place string       `json:"place"` // empty: they have left the floor
	Lot   string       `json:"lot"`
	Item  string       `json:"item"`
	Stage events.Stage `json:"stage"`
	Q     int          `json:"q"`
	Marks prep.Marks   `json:"marks,omitempty"`
}

// GoesTo is a carton that still wants units of an item.
type GoesTo struct {
	Carton string `json:"carton"`
	Item   string `json:"item"`
	Wants  int    `json:"wants"`
	State  State  `json:"state"`
	Bench  string `json:"bench,omitempty"`
}

// Where answers for a mark, item, lot, tote, carton or run, whatever the key
// names. Errors: *NoSuch, *NotPrinted.
func (f *Fold) Where(key string) (Where, error) {
	w := Where{Asked: key, At: f.now}
	if m, err := prep.ParseMark(key); err == nil {
		return f.whereMark(w, m)
	}
	if c := f.cartons.get(key); c != nil {
		w.Kind = "carton"
		w.Here = f.lying(c.Place, 0)
		w.Says = fmt.Sprintf("%s is %s%s", key, f.state(c), atBench(f.names.text(c.Bench)))
		return w, nil
	}
	if id, ok := f.lots.find(key); ok {
		w.Kind = "lot"
		w.Here = f.whereLot(id)
		w.Goes = f.wants(f.names.text(f.lots.row(id).Item), f.names.text(f.lots.row(id).Owner))
		w.Says = w.goesWords()
		return w, nil
	}
	if id, ok := f.runs.find(key); ok {
		r := f.runs.row(id)
		w.Kind = "run"
		if at, ok := f.places.find(f.names.text(r.Tote)); ok {
			w.Here = f.lying(at, r.Lot)
		}
		w.Says = fmt.Sprintf("run %s, %s, %d of %d made%s", key, f.names.text(r.Item), r.Made, r.Q, atBench(f.names.text(r.Station)))
		return w, nil
	}
	if at, ok := f.places.find(key); ok {
		w.Kind = "tote"
		w.Here = f.lying(at, 0)
		w.Says = fmt.Sprintf("%s holds %d units", key, total(w.Here))
		if p := f.places.row(at); p.Moved != 0 {
			w.Says += ", it stands at " + f.names.text(p.Moved)
		}
		return w, nil
	}
	if lots := f.lotsFor(Ask{Item: key}); len(lots) > 0 {
		w.Kind = "item"
		for _, id := range lots {
			w.Here = append(w.Here, f.whereLot(id)...)
		}
		w.Goes = f.wants(key, "")
		w.Says = w.goesWords()
		return w, nil
	}
	return w, &NoSuch{"mark, item, lot, tote, carton or run", key}
}

func (f *Fold) whereMark(w Where, m prep.Mark) (Where, error) {
	w.Kind = "mark"
	u := f.bound(m)
	if u == nil {
		if f.printedAs(m) == nil {
			return w, &NotPrinted{m}
		}
		w.Says = fmt.Sprintf("%s is printed and was never put on a unit", m)
		return w, nil
	}
	if u.State == voided {
		w.Says = fmt.Sprintf("%s is cancelled", m)
		if p := f.papers[m]; p != nil && p.ReplacedBy > 0 {
			w.Says += fmt.Sprintf(", replaced by %s", p.ReplacedBy)
		}
		return w, nil
	}
	l := f.lots.row(u.Lot)
	item := f.names.text(l.Item)
	at := Lying{Place: f.places.Keys[u.Place], Lot: f.lots.Keys[u.Lot], Item: item, Stage: u.Stage.name(), Q: 1, Marks: prep.Marks{m}}
	w.Here = []Lying{at}
	switch {
	case u.State == left && u.Carton != 0 && u.Stage == dispatched:
		w.Says = fmt.Sprintf("%s left in %s", m, f.cartons.Keys[u.Carton])
	case u.State == left:
		w.Says = fmt.Sprintf("%s has left the floor: %s", m, u.Stage.name())
	case f.places.row(u.Place).Carton != 0:
		w.Says = fmt.Sprintf("%s is in %s", m, at.Place)
	default:
		w.Goes = f.wants(item, f.names.text(l.Owner))
		w.Says = fmt.Sprintf("%s lies in %s, %s; %s", m, at.Place, at.Stage, w.goesWords())
	}
	return w, nil
}

// whereLot lists a lot's units place by place, then those that are gone.
func (f *Fold) whereLot(id lotID) []Lying {
	var out []Lying
	l := f.lots.row(id)
	for _, at := range l.Places {
		out = append(out, f.lying(at, id)...)
	}
	for _, h := range l.Gone {
		if h.Stage == dispatched {
			continue // told by its carton
		}
		i := slices.IndexFunc(out, func(o Lying) bool { return o.Place == "" && o.Stage == h.Stage.name() })
		if i < 0 {
			out = append(out, Lying{Lot: f.lots.Keys[id], Item: f.names.text(l.Item), Stage: h.Stage.name()})
			i = len(out) - 1
		}
		out[i].Q += h.N
	}
	return out
}

// lying lists what lies in a place, of one lot or, with 0, of all.
func (f *Fold) lying(at placeID, only lotID) []Lying {
	var out []Lying
	sent := false
	if c := f.places.row(at).Carton; c != 0 {
		sent = f.cartons.row(c).State == Dispatched
	}
	for _, p := range f.parcelsAt(at) {
		if only != 0 && p.lot != only {
			continue
		}
		if sent {
			p.stage = dispatched
		}
		l := f.lots.row(p.lot)
		out = append(out, Lying{f.places.Keys[at], f.lots.Keys[p.lot], f.names.text(l.Item), p.stage.name(), p.q, p.marks})
	}
	return out
}

// wants lists the cartons whose plan still asks for an item, open ones first.
func (f *Fold) wants(item, owner string) []GoesTo {
	var out []GoesTo
	for id, c := range f.cartons.awake() {
		if c.State != Planned && c.State != Open {
			continue
		}
		v := Contents{}
		f.fillLines(&v, c)
		for _, l := range v.Lines {
			if l.Item == item && (owner == "" || l.Owner == "" || l.Owner == owner) && l.Planned > l.Scanned {
				out = append(out, GoesTo{f.cartons.Keys[id], item, l.Planned - l.Scanned, f.state(c), f.names.text(c.Bench)})
			}
		}
	}
	slices.SortStableFunc(out, func(a, b GoesTo) int {
		if (a.State == Open) != (b.State == Open) {
			return rank(a.State == Open) - rank(b.State == Open)
		}
		return strings.Compare(a.Carton, b.Carton)
	})
	return out
}

func (w Where) goesWords() string {
	if len(w.Goes) == 0 {
		return "no carton asks for it now"
	}
	var parts []string
	for _, g := range w.Goes {
		parts = append(parts, fmt.Sprintf("%s (%s%s) wants %d", g.Carton, g.State, atBench(g.Bench), g.Wants))
	}
	return strings.Join(parts, ", ")
}

func atBench(bench string) string {
	if bench == "" {
		return ""
	}
	return " at " + bench
}

func total(list []Lying) int {
	n := 0
	for _, l := range list {
		n += l.Q
	}
	return n
}

// Text writes the answer.
func (w Where) Text(o io.Writer) error {
	b := &strings.Builder{}
	fmt.Fprintf(b, "%s (%s): %s\n", w.Asked, w.Kind, w.Says)
	for _, l := range w.Here {
		fmt.Fprintf(b, "  %3d of %-4s lot %s, %s", l.Q, l.Item, l.Lot, l.Stage)
		if l.Place != "" {
			fmt.Fprintf(b, ", in %s", l.Place)
		}
		if len(l.Marks) > 0 {
			fmt.Fprintf(b, ", %s", l.Marks)
		}
		b.WriteString("\n")
	}
	_, err := io.WriteString(o, b.String())
	return err
}

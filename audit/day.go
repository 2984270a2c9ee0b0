package audit

import (
	"cmp"
	"fmt"
	"io"
	"slices"
	"strings"
	"time"

	"packwright/events"
	"packwright/events/proof"
	"packwright/prep"
)

// DayView is one day of the floor, for a sheet that is kept away from the machine.
type DayView struct {
	Day    string      `json:"day"` // 2031-03-04, by the writer's clock
	Floor  string      `json:"floor"`
	Key    string      `json:"key,omitempty"` // public half of what signs the log's heads
	Closed events.Time `json:"closed_at,omitzero"`
	By     string      `json:"closed_by,omitempty"`
	Loads  []DayLoad   `json:"loads"` // that left
	Open   []DayOpen   `json:"open"`
	// The last head that was signed on that day; nil when none was.
	Head *HeadView `json:"head,omitempty"`
	Root string    `json:"root,omitempty"` // of Head, as answers write it
}

// DayLoad is a load that left.
type DayLoad struct {
	Load    string      `json:"load"`
	Left    events.Time `json:"left_at"`
	Units   int         `json:"units"`
	Cartons []DayCarton `json:"cartons"`
	Behind  []string    `json:"left_behind,omitempty"`
}

// DayCarton is a carton that left. Gross is 0 when it was not weighed.
type DayCarton struct {
	Carton string    `json:"carton"`
	Seal   string    `json:"seal_no"`
	Units  int       `json:"units"`
	Gross  prep.Mass `json:"gross_g,omitempty"`
}

// DayOpen is something that the day left open.
type DayOpen struct {
	Kind string `json:"kind"` // mismatch, run, carton, load
	Name string `json:"name"`
	Text string `json:"text,omitempty"`
}

// Day shows a day; an empty one means the last that was closed, or else the day
// of the last event. What it left open is as it was kept when the day was closed;
// of a day that is not closed, as it is now. Errors: *NoSuch for a day of which
// the log holds nothing to show.
func (f *Fold) Day(day string) (DayView, error) {
	if day == "" {
		day = f.now.Std().Format(time.DateOnly)
		if n := len(f.days); n > 0 {
			day = f.days[n-1].Day
		}
	}
	v := DayView{Day: day, Floor: f.founded.Floor, Key: f.founded.Key, Loads: []DayLoad{}, Open: []DayOpen{}}
	for id, l := range f.loads.all() {
		if l.Closed.Ref != 0 && dayOf(l.Closed.At.time()) == day {
			v.Loads = append(v.Loads, f.dayLoad(f.loads.Keys[id], l))
		}
	}
	slices.SortFunc(v.Loads, func(a, b DayLoad) int {
		return cmp.Or(a.Left.Std().Compare(b.Left.Std()), strings.Compare(a.Load, b.Load))
	})
	for i := range f.heads {
		if h := &f.heads[i]; dayOf(h.Kept) == day {
			v.Head, v.Root = h, proof.Hex(h.Root)
		}
	}
	closed := slices.IndexFunc(f.days, func(c closedDay) bool { return c.Day == day })
	switch {
	case closed >= 0:
		c := f.days[closed]
		v.Closed, v.By = c.Fact.At.time(), f.names.text(c.Fact.Badge)
		v.Open = f.leftOpen(c.DayClosed)
	case day == dayOf(f.now):
		v.Open = f.leftOpen(f.openNow())
	case v.Head == nil && len(v.Loads) == 0:
		return v, &NoSuch{"sheet of a day", day}
	}
	return v, nil
}

func dayOf(t events.Time) string { return t.Std().Format(time.DateOnly) }

func (f *Fold) dayLoad(key string, l *load) DayLoad {
	out := DayLoad{Load: key, Left: l.Closed.At.time(), Behind: l.Left, Cartons: []DayCarton{}}
	for _, id := range l.Cartons {
		name := f.cartons.Keys[id]
		c, ok := f.Contents(name)
		if !ok || c.Load != key {
			continue // brought back, and on another
		}
		x := DayCarton{Carton: name, Seal: c.Seal, Units: c.Scanned}
		if c.Weight != nil {
			x.Gross = c.Weight.Gross
		}
		out.Units += x.Units
		out.Cartons = append(out.Cartons, x)
	}
	slices.SortFunc(out.Cartons, func(a, b DayCarton) int { return strings.Compare(a.Carton, b.Carton) })
	return out
}

// leftOpen puts words to what a day left open.
func (f *Fold) leftOpen(d events.DayClosed) []DayOpen {
	out := []DayOpen{}
	for _, key := range d.Matters {
		x := DayOpen{Kind: "mismatch", Name: key}
		if m := f.matters.get(key); m != nil {
			x.Text = string(m.Kind)
			for _, s := range m.Symptoms {
				if s.Scope.Carton != "" {
					x.Text += ", " + s.Scope.Carton
					break
				}
			}
		}
		out = append(out, x)
	}
	for _, of := range []struct {
		kind string
		list []string
	}{{"run", d.Runs}, {"carton", d.Cartons}, {"load", d.Loads}} {
		for _, key := range of.list {
			out = append(out, DayOpen{Kind: of.kind, Name: key})
		}
	}
	return out
}

// openNow is what a day would leave open that was closed now.
func (f *Fold) openNow() events.DayClosed {
	b := f.Board(f.now)
	var d events.DayClosed
	for _, m := range b.Open {
		d.Matters = append(d.Matters, m.Mismatch)
	}
	for _, r := range b.Runs {
		d.Runs = append(d.Runs, r.Run)
	}
	for _, c := range b.Cartons {
		switch c.State {
		case Sealed, Dispatched, Void, Planned:
		default:
			d.Cartons = append(d.Cartons, c.Carton)
		}
	}
	for _, l := range b.Loads {
		d.Loads = append(d.Loads, l.Load)
	}
	return d
}

// Check gives the words of the command that holds a log against the sheet.
func (v DayView) Check() string {
	if v.Head == nil {
		return ""
	}
	return fmt.Sprintf("packwright verify --key %s --head %d:%s", v.Key, v.Head.Frame, v.Root)
}

// Text writes the sheet.
func (v DayView) Text(w io.Writer) error {
	b := &strings.Builder{}
	fmt.Fprintf(b, "%s, day %s", v.Floor, v.Day)
	if v.Closed.IsZero() {
		fmt.Fprintf(b, ", not closed\n")
	} else {
		fmt.Fprintf(b, ", closed %s by %s\n", v.Closed.Clock(), v.By)
	}
	if v.Head == nil {
		fmt.Fprintf(b, "no head of the log was signed on that day\n")
	} else {
		fmt.Fprintf(b, "head of the log: frame %d, %d events, signed and kept %s\n", v.Head.Frame, v.Head.Size, v.Head.Kept.Clock())
		fmt.Fprintf(b, "  root %s\n  signature %s\n", v.Root, v.Head.Signature)
	}
	if v.Key != "" {
		fmt.Fprintf(b, "key %s\n", v.Key)
	}
	for _, l := range v.Loads {
		fmt.Fprintf(b, "%s left %s: %d cartons, %d units\n", l.Load, l.Left.Clock(), len(l.Cartons), l.Units)
		for _, c := range l.Cartons {
			fmt.Fprintf(b, "  %-8s seal %-8s %4d units  %s\n", c.Carton, c.Seal, c.Units, grossOf(c.Gross))
		}
		if len(l.Behind) > 0 {
			fmt.Fprintf(b, "  left behind: %s\n", strings.Join(l.Behind, ", "))
		}
	}
	if len(v.Loads) == 0 {
		fmt.Fprintln(b, "nothing left")
	}
	for _, o := range v.Open {
		fmt.Fprintf(b, "open: %s %s %s\n", o.Kind, o.Name, o.Text)
	}
	if len(v.Open) == 0 {
		fmt.Fprintln(b, "nothing is open")
	}
	if v.Head != nil {
		fmt.Fprintf(b, "to hold the log against this sheet:\n  %s\n", v.Check())
	}
	_, err := io.WriteString(w, b.String())
	return err
}

func grossOf(m prep.Mass) string {
	if m == 0 {
		return "not weighed"
	}
	return grams(m)
}

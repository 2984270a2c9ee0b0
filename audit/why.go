package audit

import (
	"fmt"
	"io"
	"slices"
	"strings"
	"time"

	"packwright/events"
)

// Why is the evidence about one carton or one matter, on one page: the four
// numbers and what they say together, and the causes that the weight and the
// count leave possible.
type Why struct {
	Asked    string      `json:"asked"`
	At       events.Time `json:"at"`
	Matter   *MatterView `json:"matter,omitempty"`
	Cartons  []Contents  `json:"cartons,omitempty"`
	Readings []string    `json:"readings,omitempty"` // one for each carton, same order
	// Explained is one for each carton, same order.
	Explained []Explained  `json:"explained,omitempty"`
	Swaps     []Swap       `json:"swaps,omitempty"`
	Drift     []Drift      `json:"scale_drift,omitempty"` // of the scales concerned, when one is to be checked
	Counts    []CountsOf   `json:"counts,omitempty"`
	Nearby    []NearbyItem `json:"lying_about,omitempty"`
	Recent    []Happened   `json:"recent,omitempty"` // at the benches concerned
	// Ways are the ways out while the matter is open, as [Fold.Options] gives them
	// to somebody without a role.
	Ways []Option `json:"ways_out,omitempty"`
}

// MatterView is one mismatch with its symptoms.
type MatterView struct {
	Mismatch   string      `json:"mismatch"`
	Kind       events.Kind `json:"kind"`
	State      string      `json:"state"`
	Blocks     bool        `json:"blocks"`
	By         string      `json:"by,omitempty"`
	Taken      events.Time `json:"taken_at,omitzero"` // since when somebody has it
	Raised     events.Time `json:"raised_at"`
	Symptoms   []Symptom   `json:"symptoms"`
	Notes      []string    `json:"notes,omitempty"`
	Actions    []string    `json:"actions,omitempty"`
	Fixed      events.Time `json:"fixed_at,omitzero"`
	Resolution string      `json:"resolution,omitempty"`
	Approver   string      `json:"approver,omitempty"`
	AfterCheck string      `json:"after_check,omitempty"`
	Where      string      `json:"where_was_it,omitempty"`
	Resolved   events.Time `json:"resolved_at,omitzero"`
	Frames     []uint64    `json:"frames"`
}

// Symptom is one sign of a matter, as the floor saw it then.
type Symptom struct {
	Kind  events.Kind  `json:"kind"`
	Scope events.Scope `json:"scope"`
	events.Evidence
	At    events.Time `json:"at"`
	Place events.Seq  `json:"seq"`
}

// CountsOf is every count of one carton, the last of them in force or not.
type CountsOf struct {
	Carton string  `json:"carton"`
	Counts []Count `json:"counts"`
}

// NearbyItem is units of an item in question that lie outside any carton.
type NearbyItem struct {
	Item  string       `json:"item"`
	Lot   string       `json:"lot"`
	Place string       `json:"place"`
	Stage events.Stage `json:"stage"`
	Q     int          `json:"q"`
}

// Happened is one event at a bench in words, or several that read alike and
// followed each other.
type Happened struct {
	Place   events.Seq  `json:"seq"`           // of the last
	At      events.Time `json:"at"`            // of the last
	From    events.Time `json:"from,omitzero"` // of the first, where there are several
	Times   int         `json:"times"`
	Station string      `json:"station"`
	Badge   string      `json:"badge,omitempty"`
	Text    string      `json:"text"`
}

// RecentWindow is how far back Why looks at a bench.
const RecentWindow = 5 * time.Minute

// Why gathers the evidence about a carton or a mismatch. Errors: *NoSuch.
func (f *Fold) Why(key string) (Why, error) { return f.WhyBy(key, DefaultPriors) }

// WhyBy is Why with a floor's own priors.
func (f *Fold) WhyBy(key string, p Priors) (Why, error) {
	w := Why{Asked: key, At: f.now}
	var cartons []string
	until := stampOf(f.now)
	if m := f.matters.get(key); m != nil {
		w.Matter = f.matterView(key, m)
		cartons = m.cartons()
		until = m.Symptoms[len(m.Symptoms)-1].Fact.At
	} else if c := f.cartons.get(key); c != nil {
		cartons = []string{key}
		for _, id := range c.Matters {
			if m := f.matters.row(id); m.open() {
				w.Matter = f.matterView(f.matters.Keys[id], m)
				until = m.Symptoms[len(m.Symptoms)-1].Fact.At
			}
		}
	} else {
		return w, &NoSuch{"carton or mismatch", key}
	}
	var benches []string
	for _, k := range cartons {
		v, ok := f.Contents(k)
		if !ok {
			continue
		}
		w.Cartons = append(w.Cartons, v)
		w.Readings = append(w.Readings, v.Reading())
		w.Counts = append(w.Counts, CountsOf{k, f.counts(f.cartons.get(k))})
		w.Nearby = append(w.Nearby, f.nearby(v)...)
		if !slices.Contains(benches, v.Bench) {
			benches = append(benches, v.Bench)
		}
	}
	for _, b := range benches {
		w.Recent = append(w.Recent, f.recent(b, until)...)
	}
	f.account(&w, p)
	if w.Matter != nil && w.Matter.State != "resolved" {
		o, err := f.Options(w.Matter.Mismatch, nil)
		if err != nil {
			return w, err
		}
		w.Ways = o.Options
	}
	return w, nil
}

func (f *Fold) matterView(key string, m *matter) *MatterView {
	v := &MatterView{Mismatch: key, Kind: m.Kind, State: m.State, Blocks: m.Blocks, By: f.names.text(m.By), Taken: m.Taken.At.time(), Raised: m.Raised.At.time(),
		Actions: m.Actions, Fixed: m.Fixed.At.time(), Resolution: m.Resolution, Approver: m.Approver, AfterCheck: m.AfterCheck,
		Where: m.Where, Resolved: m.Resolved.At.time(), Frames: m.Trail.frames()}
	for _, s := range m.Symptoms {
		v.Symptoms = append(v.Symptoms, Symptom{s.Kind, s.Scope, events.Evidence{Planned: s.Planned, Scanned: s.Scanned, Counted: s.Counted,
			Weighed: s.Weighed, Residual: s.Residual}, s.Fact.At.time(), s.Fact.Ref.seq()})
	}
	for _, n := range m.Notes {
		v.Notes = append(v.Notes, n.Text)
	}
	return v
}

func (f *Fold) counts(c *carton) []Count {
	var out []Count
	for _, k := range c.Counts {
		out = append(out, Count{By: f.names.text(k.By), ByPlacer: k.ByPlacer, Method: f.names.text(k.Method), Total: k.Total, Attempt: k.Attempt,
			At: k.Fact.At.time(), Place: k.Fact.Ref.seq()})
	}
	return out
}

// nearby lists where units of the carton's items lie outside cartons.
func (f *Fold) nearby(v Contents) []NearbyItem {
	var out []NearbyItem
	for _, l := range v.Lines {
		for _, id := range f.lotsFor(Ask{Item: l.Item}) {
			for _, at := range f.lots.row(id).Places {
				if f.places.row(at).Carton != 0 {
					continue
				}
				for _, p := range f.parcelsAt(at) {
					if p.lot == id {
						out = append(out, NearbyItem{l.Item, f.lots.Keys[id], f.places.Keys[at], p.stage.name(), p.q})
					}
				}
			}
		}
	}
	return out
}

// recent tells what a bench did in the minutes before a moment.
func (f *Fold) recent(key string, until stamp) []Happened {
	b := f.benches.get(key)
	if b == nil {
		return nil
	}
	var out []Happened
	for _, e := range b.Recent.events() {
		at := stampOf(e.At)
		if at > until || until.since(at) > RecentWindow {
			continue
		}
		text := Tell(&e)
		if n := len(out); n > 0 && out[n-1].Text == text {
			if out[n-1].Times == 1 {
				out[n-1].From = out[n-1].At
			}
			out[n-1].Place, out[n-1].At = e.Seq, e.At
			out[n-1].Times++
			continue
		}
		out = append(out, Happened{Place: e.Seq, At: e.At, Times: 1, Station: e.Station, Badge: e.Badge, Text: text})
	}
	return out
}

// Reading says what the four numbers of a carton say together.
func (c Contents) Reading() string {
	off := c.Weight != nil && c.Weight.Alarm
	low := off && c.Weight.Residual < 0
	switch {
	case c.Scanned == 0 && c.Planned > 0:
		return "nothing is in it yet"
	case c.State == Planned || c.Counted == nil && !off:
		return "not counted yet"
	case c.Scanned != c.Planned:
		return "scans and plan differ: settle that first, then count again"
	case c.Counted == nil:
		return "not counted yet; the weight does not fit"
	case *c.Counted == c.Scanned && (c.Weight == nil || !c.Weight.Known):
		return "plan, scans and count agree; no weight says so too"
	case *c.Counted == c.Scanned && !off:
		return "good: plan, scans, count and weight agree"
	case *c.Counted == c.Scanned:
		return "counts agree and the weight does not: two pieces changed places, a wrong label, or the scale or tare is wrong"
	case c.Weight == nil || !c.Weight.Known:
		return "scans and count differ, and no weight can decide: count again"
	case !off && c.Weight.Vouches:
		return "the weight sides with the scans: the count is likely wrong, count again"
	case !off:
		return "scans and count differ, and the scale cannot see one piece: count again"
	case *c.Counted < c.Scanned && low:
		return "physically short: a scan without its piece, or a piece taken out without a scan"
	case *c.Counted > c.Scanned && !low:
		return "one more than scanned: a piece went in without a scan; scan all of them"
	}
	return "count and weight point to different sides: count again, then weigh"
}

// Text writes the page.
func (w Why) Text(o io.Writer) error {
	b := &strings.Builder{}
	fmt.Fprintf(b, "%s at %s\n", w.Asked, clock(w.At))
	if m := w.Matter; m != nil {
		fmt.Fprintf(b, "%s %s, %s, raised %s", m.Mismatch, m.Kind, m.State, clock(m.Raised))
		switch {
		case m.State != "resolved":
			b.WriteString(hasIt(m.By, m.Taken, w.At))
		case m.By != "":
			fmt.Fprintf(b, ", %s had it", m.By)
		}
		b.WriteString("\n")
		for _, n := range m.Notes {
			fmt.Fprintf(b, "  note: %s\n", n)
		}
		if m.Resolution != "" {
			fmt.Fprintf(b, "  resolved %s: %s, by %s\n", clock(m.Resolved), m.Resolution, m.Approver)
		}
	}
	for i, c := range w.Cartons {
		if err := c.Text(b); err != nil {
			return err
		}
		fmt.Fprintf(b, "  reading: %s\n", w.Readings[i])
		w.Explained[i].text(b, c)
	}
	for _, s := range w.Swaps {
		fmt.Fprintf(b, "  %s\n", s.Words())
	}
	for _, d := range w.Drift {
		fmt.Fprintf(b, "  %s\n", d.Words())
	}
	for _, k := range w.Counts {
		for _, c := range k.Counts {
			fmt.Fprintf(b, "  counted %s %s: %d by %s%s\n", k.Carton, clock(c.At), c.Total, c.By, placerWords(c.ByPlacer))
		}
	}
	for _, n := range w.Nearby {
		fmt.Fprintf(b, "  lying about: %d of %s, lot %s, %s, in %s\n", n.Q, n.Item, n.Lot, n.Stage, n.Place)
	}
	for _, h := range w.Recent {
		fmt.Fprintf(b, "  %s %s %s%s\n", clock(h.At), h.Station, h.Text, times(h.Times))
	}
	for _, v := range w.Ways {
		fmt.Fprintf(b, "  way out: %s, %s; %s\n", v.Name, v.Takes.Says(), v.CheckSays())
	}
	_, err := io.WriteString(o, b.String())
	return err
}

func placerWords(yes bool) string {
	if yes {
		return ", who also placed"
	}
	return ""
}

func times(n int) string {
	if n < 2 {
		return ""
	}
	return fmt.Sprintf(", %d times", n)
}

package audit

import (
	"fmt"
	"slices"

	"packwright/events"
)

// Reopening is one time that a sealed carton was opened again.
type Reopening struct {
	Seal   string      `json:"seal"` // the one that was broken
	Sealed events.Time `json:"sealed_at"`
	At     events.Time `json:"opened_at"`
	Reason string      `json:"reason,omitempty"`
}

func (r Reopening) words() string {
	return fmt.Sprintf("seal %s of %s broken %s%s", r.Seal, clock(r.Sealed), clock(r.At), suffix(": ", r.Reason))
}

// TestimonyOf is something about a carton that the log learned later than it
// happened: by somebody's word, or from a bench that was away.
type TestimonyOf struct {
	What string      `json:"what"`
	At   events.Time `json:"at"`      // when it happened
	Told events.Time `json:"told_at"` // when the log learned of it
	By   string      `json:"by,omitempty"`
	Late bool        `json:"late,omitempty"` // by a bench, and refused then
}

func (o TestimonyOf) words() string {
	how := "on the word of " + o.By
	if o.Late {
		how = "by a bench that was away, and kept as a late report"
	}
	return fmt.Sprintf("%s at %s, told %s, %s", o.What, clock(o.At), clock(o.Told), how)
}

// reopenings lists the seals of a carton that were broken here.
func (c *carton) reopenings() (out []Reopening) {
	for _, s := range c.Seals {
		if s.Broken.Ref != 0 {
			out = append(out, Reopening{s.Number, s.Fact.At.time(), s.Broken.At.time(), s.Why})
		}
	}
	return out
}

// toldLater lists what was testified, or came late, about a carton.
func (f *Fold) toldLater(key string, c *carton) (out []TestimonyOf) {
	frames := c.Trail.frames()
	for _, t := range f.odd.Testimony {
		if slices.Contains(frames, t.Fact.Ref.seq().Frame) {
			out = append(out, TestimonyOf{What: string(t.Type), At: t.Fact.At.time(), Told: t.Recorded.time(), By: f.names.text(t.Fact.Badge)})
		}
	}
	for _, l := range f.odd.Late {
		if l.Carton == key {
			out = append(out, TestimonyOf{What: l.Command, At: l.Fact.At.time(), Told: l.Recorded.time(), By: f.names.text(l.Fact.Badge), Late: true})
		}
	}
	return out
}

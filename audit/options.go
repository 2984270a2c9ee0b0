package audit

import (
	"fmt"
	"io"
	"slices"
	"strings"

	"packwright/events"
)

// Option is a lawful way to settle a matter, seen with a person's roles.
type Option struct {
	events.Resolution
	May bool `json:"may"` // this person may close the matter so
	// Waits lists who must still say yes, all of them: the owner of the floor, the
	// client for goods of theirs.
	Waits []events.Role `json:"waits_for,omitempty"`
	Takes Estimate      `json:"takes"`
	// Another says that a second person must count after the fix.
	Another bool `json:"another_person,omitempty"`
}

// Options is what may be done about one matter.
type Options struct {
	Mismatch string        `json:"mismatch"`
	Kinds    []events.Kind `json:"kinds"`
	State    string        `json:"state"`
	Cartons  []string      `json:"cartons,omitempty"`
	By       string        `json:"by,omitempty"`      // who has it,
	Taken    events.Time   `json:"taken_at,omitzero"` // and since when
	Raised   events.Time   `json:"raised_at"`
	At       events.Time   `json:"at"` // the clock that it is read by
	Options  []Option      `json:"options"`
	// Leave: the cartons may also stay here for the next load, the matter open.
	Leave bool `json:"may_leave_behind"`
}

// Options lists the ways out of a matter, by all kinds that it shows, as seen by
// somebody with these roles; those they may use come first. Errors: *NoSuch.
func (f *Fold) Options(mismatch string, roles []events.Role) (Options, error) {
	m := f.matters.get(mismatch)
	if m == nil {
		return Options{}, &NoSuch{"mismatch", mismatch}
	}
	o := Options{Mismatch: mismatch, Kinds: m.kinds(), State: m.State, Cartons: m.cartons(), By: f.names.text(m.By),
		Taken: m.Taken.At.time(), Raised: m.Raised.At.time(), At: f.now}
	o.Leave = len(o.Cartons) > 0
	client := slices.ContainsFunc(o.Cartons, f.clientGoods)
	for _, r := range events.WaysOut(o.Kinds...) {
		way := optionFor(r, roles, client)
		way.Takes = f.effortOf(m, r)
		o.Options = append(o.Options, way)
	}
	slices.SortStableFunc(o.Options, func(a, b Option) int { return rank(a.May) - rank(b.May) })
	return o, nil
}

// kinds gives the kinds that a matter shows, the first one first.
func (m *matter) kinds() []events.Kind {
	out := []events.Kind{m.Kind}
	for _, s := range m.Symptoms {
		if !slices.Contains(out, s.Kind) {
			out = append(out, s.Kind)
		}
	}
	return out
}

// cartons gives the cartons that a matter speaks of.
func (m *matter) cartons() []string {
	var out []string
	for _, s := range m.Symptoms {
		if s.Scope.Carton != "" && !slices.Contains(out, s.Scope.Carton) {
			out = append(out, s.Scope.Carton)
		}
	}
	return out
}

func rank(may bool) int {
	if may {
		return 0
	}
	return 1
}

// optionFor sees a way out with a person's roles.
func optionFor(r events.Resolution, roles []events.Role, client bool) Option {
	o := Option{Resolution: r, Another: r.Check == events.Recount}
	for _, role := range roles {
		o.May = o.May || slices.Contains(r.Who, role) || r.Both && (role == events.Supervisor || role == events.Owner)
	}
	if r.Check == events.AmendedPlan && client {
		o.Waits = append(o.Waits, events.Client)
	}
	switch is := func(x events.Role) bool { return slices.Contains(roles, x) }; {
	case r.Both && is(events.Owner) && !is(events.Supervisor):
		o.Waits = append(o.Waits, events.Supervisor)
	case r.Both, r.Check == events.AmendedPlan && !client:
		o.Waits = append(o.Waits, events.Owner)
	}
	o.Waits = slices.DeleteFunc(o.Waits, func(need events.Role) bool { return slices.Contains(roles, need) })
	return o
}

// clientGoods says whether a carton is planned for goods of a client: an owner
// for whom a badge approves.
func (f *Fold) clientGoods(key string) bool {
	c := f.cartons.get(key)
	if c == nil {
		return false
	}
	for _, l := range c.Lines {
		for _, b := range f.badges {
			if b.OwnerOf != "" && b.OwnerOf == f.names.text(l.Owner) {
				return true
			}
		}
	}
	return false
}

// Text writes the options, those this person may use first.
func (o Options) Text(w io.Writer) error {
	b := &strings.Builder{}
	fmt.Fprintf(b, "%s %s, %s", o.Mismatch, kindWords(o.Kinds), o.State)
	fmt.Fprintf(b, "%s; raised %s; %d ways out\n", hasIt(o.By, o.Taken, o.At), clock(o.Raised), len(o.Options))
	for _, v := range o.Options {
		who := "you may"
		if !v.May {
			who = "for " + roleWords(v.Who)
		}
		fmt.Fprintf(b, "  %-20s %s (%s", v.Name, v.Does, who)
		if len(v.Waits) > 0 {
			fmt.Fprintf(b, "; %s must agree", listWords(v.Waits, " and "))
		}
		if v.Both {
			b.WriteString("; two persons")
		}
		fmt.Fprintf(b, "; %s; %s)\n", v.CheckSays(), v.Takes.Says())
	}
	if o.Leave {
		fmt.Fprintf(b, "  or leave %s for the next load\n", strings.Join(o.Cartons, ", "))
	}
	_, err := io.WriteString(w, b.String())
	return err
}

func kindWords(list []events.Kind) string {
	var out []string
	for _, k := range list {
		out = append(out, string(k))
	}
	return strings.Join(out, " and ")
}

func roleWords(list []events.Role) string { return listWords(list, " or ") }

func listWords(list []events.Role, between string) string {
	var out []string
	for _, r := range list {
		out = append(out, string(r))
	}
	return strings.Join(out, between)
}

// hasIt says who has a matter, and for how long: ", maren has it since 17:41:00 (2 min)".
func hasIt(by string, since, now events.Time) string {
	if by == "" {
		return ", nobody has it"
	}
	return fmt.Sprintf(", %s has it since %s (%d min)", by, clock(since), int(now.Sub(since).Minutes()))
}

// CheckSays says what must be in the log before the matter closes so.
func (o Option) CheckSays() string {
	switch o.Check {
	case events.Recount:
		return "then another person counts"
	case events.AmendedPlan:
		return "closes when the plan is changed"
	case events.Leave:
		return "closes after leave was given"
	}
	return "closes without a check after it"
}

// Says gives the minutes in words.
func (e Estimate) Says() string {
	if e.Practice {
		return fmt.Sprintf("about %d min, part of it common practice", e.Minutes)
	}
	return fmt.Sprintf("about %d min, this floor's pace", e.Minutes)
}

package workflow

import (
	"bytes"
	"fmt"
	"slices"

	json "github.com/goccy/go-json"

	"packwright/events"
	"packwright/prep"
)

// decision is one command being judged.
type decision struct {
	f       *Floor
	c       *Command // own, or with more said of it
	own     Command
	id      CommandID
	now     events.Time
	station *Station
	badge   *Badge
	session string
	scope   events.Scope // what the command is about, for overrides; gates set it
	used    *Override    // the override that opened a gate
	out     []events.Event
	outcome Outcome
	refusal *Refusal
	basis   events.Basis
}

// emit adds an event.
func (d *decision) emit(data events.Data) *events.Event {
	e := events.Event{Cause: d.c.ID, At: d.c.At, Recorded: d.now, Basis: d.basis, Badge: d.c.Badge, Station: d.id.Station,
		Mismatch: d.c.Matter, PlanRev: d.f.planRev(d.scope), RulesRev: d.f.RulesRev, Data: data}
	if d.badge != nil {
		e.Badge = d.badge.Badge
	}
	d.out = append(d.out, e)
	return &d.out[len(d.out)-1]
}

// follow adds an event that follows from what was just decided.
func (d *decision) follow(data events.Data) *events.Event {
	e := d.emit(data)
	e.Basis, e.At = events.Derived, d.now
	return e
}

// calls makes the outcome call: kept, and a person is needed.
func (d *decision) calls(code Code, args ...any) {
	d.outcome, d.refusal = Call, refuse(code, args...)
}

// overridden says whether leave was given for this gate and the command's scope.
func (d *decision) overridden(gate string) bool {
	var found *Override
	for _, o := range d.f.Overrides {
		if o.Gate == gate && covers(o.Scope, d.scope, d.id.Station) && d.now.Before(o.Expires) && (found == nil || o.Override < found.Override) {
			found = o
		}
	}
	if found != nil {
		d.used = found
	}
	return found != nil
}

// covers says whether an override's scope takes in what a command is about.
func covers(o, s events.Scope, station string) bool {
	switch {
	case o.Carton != "":
		return o.Carton == s.Carton
	case o.Run != "":
		return o.Run == s.Run
	case o.Lot != "":
		return o.Lot == s.Lot
	case o.Mark != 0:
		return o.Mark == s.Mark
	}
	return o.Station != "" && o.Station == station
}

// Decide judges a command. It changes nothing. Errors are *prep.InputError: the
// command cannot be read. now must not go back between calls.
func Decide(f *Floor, c *Command, now events.Time) (Decision, error) {
	id, err := ParseCommandID(c.ID)
	if err != nil {
		return Decision{}, err
	}
	if known, ok := f.known(id, c); ok {
		return known, nil
	}
	r := rules[c.Type]
	if r == nil {
		return Decision{}, unknownCommand(c.Type)
	}
	in := r.blank()
	if err := decodeStrict(c, in); err != nil {
		return Decision{}, err
	}
	if err := stated(c, now); err != nil {
		return Decision{}, err
	}
	d := &decision{f: f, own: *c, id: id, now: now, station: f.Stations[id.Station], outcome: Kept, basis: c.Basis}
	d.c = &d.own
	if d.own.At.IsZero() {
		d.own.At = now
	}
	if d.basis == "" {
		d.basis = events.Scan
	}
	no := d.admit(r)
	if no == nil {
		no = d.mayTestify()
	}
	if no == nil {
		no = r.run(d, in)
	}
	if no != nil {
		return d.refused(r, no), nil
	}
	if len(d.out) == 0 {
		return Decision{Outcome: Already, Refusal: d.refusal}, nil
	}
	d.sayLow()
	d.out[0].Sum = c.Sum()
	return Decision{Outcome: d.outcome, Refusal: d.refusal, Events: d.out}, nil
}

// admit is the gate before all gates: station, badge, session, role.
func (d *decision) admit(r *rule) *Refusal {
	if r.Who == nil {
		return nil
	}
	if d.station == nil {
		return refuse("E-SES-04", d.id.Station)
	}
	if d.c.Badge == "" {
		if len(d.station.Sessions) == 0 {
			return refuse("E-SES-01")
		}
		d.badge = d.f.Badges[d.station.Sessions[0].Badge]
	} else {
		d.badge = d.f.Badges[d.c.Badge]
	}
	if d.badge == nil || d.badge.Retired {
		return refuse("E-SES-03", d.c.Badge)
	}
	if r.Name != "sign-in" {
		if d.session = d.station.sessionOf(d.badge.Badge); d.session == "" {
			if d.badge.Station != "" {
				return refuse("E-SES-02", d.badge.Station)
			}
			return refuse("E-SES-01")
		}
	}
	if !slices.ContainsFunc(d.badge.Roles, func(have events.Role) bool { return slices.Contains(r.Who, have) }) {
		return refuse("E-AUT-01")
	}
	return nil
}

// may says whether the badge holds one of the roles.
func (d *decision) may(roles ...events.Role) bool {
	return d.badge != nil && slices.ContainsFunc(d.badge.Roles, func(r events.Role) bool { return slices.Contains(roles, r) })
}

// sessionOf gives the session of a badge here, or "".
func (s *Station) sessionOf(badge string) string {
	for _, x := range s.Sessions {
		if x.Badge == badge {
			return x.ID
		}
	}
	return ""
}

// refusalsKept are those that leave a trace in the log: a code was in front of
// the reader that should not have been.
var refusalsKept = []Code{"E-CAR-04", "E-CAR-05", "E-CAR-06", "E-CAR-07", "E-CAR-08", "E-TRI-02", "E-PRE-03", "E-PRE-04"}

// refused turns a refusal into the decision: perhaps with a ScanRefused, or,
// for work that hands have done already, kept as a late statement.
func (d *decision) refused(r *rule, no *Refusal) Decision {
	d.out = nil
	if d.c.Offline && r.Late && no.outcome != Already {
		return d.late(no)
	}
	outcome := No
	if no.outcome != "" {
		outcome = no.outcome
	}
	if slices.Contains(refusalsKept, no.Code) && d.station != nil && d.badge != nil {
		if last, ok := d.station.Refused[no.Code]; !ok || d.now.Sub(last).Minutes() >= 1 {
			d.follow(&events.ScanRefused{Raw: d.c.Sum(), Class: r.Name, Error: string(no.Code), Carton: d.scope.Carton})
		}
	}
	return Decision{Outcome: outcome, Refusal: no, Events: d.out}
}

// again marks a refusal as already: it was so before, nothing changed.
func again(no *Refusal) *Refusal {
	no.outcome = Already
	return no
}

// late keeps what a bench says was done while it was away, and raises the matter. Nothing moves.
func (d *decision) late(no *Refusal) Decision {
	d.basis = events.Testimony
	d.emit(&events.LateReported{Command: d.c.Type, Error: string(no.Code), Text: no.Text, Body: string(d.c.Data), Carton: d.scope.Carton})
	d.raise(events.Late, d.scope, events.Evidence{}, d.scope.Carton != "")
	d.out[0].Sum = d.c.Sum()
	return Decision{Outcome: Call, Refusal: no, Events: d.out}
}

// raise opens a mismatch, or adds a symptom when the same scope has one open.
// It gives the matter's code.
func (d *decision) raise(kind events.Kind, scope events.Scope, ev events.Evidence, blocks bool) string {
	if scope.Carton != "" {
		if m := d.f.matterOn(scope.Carton); m != nil {
			d.follow(&events.MismatchSymptomAdded{Mismatch: m.Matter, Kind: kind, Scope: scope, Evidence: ev})
			return m.Matter
		}
	}
	id := fmt.Sprintf("X-%02d", d.f.Next.Matter+1+d.emitted("mismatch.raised"))
	d.follow(&events.MismatchRaised{Mismatch: id, Kind: kind, Scope: scope, Evidence: ev, Blocks: blocks})
	return id
}

// emitted counts events of a type already in this decision, for numbering.
func (d *decision) emitted(t events.Type) (n int) {
	for i := range d.out {
		if d.out[i].Type() == t {
			n++
		}
	}
	return n
}

// decodeStrict reads a command's data; an unknown field is refused by name. An
// ask may have a check of its own for what no floor could make true.
func decodeStrict(c *Command, in any) error {
	body := c.Data
	if len(body) == 0 {
		body = []byte("{}")
	}
	dec := json.NewDecoder(bytes.NewReader(body))
	dec.DisallowUnknownFields()
	if err := dec.Decode(in); err != nil {
		return prep.Input(fmt.Sprintf("the data of %q cannot be read: %v", c.Type, err), "compare it with the fields of this command")
	}
	if in, ok := in.(interface{ check() error }); ok {
		return in.check()
	}
	return nil
}

func unknownCommand(name string) error {
	return prep.Input(fmt.Sprintf("there is no command %q", name), "see the list of commands")
}

// planRev gives the revision in force of the plan a scope's carton is on; when
// no carton is named, of the only plan there is.
func (f *Floor) planRev(s events.Scope) int {
	if c := f.Cartons[s.Carton]; c != nil {
		if p := f.Plans[c.Plan]; p != nil {
			return p.Rev
		}
	}
	if len(f.Plans) == 1 {
		for _, p := range f.Plans {
			return p.Rev
		}
	}
	return 0
}

// known answers a command whose id is in the log already.
func (f *Floor) known(id CommandID, c *Command) (Decision, bool) {
	s := f.Stations[id.Station]
	if s == nil || s.Epochs[id.Epoch] == nil || !s.Epochs[id.Epoch].Kept.has(id.N) {
		return Decision{}, false
	}
	for i := len(s.Recent) - 1; i >= 0; i-- {
		if r := &s.Recent[i]; r.ID == c.ID {
			if r.Sum != c.Sum() {
				return Decision{Outcome: No, Refusal: refuse("E-SYS-04")}, true
			}
			return Decision{Outcome: Already, First: r.Seq}, true
		}
	}
	return Decision{Outcome: Already}, true
}

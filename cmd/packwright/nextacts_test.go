package main

import (
	"bytes"
	"context"
	"encoding/json"
	"fmt"
	"maps"
	"slices"
	"strings"
	"testing"
	"time"

	"packwright/audit"
	"packwright/audit/follow"
	"packwright/events"
	"packwright/events/memlog"
	"packwright/events/proof"
	"packwright/prep"
	"packwright/testdata/demo"
	"packwright/testdata/floors"
	"packwright/workflow"
	"packwright/workflow/engine"
)

// asked for next: a floor and its auditor, both read from one log, to which the acts
// are given that the auditor proposes.
type nextActs struct {
	t     *testing.T
	at    string // where the log stands, for messages
	floor *workflow.Floor
	fold  *audit.Fold
	n     int

	given, held, blocked, sampled, said int
}

// readBoth reads a log into decider and auditor.
func readBoth(t *testing.T, at string, log *memlog.Log, p *workflow.Policy, name string) *nextActs {
	t.Helper()
	x := &nextActs{t: t, at: at, floor: workflow.NewFloor(p)}
	if err := engine.Replay(t.Context(), log, x.floor, &proof.Chain{Floor: name, Next: 1}); err != nil {
		t.Fatal(err)
	}
	r := follow.New()
	err := log.Scan(t.Context(), 1, func(seq uint64, frame []byte) error { _, err := r.Take(seq, frame); return err })
	if err != nil {
		t.Fatal(err)
	}
	r.View(func(f *audit.Fold) { x.fold = f })
	return x
}

// do gives a command to the decider as somebody signed in who may, and what comes of
// it to both. False: nobody who may is signed in.
func (x *nextActs) do(role events.Role, kind string, data json.RawMessage) (*workflow.Refusal, bool) {
	station, badge := x.who(role)
	if badge == "" {
		return nil, false
	}
	x.n++
	c := workflow.Command{ID: fmt.Sprintf("%s/next/%d", station, x.n), Type: kind, Badge: badge, Data: data}
	dec, err := workflow.Decide(x.floor, &c, x.floor.Recorded)
	if err != nil {
		x.t.Errorf("%s: %s %s cannot be given: %v", x.at, kind, data, err)
		return nil, false
	}
	last := x.fold.Last()
	for i := range dec.Events {
		e := &dec.Events[i]
		e.Seq = events.Seq{Frame: last.Frame + 1, Index: i}
		if err := x.floor.Apply(e); err != nil {
			x.t.Fatal(err)
		}
		if err := x.fold.Apply(e); err != nil {
			x.t.Fatal(err)
		}
	}
	return dec.Refusal, true
}

// who finds somebody of a role at a station.
func (x *nextActs) who(role events.Role) (station, badge string) {
	for _, name := range slices.Sorted(maps.Keys(x.floor.Stations)) {
		for _, s := range x.floor.Stations[name].Sessions {
			if b := x.floor.Badges[s.Badge]; b != nil && slices.Contains(b.Roles, role) {
				return name, s.Badge
			}
		}
	}
	return "", ""
}

// here lists marks that are on the floor and in no carton.
func (x *nextActs) here() (out prep.Marks) {
	for _, b := range x.fold.Balances() {
		t, err := x.fold.TraceUnits(audit.Ask{Lot: b.Lot})
		if err != nil {
			x.t.Fatal(err)
		}
		for _, s := range t.Sets {
			if x.floor.Cartons[s.Place] == nil && !s.Stage.Gone() {
				out = append(out, s.Marks...)
			}
		}
	}
	return out
}

// tryAll complains of a unit that is here and gives all acts that its siblings
// propose, axis by axis.
func (x *nextActs) tryAll(m prep.Mark) {
	role := events.Supervisor
	data, _ := json.Marshal(map[string]any{"kind": "damaged", "given": map[string]any{"mark": m}, "qty": 1})
	if no, ok := x.do(role, "open-claim", data); !ok || no != nil {
		return // nobody is there who may
	}
	sets, err := x.fold.SiblingsOf(m, 30*time.Minute)
	if err != nil {
		x.t.Fatal(err)
	}
	for i := range sets { // each as it stands after what was done about those before it
		if sets, err = x.fold.SiblingsOf(m, 30*time.Minute); err != nil {
			x.t.Fatal(err)
		}
		x.give(sets[i])
	}
}

// give gives the acts of one set; what was to be held is held, and what is left out
// is said.
func (x *nextActs) give(s audit.Siblings) {
	held, said := prep.Marks{}, ""
	for _, n := range s.Steps {
		said += n.Does + "; "
		if strings.HasPrefix(n.Line, "packwright inspect-plan") {
			x.inspect(s, n)
		}
		if n.Command == "" {
			continue
		}
		var c struct {
			Type string
			Data json.RawMessage
		}
		var d struct{ Marks prep.Marks }
		if err := json.Unmarshal([]byte(n.Command), &c); err != nil || json.Unmarshal(c.Data, &d) != nil {
			x.t.Fatalf("%s, %v", n.Command, err)
		}
		no, ok := x.do(map[string]events.Role{"hold": events.Packer, "block-lot": events.Supervisor}[c.Type], c.Type, c.Data)
		switch {
		case !ok:
			return
		case no != nil:
			x.t.Errorf("%s: %s %s proposes %s, and the floor says %s %s", x.at, s.Axis, s.Key, n.Command, no.Code, no.Text)
		case c.Type == "block-lot" && x.floor.MatLots[s.Key].Blocked == "":
			x.t.Errorf("%s: %s is not blocked", x.at, s.Key)
		case c.Type == "block-lot":
			x.blocked++
		}
		x.given++
		held = append(held, d.Marks...)
	}
	x.look(s, prep.NewMarks(held...), said)
}

// look wants each of the set's marked units that are here to be on hold now, or in a
// carton, and that to have been said.
func (x *nextActs) look(s audit.Siblings, held prep.Marks, said string) {
	if len(s.Steps) == 0 {
		return
	}
	for _, m := range held {
		if c := x.floor.Ledger.Find(m); c == nil || c.Stage != events.Held {
			x.t.Errorf("%s: %s is not on hold: %+v", x.at, m, c)
		}
	}
	x.held += len(held)
	inCartons, before := 0, 0
	for _, m := range s.HereMarks.Minus(held) {
		switch c := x.floor.Ledger.Find(m); {
		case c == nil:
			x.t.Errorf("%s: %s is said to be here", x.at, m)
		case x.floor.Cartons[c.Place] != nil:
			inCartons++
		case c.Stage == events.Held:
			before++
		default:
			x.t.Errorf("%s: %s %s leaves %s at %s %s: %s", x.at, s.Axis, s.Key, m, c.Place, c.Stage, said)
		}
	}
	for n, word := range map[int]string{inCartons: "lie in cartons", before: "on hold already"} {
		if n > 0 && !strings.Contains(said, fmt.Sprintf("%d ", n)) || n > 0 && !strings.Contains(said, word) {
			x.t.Errorf("%s: %s %s: %d %s, and it says: %s", x.at, s.Axis, s.Key, n, word, said)
		} else if n > 0 {
			x.said++
		}
	}
}

// inspect gives the command line for a sample and wants the numbers that were told.
func (x *nextActs) inspect(s audit.Siblings, n audit.NextStep) {
	got := succeed(x.t, strings.Fields(strings.TrimPrefix(n.Line, "packwright "))...)
	var sample, of int
	if _, err := fmt.Sscanf(n.Does, "look at %d of the %d", &sample, &of); err != nil || of != s.Here+s.Sealed || !strings.Contains(got, fmt.Sprint(sample)) {
		x.t.Errorf("%s: %s %s: %q, and %s gives %s", x.at, s.Axis, s.Key, n.Does, n.Line, got)
	}
	x.sampled++
}

// TestNextActsOfTheDay: at any time of the demo's day the floor takes what the
// siblings of a unit that is here propose.
func TestNextActsOfTheDay(t *testing.T) {
	p, err := workflow.ParsePolicy("policy.yaml", demo.Policy)
	if err != nil {
		t.Fatal(err)
	}
	var all nextActs
	for _, clock := range []string{"10:30", "11:15", "12:30", "13:40", "15:40", "17:41"} {
		until, err := time.Parse("2006-01-02 15:04", "2031-03-04 "+clock)
		if err != nil {
			t.Fatal(err)
		}
		log := memlog.New()
		d := &memDoor{log: log, clock: &demo.Clock{}}
		if d.e, err = engine.Open(t.Context(), engine.Config{Log: log, Floor: demo.Floor, Policy: p, Now: d.clock.Now}); err != nil {
			t.Fatal(err)
		}
		if err := demo.Play(t.Context(), demo.Until(demo.Day(), until), d.clock, d); err != nil {
			t.Fatal(err)
		}
		if err := d.e.Close(); err != nil {
			t.Fatal(err)
		}
		for _, m := range []prep.Mark{5, 19, 24, 30, 44, 65} {
			x := readBoth(t, fmt.Sprintf("%s, %s", clock, m), log, p, demo.Floor)
			if slices.Contains(x.here(), m) || x.floor.Ledger.Find(m) != nil {
				x.tryAll(m)
				all.add(x)
			}
		}
	}
	all.enough(t)
}

func (x *nextActs) add(o *nextActs) {
	x.given, x.held, x.blocked, x.sampled, x.said = x.given+o.given, x.held+o.held, x.blocked+o.blocked, x.sampled+o.sampled, x.said+o.said
}

func (x *nextActs) enough(t *testing.T) {
	t.Logf("%d acts given: %d units held, %d rolls blocked; %d samples, %d times something left out was said", x.given, x.held, x.blocked, x.sampled, x.said)
	if x.held == 0 || x.blocked == 0 || x.sampled == 0 || x.said == 0 {
		t.Error("something was not tried")
	}
}

// memDoor is the day's way into an engine on a log in memory.
type memDoor struct {
	e     *engine.Engine
	log   *memlog.Log
	clock *demo.Clock
}

func (d *memDoor) Do(ctx context.Context, c workflow.Command) (workflow.Outcome, workflow.Code, error) {
	a, err := d.e.Do(ctx, c)
	if err != nil || a.Refusal == nil {
		return a.Outcome, "", err
	}
	return a.Outcome, a.Refusal.Code, nil
}

func (d *memDoor) Head(context.Context) (demo.Head, error) { return headOf(d.e.Head()), nil }

// TestNextActsOfAnyFloor does so on random days, with whatever is here at their noon
// and at their end.
func TestNextActsOfAnyFloor(t *testing.T) {
	var all nextActs
	for seed := uint64(1); seed <= 12; seed++ {
		day := floors.New(seed)
		var frames [][]byte
		day.Play(floors.NewDesk(day.Policy, func(_ uint64, frame []byte) error {
			frames = append(frames, bytes.Clone(frame))
			return nil
		}))
		for _, part := range []int{2, 4, 6, 8} {
			log := memlog.New(frames[:len(frames)*part/8]...)
			here := readBoth(t, "", log, day.Policy, floors.Floor).here()
			for i := range min(2, len(here)) {
				m := here[i*(len(here)-1)]
				x := readBoth(t, fmt.Sprintf("seed %d, %d eighths, %s", seed, part, m), log, day.Policy, floors.Floor)
				x.tryAll(m)
				all.add(x)
			}
		}
	}
	all.enough(t)
}

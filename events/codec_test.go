package events_test

import (
	"errors"
	"strings"
	"testing"

	"packwright/events"
	"packwright/prep"
)

func moment(t *testing.T, s string) events.Time {
	t.Helper()
	m, err := events.ParseTime(s)
	if err != nil {
		t.Fatal(err)
	}
	return m
}

// TestDefaultsAreLeftOut: what a reader can tell from the rest of the line is not written.
func TestDefaultsAreLeftOut(t *testing.T) {
	noon := moment(t, "2031-03-04T12:00:00Z")
	place := &events.UnitPlaced{Carton: "C-02", Item: "MG3", Lot: "L-02", From: "T-02", Q: 1, Marks: prep.NewMarks(19)}
	for _, c := range []struct {
		why  string
		e    events.Event
		want string
	}{
		{"all defaults", events.Event{Cause: "ST-3/1/7", Station: "ST-3", At: noon, Recorded: noon, Basis: events.Scan, Data: place},
			`{"type":"unit.placed","cause":"ST-3/1/7","recorded":"2031-03-04T12:00:00Z","data":{"carton":"C-02","item":"MG3","lot":"L-02","from":"T-02","q":1,"marks":["M-0019"]}}`},
		{"another station than the cause names", events.Event{Cause: "HUB/1/7", Station: "ST-1", At: noon, Recorded: noon, Basis: events.Derived, Data: &events.StationQuiet{Name: "ST-1", LastSeen: noon}},
			`{"type":"station.quiet","cause":"HUB/1/7","recorded":"2031-03-04T12:00:00Z","basis":"derived","station":"ST-1","data":{"name":"ST-1","last_seen":"2031-03-04T12:00:00Z"}}`},
		{"told earlier, and words that need quoting", events.Event{Cause: "ST-3/1/8", Station: "ST-3", At: moment(t, "2031-03-04T11:30:00+01:00"), Recorded: noon, Basis: events.Testimony, Badge: `so "called" é`, Mismatch: "X-02", PlanRev: 2, RulesRev: 5, Data: &events.ToteCleared{Tote: "T-09"}},
			`{"type":"tote.cleared","cause":"ST-3/1/8","at":"2031-03-04T11:30:00+01:00","recorded":"2031-03-04T12:00:00Z","basis":"testimony","badge":"so \"called\" é","mismatch":"X-02","plan_rev":2,"rules_rev":5,"data":{"tote":"T-09"}}`},
	} {
		got, err := events.Encode(nil, &c.e)
		if err != nil {
			t.Fatalf("%s: %v", c.why, err)
		}
		if string(got) != c.want {
			t.Errorf("%s:\n got %s\nwant %s", c.why, got, c.want)
		}
		back, err := events.Decode(got)
		if err != nil {
			t.Fatalf("%s: %v", c.why, err)
		}
		if back.Station != c.e.Station || back.At != c.e.At || back.Basis != c.e.Basis || back.Badge != c.e.Badge {
			t.Errorf("%s: read back %+v", c.why, back)
		}
	}
}

// TestEncodeAppends: the buffer before the line stays.
func TestEncodeAppends(t *testing.T) {
	e := events.Event{Cause: "ST-1/1/1", Station: "ST-1", Recorded: moment(t, "2031-03-04T12:00:00Z"), Data: &events.ToteCleared{Tote: "T-09"}}
	got, err := events.Encode([]byte("before "), &e)
	if err != nil || !strings.HasPrefix(string(got), `before {"type":"tote.cleared"`) {
		t.Errorf("%s, %v", got, err)
	}
}

func TestDecodeRefuses(t *testing.T) {
	for _, c := range []struct{ line, says string }{
		{``, "event line"},
		{`{`, "event line"},
		{`{"type":"unit.vanished","recorded":"2031-03-04T12:00:00Z","data":{}}`, `unknown event type "unit.vanished"`},
		{`{"type":"unit.placed","v":2,"recorded":"2031-03-04T12:00:00Z","data":{}}`, "version 2; this program knows up to 1"},
		{`{"type":"unit.placed","recorded":"2031-03-04T12:00:00Z","data":{"q":"one"}}`, "body of unit.placed"},
		{`{"type":"unit.placed","recorded":"2031-03-04T12:00:00Z"}`, "body of unit.placed"},
		{`{"type":"unit.placed","recorded":"2031-03-04T12:00:00Z","data":{"marks":["M-0019-9"]}}`, "body of unit.placed"},
		{`{"type":"unit.placed","recorded":"yesterday","data":{}}`, "event line"},
		{`{"type":"rulebook.published","recorded":"2031-03-04T12:00:00Z","data":{"rev":4,"rulebuok":{}}}`, "no rulebook in it"},
	} {
		e, err := events.Decode([]byte(c.line))
		if !errors.Is(err, events.ErrCorrupt) || !strings.Contains(err.Error(), c.says) {
			t.Errorf("%s\n gave %+v, %v; want ErrCorrupt with %q", c.line, e, err, c.says)
		}
	}
}

// TestSeq covers the place of an event in the log.
func TestSeq(t *testing.T) {
	for _, s := range []events.Seq{{Frame: 1}, {Frame: 12, Index: 3}, {Frame: 1<<64 - 1, Index: 511}} {
		back, err := events.ParseSeq(s.String())
		if err != nil || back != s {
			t.Errorf("%v read back as %v, %v", s, back, err)
		}
	}
	for _, bad := range []string{"", "12", "12.", ".3", "12.-1", "a.b", "12.3.4", "-1.0"} {
		if s, err := events.ParseSeq(bad); err == nil {
			t.Errorf("%q read as %v", bad, s)
		}
	}
	a, b, c := events.Seq{Frame: 1, Index: 9}, events.Seq{Frame: 2}, events.Seq{Frame: 2, Index: 1}
	if !a.Less(b) || !b.Less(c) || c.Less(b) || b.Less(b) {
		t.Error("order of places")
	}
	if !(events.Seq{}).IsZero() || a.IsZero() {
		t.Error("IsZero")
	}
}

// TestListIsClosed: every type has a blank body of its own that names it.
func TestListIsClosed(t *testing.T) {
	for _, name := range events.Types() {
		body := events.Blank(name)
		if body == nil || body.Type() != name {
			t.Errorf("Blank(%s) gives a body of type %v", name, body)
		}
		noun, verb, ok := strings.Cut(string(name), ".")
		if !ok || noun == "" || verb == "" {
			t.Errorf("%s is not noun.past-tense", name)
		}
	}
	if events.Blank("unit.vanished") != nil || events.Version("unit.vanished") != 0 {
		t.Error("a type that is not on the list")
	}
}

package audit_test

import (
	"fmt"
	"strings"
	"testing"

	"packwright/audit"
	"packwright/events"
)

// TestEffortsSayWhatTheyRestOn: on the day's floor cartons were sealed at a known
// pace, and no matter was settled often enough to know how long that takes.
func TestEffortsSayWhatTheyRestOn(t *testing.T) {
	o, err := lanternDay(t).until("17:41:00").Options("X-02", []events.Role{events.Supervisor})
	if err != nil {
		t.Fatal(err)
	}
	got := map[string]audit.Estimate{}
	for _, v := range o.Options {
		got[v.Name] = v.Takes
	}
	if r := got["recount"]; r.Practice || r.Minutes < 2 || r.Minutes > 5 || !strings.Contains(r.Basis, "this floor's pace") {
		t.Errorf("recount: %+v", r)
	}
	if a := got["find-and-add"]; !a.Practice || a.Minutes != got["recount"].Minutes+11 {
		t.Errorf("find-and-add: %+v beside %+v", a, got["recount"])
	}
	if a := got["amend-plan"]; !a.Practice {
		t.Errorf("amend-plan: %+v", a)
	}
	if o.Taken.Clock() != "17:41:00" || o.Raised.Clock() != "17:30:52" {
		t.Errorf("taken %s, raised %s", o.Taken, o.Raised)
	}
}

// TestEffortsLearn: five matters settled one way give that way a pace of its own,
// from when each was taken; one that lay over night gives none.
func TestEffortsLearn(t *testing.T) {
	var list []events.Event
	say := func(when string, d events.Data) {
		e := said(t, d)[0]
		e.Seq.Frame, e.At, e.Recorded, e.Cause = uint64(len(list)+1), at(t, when), at(t, when), fmt.Sprintf("ST-1/1/%d", len(list)+1)
		list = append(list, e)
	}
	say("07:00", lotA)
	for i, mins := range []int{4, 6, 9, 5, 30} {
		x := fmt.Sprintf("X-%02d", i+1)
		say(fmt.Sprintf("%02d:00", 8+i), &events.MismatchRaised{Mismatch: x, Kind: events.LabelBal, Scope: events.Scope{Lot: "L-01"}})
		say(fmt.Sprintf("%02d:20", 8+i), &events.MismatchTaken{Mismatch: x, By: "maren"})
		say(fmt.Sprintf("%02d:%02d", 8+i, 20+mins), &events.MismatchResolved{Mismatch: x, Resolution: "find-label"})
	}
	say("14:00", &events.MismatchRaised{Mismatch: "X-09", Kind: events.LabelBal, Scope: events.Scope{Lot: "L-01"}})
	f := audit.New()
	for i := range list {
		if err := f.Apply(&list[i]); err != nil {
			t.Fatal(err)
		}
	}
	o, err := f.Options("X-09", nil)
	if err != nil {
		t.Fatal(err)
	}
	for _, v := range o.Options {
		switch want := (audit.Estimate{Minutes: 6, Basis: "the middle of the last 5 settled so here"}); v.Name {
		case "find-label":
			if v.Takes != want {
				t.Errorf("%s: %+v", v.Name, v.Takes)
			}
		default:
			if !v.Takes.Practice {
				t.Errorf("%s: %+v", v.Name, v.Takes)
			}
		}
	}
}

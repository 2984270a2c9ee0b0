package audit_test

import (
	"testing"

	"github.com/google/go-cmp/cmp"

	"packwright/audit"
	"packwright/events"
)

// TestChange: a change waits, gets one yes, gets the other; another is declined.
func TestChange(t *testing.T) {
	f := newFloor(t)
	f.now = at(t, "08:00")
	f.do("BOARD", "odile", &events.BadgeEnrolled{Badge: "quinn", Roles: []events.Role{events.Client}, OwnerOf: "quill"})
	f.do("BOARD", "odile", &events.PlanReleased{Plan: "PL", Rev: 1, Policy: "dest", Lines: []events.PlanLine{
		{Carton: "C-01", Item: "MG3", Owner: "house", Q: 3}, {Carton: "C-02", Item: "PUZ", Owner: "quill", Q: 5}}})
	ask := []events.PlanChange{{Carton: "C-01", Item: "MG3", Owner: "house", Delta: -1}, {Carton: "C-02", Item: "PUZ", Owner: "quill", Delta: -2}}
	f.now = at(t, "08:10")
	f.do("BOARD", "maren", &events.PlanChangeProposed{Proposal: "PC-01", Plan: "PL", Changes: ask, Reason: "two are torn"})
	want := audit.ChangeView{Proposal: "PC-01", Plan: "PL", Reason: "two are torn", By: "maren", Asked: at(t, "08:10"), State: "open", Rev: 1,
		Was: 8, Is: 5, Cartons: 2,
		Lines:  []audit.ChangeLine{{Carton: "C-01", Item: "MG3", Owner: "house", Was: 3, Is: 2}, {Carton: "C-02", Item: "PUZ", Owner: "quill", Was: 5, Is: 3}},
		Voices: []audit.Voice{{Owner: "house", Pieces: 1}, {Owner: "quill", Client: true, Pieces: 2}}}
	check := func(key string) {
		t.Helper()
		got, err := f.read().Change(key)
		if diff := cmp.Diff(want, got, cmp.AllowUnexported(events.Time{})); err != nil || diff != "" {
			t.Errorf("%s: %v\n-want +got\n%s", key, err, diff)
		}
	}
	check("PC-01")

	f.now = at(t, "08:20")
	f.do("PHONE-1", "quinn", &events.PlanChangeApproved{Proposal: "PC-01", By: "quinn", Owner: "quill", Basis: "client"})
	want.Voices[1] = audit.Voice{Owner: "quill", Client: true, Pieces: 2, By: "quinn", Basis: "client", At: at(t, "08:20")}
	check("PC-01")

	f.now = at(t, "08:30")
	f.do("PHONE-2", "odile", &events.PlanChangeApproved{Proposal: "PC-01", By: "odile", Owner: "house", Basis: "owner"},
		&events.PlanAmended{Plan: "PL", Rev: 2, Proposal: "PC-01", Changes: ask, Approved: []string{"quinn", "odile"}})
	want.Voices[0] = audit.Voice{Owner: "house", Pieces: 1, By: "odile", Basis: "owner", At: at(t, "08:30")}
	want.State, want.Answered = "amended", at(t, "08:30")
	check("PC-01")

	f.do("BOARD", "maren", &events.PlanChangeProposed{Proposal: "PC-02", Plan: "PL", Changes: ask[:1], Reason: "one more"})
	f.now = at(t, "08:40")
	f.do("PHONE-2", "odile", &events.PlanChangeDeclined{Proposal: "PC-02", By: "odile", Reason: "look again"})
	want = audit.ChangeView{Proposal: "PC-02", Plan: "PL", Reason: "one more", By: "maren", Asked: at(t, "08:30"), State: "declined", Rev: 2,
		Was: 5, Is: 4, Cartons: 2, Lines: []audit.ChangeLine{{Carton: "C-01", Item: "MG3", Owner: "house", Was: 2, Is: 1}},
		Voices: []audit.Voice{{Owner: "house", Pieces: 1}}, Declined: "odile", Why: "look again", Answered: at(t, "08:40")}
	check("PC-02")

	fold := f.read()
	if got := fold.Changes(); len(got) != 2 {
		t.Errorf("%d changes", len(got))
	}
	if _, err := fold.Change("PC-09"); err == nil {
		t.Error("a change that nobody asked for")
	}
	if got := fold.Badges(); len(got) == 0 || got[len(got)-1].OwnerOf != "quill" {
		t.Errorf("badges %+v", got)
	}
}

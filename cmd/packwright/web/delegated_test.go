package web

import (
	"fmt"
	"net/http"
	"net/url"
	"strings"
	"testing"

	"packwright/events"
	"packwright/workflow"
)

// TestDelegatedApproval: a supervisor is offered the answer to a change that is as
// small as the owner left to them, and to no larger one; its words are read by those
// who decide and by their author, and by nobody else.
func TestDelegatedApproval(t *testing.T) {
	d := playDeskBy(t, "11:45", func(p *workflow.Policy) {
		p.Delegated = map[string]workflow.Delegation{"house": {Units: 2, Percent: 100}}
	})
	give := func(id, badge, kind, body string) {
		t.Helper()
		a := d.pages.Floor.Ask(t.Context(), workflow.Command{ID: id, Type: kind, Badge: badge, Basis: events.Keyed, Data: []byte(body)})
		if a.Err() != nil {
			t.Fatalf("%s: %v", kind, a.Err())
		}
	}
	for i, b := range []string{`"sven","roles":["supervisor"]`, `"arno","roles":["auditor"]`} {
		give(fmt.Sprintf("PHONE-1/d/%d", i+1), "odile", "enrol-badge", `{"badge":`+b+`}`)
	}
	line := lineOf(t, d, "house")
	maren, sven, arno := d.as("maren"), d.as("sven"), d.as("arno")
	propose := func(delta int, reason string) {
		t.Helper()
		if status, body := maren.post("/act", url.Values{"id": {fmt.Sprintf("BOARD/form-x%d/1", -delta)}, "type": {"propose"}, "s.plan": {"P-01"}, "s.reason": {reason},
			"j.changes": {fmt.Sprintf(`[{"carton":%q,"item":%q,"owner":"house","delta":%d}]`, line[0], line[1], delta)}}); status != http.StatusOK {
			t.Fatalf("%d %s", status, body)
		}
	}
	propose(-3, "tobi let three fall")
	propose(-1, "tobi let one fall")
	if body := sven.opens("/change/PC-02"); strings.Contains(body, "Approve") || strings.Contains(body, "obi let three") || !strings.Contains(body, "told to those who decide it") {
		t.Error("more than was delegated is offered, or its words are shown")
	}
	arno.opens("/change/PC-03", "told to those who decide it")
	if body := arno.opens("/plans"); strings.Contains(body, "let one fall") || strings.Contains(body, "let three fall") {
		t.Error("the auditor reads the words of a change")
	}
	sven.opens("/change/PC-03", "Tobi let one fall", "Yours: 1 piece", "Approve")
	if status, body := sven.sends("/change/PC-03", "approve", nil); status != http.StatusOK || !strings.Contains(body, "It stands in the log.") {
		t.Fatalf("%d %s", status, body)
	}
	sven.opens("/change/PC-03", "Already approved at", "Tobi let one fall")
	if line, ok := d.story("plan.", `delegation`); !ok {
		t.Errorf("the log does not say that it was by delegation: %s", line)
	}
}

// lineOf gives the carton and item of a line of an owner's whose carton is not sealed.
func lineOf(t *testing.T, d *deskDay, owner string) (line [2]string) {
	t.Helper()
	_ = d.Look(t.Context(), "", func(v View) error {
		plan, err := v.PlanAt("P-01", 0)
		if err != nil {
			t.Fatal(err)
		}
		for _, l := range plan.Lines {
			if held, ok := v.Contents(l.Carton); ok && held.Seal == "" && l.Owner == owner && l.Q > 4 {
				line = [2]string{l.Carton, l.Item}
			}
		}
		return nil
	})
	return line
}

package web

import (
	"net/http"
	"net/url"
	"strings"
	"testing"
)

// TestClaims: what the log answers, how sure it is, and what nobody can say.
func TestClaims(t *testing.T) {
	d := playDesk(t, "")
	maren := d.as("maren")
	maren.opens("/claimed", "CL-01", "damaged: M-0019-X", "closed · unknown", "Open a claim")
	maren.opens("/claimed/CL-01", "One piece, exactly", "run R-07, unit 5, at ST-2", "r4, recipe window figure", "BW-18", "from which roll", "seal 000412 was seen",
		"What intake saw", "lot L-02", "What nobody can say", "It is closed.")
	maren.opens("/claimed/CL-02", "One of 12; the log cannot say which", "<b>strong</b> it left complete", "What would defeat this:", "No weight is known after it left.")
	maren.opens("/claimed/CL-02/statement", "What this rests on", "packwright verify FILE --key KEY", "set of 12")
	if status, _ := maren.get("/claimed/CL-09"); status != http.StatusNotFound {
		t.Errorf("an unknown claim: %d", status)
	}
	for _, badge := range []string{"ife", "quill"} {
		if status, _ := d.as(badge).get("/claimed/CL-01"); status != http.StatusForbidden {
			t.Errorf("%s reads a claim: %d", badge, status)
		}
	}
}

// TestClaimWorked: a claim from its opening to its end, by forms alone.
func TestClaimWorked(t *testing.T) {
	d := playDesk(t, "")
	maren := d.as("maren")
	does := func(page, kind string, more url.Values, want int) {
		t.Helper()
		if status, body := maren.sends(page, kind, more); status != want {
			t.Errorf("%s %s: %d %s", page, kind, status, body)
		}
	}
	open := url.Values{"s.kind": {"short"}, "s.given.item": {"BND"}, "s.given.carton": {"C-14"}, "n.qty": {"1"}, "m.amount_minor": {"700"}, "x.given.order_ref_digest": {"77-12"}, "t.due": {"2031-05-30"}}
	does("/claimed", "open-claim", open, http.StatusOK)
	does("/claimed", "open-claim", open, http.StatusOK)
	body := maren.opens("/claimed/CL-03", "<b>weak</b> it cannot be shown that it left complete", "The answer is due in", "Perhaps the same", "CL-04")
	if strings.Contains(body, "77-12") {
		t.Error("the order number itself was kept")
	}
	does("/claimed/CL-03", "trace-claim", nil, http.StatusOK)
	body = maren.opens("/claimed/CL-03", "item BND, carton C-14: set of 12", "One of 12; the log cannot say which", "What came to light")
	if strings.Contains(body, "Close it") {
		t.Error("what is not decided is offered to be closed")
	}
	does("/claimed/CL-03", "note-claim", url.Values{"s.text": {"the carrier weighed it too"}}, http.StatusOK)
	maren.opens("/claimed/CL-03", "the carrier weighed it too")
	does("/claimed/CL-04", "link-claim", url.Values{"s.dup_of": {"CL-03"}}, http.StatusOK)
	maren.opens("/claimed/CL-04", "It repeats", "answered there")
	does("/claimed/CL-03", "decide-claim", url.Values{"s.finding": {"unknown"}, "x.statement_digest": {"what was sent"}}, http.StatusOK)
	does("/claimed/CL-03", "close-claim", nil, http.StatusOK)
	maren.opens("/claimed/CL-03", "It is closed.")
	does("/claimed", "open-claim", url.Values{"s.kind": {"damaged"}, "s.given.mark": {"M-9999"}, "n.qty": {"1"}}, http.StatusOK)
	maren.opens("/claimed/CL-05", "Nothing here matches", "M-9999")
	if status, body := maren.sends("/claimed", "open-claim", url.Values{"s.kind": {"damaged"}, "n.qty": {"one"}}); status != http.StatusBadRequest || !strings.Contains(body, "is no whole number") {
		t.Errorf("a word for a number: %d %s", status, body)
	}
}

package web

import (
	"net/http"
	"net/url"
	"strconv"
	"strings"
	"testing"

	"packwright/prep"
)

// TestWrong: the four numbers, what explains them, and who may do what, as the
// day stood at 17:41.
func TestWrong(t *testing.T) {
	d := playDesk(t, "17:41")
	maren, odile := d.as("maren"), d.as("odile")
	maren.opens("/wrong", "NO-GO", "C-07 is blocked by X-02", "C-07 is short", "20 counted of 21 scanned", "maren has it")
	page := maren.opens("/wrong/X-02", "X-02 · C-07 is short", "maren has it since 17:41", ">11\u2009827 <small>g", "1 fewer than the scans",
		"303 g light", "9.3 times that off", "One wool otter plush is missing", "predicts −310 g and 20 pieces", "ruled out", "≈ 1.00", "0.73",
		"The count decides, 20 of 21 scanned", "What this scale can see", "until quill answers", "find-and-add", "Leave C-07 behind", "13 cartons go")
	if strings.Contains(page, "0.00") {
		t.Error("a chance is written 0.00")
	}
	if strings.Contains(page, "Take X-02") {
		t.Error("what one has is offered to be taken")
	}
	if strings.Contains(page, `value="send-short"`) {
		t.Error("a supervisor is offered what is the owner's")
	}
	maren.opens("/wrong/C-07", "X-02 · C-07 is short")
	maren.opens("/wrong/C-01", "nothing is wrong", "No question is open about it.")
	odile.opens("/wrong/X-02", "Already being handled:", "maren has it since 17:41", "A note")
	if status, body := maren.get("/wrong/X-99"); status != http.StatusNotFound || !strings.Contains(body, "X-99") {
		t.Errorf("an unknown matter: %d %s", status, body)
	}
	for _, badge := range []string{"ife", "quill"} {
		if status, _ := d.as(badge).get("/wrong/X-02"); status != http.StatusForbidden {
			t.Errorf("%s opens the matter: %d", badge, status)
		}
	}
}

// TestWrongActs: forms become commands once; what is another's is refused.
func TestWrongActs(t *testing.T) {
	d := playDesk(t, "17:41")
	maren, odile := d.as("maren"), d.as("odile")
	form, action := formIn(maren.opens("/wrong/X-02"), "note")
	form.Set("s.text", "looked at the rework shelf")
	for i, want := range []string{"It stands in the log.", "It was done before."} {
		if status, body := maren.post(action, form); status != http.StatusOK || !strings.Contains(body, want) {
			t.Errorf("press %d: %d, want %q in %s", i+1, status, want, body)
		}
	}
	maren.opens("/wrong/X-02", "looked at the rework shelf")
	status, body := maren.sends("/wrong/X-02", "resolve", url.Values{"s.resolution": {"find-and-add"}})
	if status != http.StatusConflict || !strings.Contains(body, "No second count since it was fixed.") {
		t.Errorf("closed without a count: %d %s", status, body)
	}
	form, action = formIn(maren.opens("/wrong/X-02"), "note")
	form.Set("type", "take")
	form.Set("id", "PHONE-1/form-abc/1")
	if status, body = odile.post(action, form); status != http.StatusConflict || !strings.Contains(body, "Already being handled since 17:41:00.") {
		t.Errorf("two take one matter: %d %s", status, body)
	}
	status, body = maren.sends("/wrong/X-02", "override", url.Values{"s.gate": {"third-counter"}, "s.reason_code": {"hands"}, "s.text": {"nobody else is here"}, "s.scope.carton": {"C-07"}})
	if status == http.StatusOK {
		t.Errorf("leave without the PIN again: %d %s", status, body)
	}
	if err := d.pages.Entry.SetPIN("maren", "2580", false); err != nil {
		t.Fatal(err)
	}
	status, body = maren.sends("/wrong/X-02", "override", url.Values{"s.gate": {"third-counter"}, "s.reason_code": {"hands"}, "s.text": {"nobody else is here"},
		"s.scope.carton": {"C-07"}, "n.minutes": {"30"}, "pin": {"2580"}})
	if status != http.StatusOK {
		t.Errorf("leave with the PIN: %d %s", status, body)
	}
}

// TestChanceBars: what would be written 0.00 is ruled out, what would be 1.00 is nearly so.
func TestChanceBars(t *testing.T) {
	for _, c := range []struct {
		p    float64
		out  bool
		text string
		w    float64
	}{{0.0001, false, "ruled out", 0}, {0.004, false, "ruled out", 0}, {0.005, false, "0.01", 1}, {0.273, false, "0.27", 60}, {0.994, false, "0.99", 219},
		{0.9951, false, "≈ 1.00", 220}, {0.5, true, "ruled out", 0}} {
		if got := chanceBar(prep.FixedOf(c.p), c.out); got.Text != c.text || got.W != c.w {
			t.Errorf("%v %v: %+v", c.p, c.out, got)
		}
	}
}

// TestStrokes: a stroke is one piece, however many there are.
func TestStrokes(t *testing.T) {
	for _, groups := range [][]Pieces{nil, {{}}, {{There: 21}}, {{There: 15}, {There: 5, Missing: 1}}, {{There: 200, Extra: 3}},
		{{There: 24}, {There: 30}, {There: 1}}, {{1, 0, 0}, {1, 0, 0}, {1, 0, 0}, {1, 0, 0}, {1, 0, 0}, {1, 0, 0}, {1, 0, 0}, {40, 0, 0}, {3, 0, 0}}} {
		s := strokesOf(groups)
		want, missing := 0, 0
		for _, g := range groups {
			want, missing = want+g.There+g.Extra, missing+g.Missing
		}
		got := 0
		for _, l := range s.Lines {
			got += strokesIn(t, l)
			if l.X1 < 0 || l.X2 > s.W || l.Y+l.H/2 > s.H+0.1 {
				t.Errorf("%v: %+v is outside", groups, l)
			}
		}
		if got != want || len(s.Ghosts) != missing {
			t.Errorf("%v: %d strokes, %d ghosts", groups, got, len(s.Ghosts))
		}
	}
}

// strokesIn counts the strokes that a browser would draw of a dashed line.
func strokesIn(t *testing.T, l StrokeLine) int {
	t.Helper()
	var dash, gap float64
	ink, rest, ok := strings.Cut(l.Dash, " ")
	if !ok {
		t.Fatalf("dashes %q", l.Dash)
	}
	dash, gap = floatOf(t, ink), floatOf(t, rest)
	return int((l.X2-l.X1+gap)/(dash+gap) + 0.5)
}

func floatOf(t *testing.T, s string) float64 {
	t.Helper()
	v, err := strconv.ParseFloat(s, 64)
	if err != nil {
		t.Fatal(err)
	}
	return v
}

// TestWrongLive: what is sent again holds no form, which is one person's alone.
func TestWrongLive(t *testing.T) {
	d := playDesk(t, "17:41")
	for _, of := range []string{"", "X-02", "C-01"} {
		var parts []Part
		err := d.Look(t.Context(), "", func(v View) (err error) {
			parts, err = d.pages.wrongParts(t.Context(), v, of)
			return err
		})
		if err != nil || len(parts) < 4 {
			t.Errorf("%q: %d parts, %v", of, len(parts), err)
		}
		all := ""
		for _, p := range parts {
			all += wrapped.ReplaceAllString(p.HTML, "$1")
		}
		for _, want := range map[string][]string{"": {"C-07 is short", "maren has it", "Open questions"},
			"X-02": {"maren has it since 17:41", "9.3 times that off", "What may be done", "13 cartons go", "The numbers of C-07"}, "C-01": {`id="wrong-ways" hidden`}}[of] {
			if !strings.Contains(all, want) {
				t.Errorf("%q: what is sent again has no %q", of, want)
			}
		}
		for _, p := range parts {
			if strings.Contains(p.HTML, "<form") || strings.Contains(p.HTML, "<input") {
				t.Errorf("%q: the part %s holds a form", of, p.ID)
			}
			if !strings.Contains(p.HTML, `id="`+p.ID+`"`) {
				t.Errorf("%q: the part %s has another id", of, p.ID)
			}
		}
	}
	if err := d.Look(t.Context(), "", func(v View) error { _, err := d.pages.wrongParts(t.Context(), v, "X-99"); return err }); err == nil {
		t.Error("an unknown matter has parts")
	}
}

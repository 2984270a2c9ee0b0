package web

import (
	"bytes"
	"encoding/json"
	"fmt"
	"net/http"
	"strings"
	"testing"
	"time"
)

// playFilm plays the day and lets its pages read the log again.
func playFilm(t *testing.T, until string) *deskDay {
	d := playDesk(t, until)
	d.pages.Frames = d.log
	return d
}

// TestDay: at each moment the boxes stand as they stood.
func TestDay(t *testing.T) {
	d := playFilm(t, "")
	maren := d.as("maren")
	maren.opens("/day", "17:5", "left on LD-1", "X-01", "X-02", "rules r5", "plan r2", "Pieces in each stage, by the hour", "<th scope=\"row\">11:00</th>")
	for at, says := range map[string][]string{
		"08:30":    {">C-07</b> <span>planned"},
		"13:52:53": {">C-02</b> <span>blocked by X-01"},
		"17:41":    {">C-07</b> <span>blocked by X-02", "C-07 is blocked: 21 scanned, 20 counted.", "maren has it"},
	} {
		maren.opens("/day?at="+at, says...)
	}
	if page := maren.opens("/day?at=17:41"); strings.Contains(page, "left on LD-1") {
		t.Error("at 17:41 a carton has left already")
	}
	for bad, says := range map[string]string{"/day?day=2031-03-05": "nothing was recorded on 2031-03-05", "/day?at=elevenish": "no hour", "/day?day=tuesday": "no day"} {
		if status, body := maren.get(bad); status != http.StatusBadRequest || !strings.Contains(strings.ToLower(body), says) {
			t.Errorf("%s: %d %s", bad, status, body)
		}
	}
	if status, _ := d.as("quill").get("/day"); status != http.StatusForbidden {
		t.Errorf("a client sees the day: %d", status)
	}
}

// TestDayIsTheBoardOfThen: each step shows the stages that a reading of the log up
// to that moment has.
func TestDayIsTheBoardOfThen(t *testing.T) {
	d := playFilm(t, "")
	maren := d.as("maren")
	_, body := maren.get("/day/steps")
	var stops []struct {
		T    int
		C, W string
	}
	if err := json.Unmarshal([]byte(body), &stops); err != nil || len(stops) < 400 {
		t.Fatalf("%d stops: %v", len(stops), err)
	}
	f, err := d.pages.films.of(t.Context(), d.log, "2031-03-04")
	if err != nil {
		t.Fatal(err)
	}
	for i := 0; i < len(f.steps); i += 97 {
		s := f.steps[i]
		until, err := untilThen(t, d, s.At)
		if err != nil {
			t.Fatal(err)
		}
		if last := i == len(f.steps)-1 || f.steps[i+1].At != s.At; last && fmt.Sprint(until.Stages) != fmt.Sprint(s.Still.stages) {
			t.Errorf("step %d at %s: %v, a reading up to then says %v", i, s.At, s.Still.stages, until.Stages)
		}
	}
}

// TestDayStepIsQuick: a slider asks for many steps; the log is read once.
func TestDayStepIsQuick(t *testing.T) {
	d := playFilm(t, "")
	maren := d.as("maren")
	began := time.Now()
	maren.get("/day/board?step=0")
	first := time.Since(began)
	began = time.Now()
	const n = 100
	for i := range n {
		if status, body := maren.get(fmt.Sprintf("/day/board?step=%d", i*5)); status != http.StatusOK || !strings.Contains(body, "day-boxes") {
			t.Fatalf("%d %s", status, body)
		}
	}
	t.Logf("the first step, with the film: %s; each of %d more: %s (Look of this test reads the log anew each time)", first, n, time.Since(began)/n)
	before := len(d.pages.films.list)
	if before != 1 {
		t.Errorf("%d films of one day", before)
	}
}

func TestDayEmpty(t *testing.T) {
	p := (&Pages{}).Open()
	var b bytes.Buffer
	if err := p.sheets["day"].ExecuteTemplate(&b, "layout", dayPage{}); err != nil {
		t.Error(err)
	}
}

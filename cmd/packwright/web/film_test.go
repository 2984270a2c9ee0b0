package web

import (
	"os"
	"testing"
	"time"

	"packwright/events/memlog"
	"packwright/testdata/floors"
)

// TestFilmOfALongDay: a day of very many frames keeps a bounded number of stills,
// and a step of the slider costs no reading of the log. PACKWRIGHT_LONG=1 takes
// 100,000 events.
func TestFilmOfALongDay(t *testing.T) {
	n := 8000
	if os.Getenv("PACKWRIGHT_LONG") == "1" {
		n = 100_000
	}
	log := memlog.New()
	size, frames, err := floors.WriteLog(t.Context(), log, 7, n, 1)
	if err != nil {
		t.Fatal(err)
	}
	var days films
	const day = "2031-03-01" // a second a command, from five in the morning
	began := time.Now()
	f, err := days.of(t.Context(), log, day)
	if err != nil {
		t.Fatal(err)
	}
	made := time.Since(began)
	if len(f.steps) == 0 || len(f.steps) >= 2*mostSteps {
		t.Errorf("%d stills", len(f.steps))
	}
	for i := 1; i < len(f.steps); i++ {
		if f.steps[i].At.Before(f.steps[i-1].At) {
			t.Fatalf("still %d is before the one before it", i)
		}
	}
	p := (&Pages{}).Open()
	began = time.Now()
	const asked = 200
	for i := range asked {
		g, err := days.of(t.Context(), log, day)
		if err != nil {
			t.Fatal(err)
		}
		if _, err := p.parts("day", shownAt(g, i*len(g.steps)/asked), "day-now", "day-boxes"); err != nil {
			t.Fatal(err)
		}
	}
	t.Logf("%d events in %d frames, %d of the day %s: film in %s, %d stills, %s apart; then a step in %s; %d cartons at the end",
		size, frames, f.frames, day, made.Round(time.Millisecond), len(f.steps), f.gap, (time.Since(began) / asked).Round(10*time.Microsecond), len(f.steps[len(f.steps)-1].Still.boxes))
}

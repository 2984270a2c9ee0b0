package web

import (
	"fmt"
	"regexp"
	"strings"
	"testing"
	"time"

	"packwright/events"
	"packwright/prep"
	"packwright/workflow"
)

// Every drawing of a bench, full and empty: it is whole, and no class, id or name
// is left open.
func TestBenchStagesFullAndEmpty(t *testing.T) {
	p := (&Pages{}).Open()
	run := &workflow.RunShown{Run: "R-09", Tote: "T-09", Item: "PUZ", Name: `A "name" <b>with</b> signs`, Fetch: "card-slip", Left: 3, Made: 2, Spoiled: 1, Surface: "card",
		Cautions: []prep.Caution{{Signal: prep.SignalDanger, About: "cell", Text: "d"}, {Signal: prep.SignalWarning, About: "nothing known", Text: "w"}, {Signal: prep.SignalNotice, About: "stains", Text: "n"}, {Signal: prep.SignalNotice, About: "film", Text: "n2"}},
		May:      []workflow.MayShown{{Means: prep.ColdPeel, May: true, How: "first"}, {Means: prep.Spray, How: "never"}},
		Labels:   []workflow.LabelShown{{Kind: events.ItemLabel, Printed: 6, Used: 2, Spoiled: 1}, {Kind: events.CartonLabel}}}
	for i := range 9 {
		run.Steps = append(run.Steps, workflow.StepShown{Step: prep.Step{ID: fmt.Sprint(i), Phase: prep.Phase(i), Text: "Do it."}, Done: i < 3, Now: i == 4, How: "Then DONE."})
	}
	full := workflow.Shows{Hand: workflow.HandRun, Wants: "A second scan.", Next: []string{"READY", "DONE"}, Typed: "12", Matter: "X-01", Run: run, Carton: "C-09", Tally: 7, From: "T-09", Load: "LD-1", Loaded: 2,
		Waits: []workflow.Waiting{{Scan: "C-09", What: "carton", State: "open"}}, Kept: &workflow.LastKept{Piece: "M-0001-A", Carton: "C-09", In: 7, At: events.At(time.Now())}}
	empty := workflow.Shows{Run: &workflow.RunShown{}}
	for stage, data := range map[string][]any{
		"stage-who":  {nil},
		"stage-free": {full, workflow.Shows{}}, "stage-seal": {full, workflow.Shows{}}, "stage-load": {full, workflow.Shows{}},
		"stage-place": {placing{full, gates(7, 340, 240)}, placing{}},
		"stage-run":   {runDrawn(full), runDrawn(empty)},
		"stage-count": {workflow.CountSheet{Carton: "C-09", Lines: []workflow.CountItem{{Item: "A", Name: "a <b>"}, {Item: "B", Name: "b", Counted: true}}, Typed: "12", Second: true}, workflow.CountSheet{Scale: true, InHand: true}, workflow.CountSheet{}},
	} {
		for i, v := range data {
			html, err := p.part("bench", stage, v)
			if err != nil {
				t.Errorf("%s %d: %v", stage, i, err)
			}
			if bad := regexp.MustCompile(`<b>with|="[^"]*<no value>|%!|ZgotmplZ| style=| onclick=`).FindString(html); bad != "" {
				t.Errorf("%s %d holds %q", stage, i, bad)
			}
			if open, closed := strings.Count(html, "<svg"), strings.Count(html, "</svg"); open != closed {
				t.Errorf("%s %d opens %d drawings and closes %d", stage, i, open, closed)
			}
		}
	}
}

// Strokes stand for pieces, one for one, however many there are, and stay in the box.
func TestGatesAreOnePieceAStroke(t *testing.T) {
	for n := range 400 {
		g := gates(n, 340, 240)
		strokes := strings.Count(g.Old, "M") + strings.Count(g.New, "M")
		if strokes != n || n > 0 && strings.Count(g.New, "M") != 1 {
			t.Fatalf("%d pieces are %d strokes", n, strokes)
		}
		for _, m := range regexp.MustCompile(`M([-0-9.]+) ([-0-9.]+)`).FindAllStringSubmatch(g.Old+g.New, -1) {
			var x, y float64
			if _, err := fmt.Sscan(m[1], &x); err != nil {
				t.Fatal(err)
			}
			if _, err := fmt.Sscan(m[2], &y); err != nil {
				t.Fatal(err)
			}
			if x < 0 || x > 340 || y < 0 || y > 240 {
				t.Fatalf("of %d pieces one stands at %g, %g", n, x, y)
			}
		}
	}
}

// Every caution and step of the default rulebook has a drawing of its own, and
// there is one for what no table knows.
func TestEveryDangerHasADrawing(t *testing.T) {
	p := (&Pages{}).Open()
	seen := map[string]string{}
	for _, pics := range []map[string]string{platePics} {
		for about, pic := range pics {
			seen[pic] = about
		}
	}
	for _, pic := range meansPics {
		seen[pic] = pic
	}
	for _, pic := range phasePics {
		seen[pic] = pic
	}
	stop, err := p.part("bench", "pic", "no such drawing")
	if err != nil || !strings.Contains(stop, "<path") {
		t.Fatalf("what no table knows is drawn as %q: %v", stop, err)
	}
	for pic, about := range seen {
		html, err := p.part("bench", "pic", pic)
		if err != nil || pic != "stop" && html == stop {
			t.Errorf("%s (of %s) has no drawing of its own: %v", pic, about, err)
		}
	}
}

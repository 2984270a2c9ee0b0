package web

import (
	"context"
	"fmt"
	"net/http"
	"slices"
	"strings"
	"time"

	"packwright/audit"
	"packwright/cmd/packwright/door"
	"packwright/events"
)

// boardPage answers "where are we?".
type boardPage struct {
	Sheet
	Go      Verdict
	Rest    *Verdict // of the cartons that stand well while others stop the truck
	Bands   []Band
	Left    []audit.StageCount // pieces that left the road
	Sum     int                // pieces in the books; those used in bundles are counted in these
	Boxes   []Box
	Benches []BenchLine
	Waits   []Wait
	Codes   []Code // codes that join a bench; empty for those who may not see them
	May     bool   // may ask for a code
	Cartons []audit.BoardCarton
	Loads   []audit.BoardLoad
	Runs    []audit.BoardRun
}

// Verdict is the first thing to read: go or not, and why.
type Verdict struct {
	Word   string // GO, NO-GO
	Sign   string // of the four outcomes
	Why    string
	More   []string
	Matter *audit.BoardMatter // what to settle first
	Truck  string
}

// Band is one stage of the road with its pieces.
type Band struct {
	Stage  string
	N      int
	Y      float64 // of its base line
	Tally  *Tally
	NoteX  float64
	Note   string
	Class  string
	Blocks bool // too many to draw one by one
}

// BenchLine is one bench as the board tells of it.
type BenchLine struct {
	Bench, Badge, Does, Seen string
	Hot                      bool
}

// Wait is something that waits for a person.
type Wait struct{ Name, Text, Path string }

// Code joins one browser as a bench.
type Code struct{ Station, Digits string }

// board shows the floor as it stands, or stood. Who may not read it is shown the
// page that is theirs.
func (p *Pages) board(w http.ResponseWriter, r *http.Request) {
	who := door.WhoOf(r.Context())
	if who.As()&door.Readers == 0 {
		http.Redirect(w, r, ownPage(who), http.StatusSeeOther)
		return
	}
	var page boardPage
	err := p.Log.Look(r.Context(), p.at(r), func(v View) error {
		page = p.boardOf(r.Context(), v)
		return nil
	})
	if page.At = p.at(r); page.At == "" {
		page.Live = "board"
	}
	p.showOr(w, r, err, "board", page)
}

// ownPage is where somebody goes who does not read the board.
func ownPage(who door.Who) string {
	switch {
	case who.As()&door.Client != 0:
		return "/plans"
	case who.As()&door.Hands != 0 || who.Bench:
		return "/bench"
	}
	return "/sign-in"
}

// boardOf fills the page from the fold.
func (p *Pages) boardOf(ctx context.Context, v View) boardPage {
	b := v.Board(v.Now)
	page := boardPage{Sheet: p.sheet(ctx, v, b.Floor), Cartons: b.Cartons, Loads: b.Loads, Runs: b.Runs}
	page.Nav, page.Table, page.Where = "/", "table", page.Where+" · board"
	page.Styles = []string{"board.css"}
	page.Boxes = boxesOf(v, b)
	page.Bands, page.Left, page.Sum = bandsOf(b)
	page.Go, page.Rest = verdictOf(v, b)
	page.Benches, page.Waits = benchLines(b), waitsOf(b)
	if page.Who.As()&door.Desk != 0 {
		page.May = page.Who.As()&(door.Supervisor|door.Owner) != 0
		page.Codes = codesOf(p.Entry.Codes())
	}
	return page
}

// boxesOf draws each carton, what stops the truck first.
func boxesOf(v View, b audit.Board) []Box {
	out := make([]Box, 0, len(b.Cartons))
	small := len(b.Cartons) > 42
	for _, c := range b.Cartons {
		var lines []Fill
		if whole, ok := v.Contents(c.Carton); ok && !small {
			lines = fills(whole)
		}
		box := boxOf(c, lines)
		box.Small = small
		out = append(out, box)
	}
	return out
}

// road are the stages that are always drawn, and in this order.
var road = []events.Stage{events.Received, events.Triaged, events.Prepped, events.Counted, events.Sealed, events.Dispatched}

// Where bands are drawn: names and numbers stand before them, in sight on a phone too.
const (
	bandX, bandWide  = 250, 430
	bandStep, bandUp = 31, 26
)

// bandsOf draws the road; what is on no road is listed beside it.
func bandsOf(b audit.Board) (bands []Band, left []audit.StageCount, sum int) {
	n, most := map[events.Stage]int{}, 0
	for _, s := range b.Stages {
		if n[s.Stage] = s.N; s.Stage != events.Consumed {
			sum += s.N // what went into bundles is counted in them
		}
		if slices.Contains(road, s.Stage) {
			most = max(most, s.N)
		} else {
			left = append(left, s)
		}
	}
	stops, where := stoppedPieces(b)
	for i, s := range road {
		band := Band{Stage: string(s), N: n[s], Y: float64(bandUp + i*bandStep), NoteX: bandX, Class: "st"}
		switch {
		case s == events.Prepped && stops > 0:
			band.Class, band.Note = "st no", fmt.Sprintf("%d of them %s, by the scans", min(stops, n[s]), where)
			if stops >= n[s] {
				band.Note = fmt.Sprintf("all %s, by the scans", where)
			}
		case s == events.Sealed || s == events.Dispatched:
			band.Class = "st kept"
		}
		if n[s] > 0 {
			field := Field{X: bandX, Y: band.Y - 23, Wide: bandWide, High: 22, Full: most, Pitch: 3.8}
			t := field.strokes(0, n[s], band.Class)
			band.Tally, band.NoteX, band.Blocks = &t, t.X2+12, t.Dash == ""
		}
		bands = append(bands, band)
	}
	return bands, left, sum
}

func stoppedPieces(b audit.Board) (n int, where string) {
	for _, c := range b.Cartons {
		if c.State != audit.Blocked || c.Scanned == 0 {
			continue
		}
		if n += c.Scanned; where == "" {
			where = "in " + c.Carton
		} else {
			where = "blocked"
		}
	}
	return n, where
}

// verdictOf says go or not, with what stands in the way and who has it.
func verdictOf(v View, b audit.Board) (Verdict, *Verdict) {
	g := Verdict{Word: "NO-GO", Sign: "no", Truck: truckWords(b)}
	if b.Go.Go {
		g.Word, g.Sign = "GO", "kept"
	}
	if len(b.Go.Reasons) > 0 {
		g.Why, g.More = b.Go.Reasons[0], b.Go.Reasons[1:]
	}
	if !b.Go.Go && len(b.Cartons) == 0 {
		return g, nil
	}
	for i, m := range b.Open {
		if m.Blocks && g.Matter == nil {
			g.Matter = &b.Open[i]
		}
	}
	stopped, done := 0, 0
	for _, c := range b.Cartons {
		switch c.State {
		case audit.Blocked:
			if stopped++; stopped == 1 {
				g.Why = stopWords(v, c)
			}
		case audit.Sealed, audit.Dispatched:
			done++
		}
	}
	if stopped == 0 && !b.Go.Go {
		g.Why, g.More = fmt.Sprintf("%d of %d cartons are not sealed yet.", len(b.Cartons)-done, len(b.Cartons)), lateOnly(g.More)
	}
	if stopped > 1 {
		g.Why += fmt.Sprintf(" %d more are blocked.", stopped-1)
	}
	g.More = slices.DeleteFunc(slices.Clone(g.More), func(s string) bool { return strings.Contains(s, " is blocked by ") })
	if b.Go.Go || done == 0 {
		return g, nil
	}
	return g, &Verdict{Word: "GO", Sign: "kept", Why: fmt.Sprintf("for %d of %d:", done, len(b.Cartons)), More: []string{"sealed, nothing open."}}
}

// lateOnly leaves of the reasons what the truck says.
func lateOnly(reasons []string) []string {
	return slices.DeleteFunc(slices.Clone(reasons), func(s string) bool { return !strings.Contains(s, " was due ") })
}

// stopWords says what is known of a blocked carton's numbers.
func stopWords(v View, c audit.BoardCarton) string {
	s := fmt.Sprintf("%s is blocked: %d scanned", c.Carton, c.Scanned)
	if whole, ok := v.Contents(c.Carton); ok && whole.Counted != nil {
		s += fmt.Sprintf(", %d counted", *whole.Counted)
	}
	return s + "."
}

// truckWords says how long it is to the next truck.
func truckWords(b audit.Board) string {
	for _, l := range b.Loads {
		switch {
		case l.Due.IsZero():
			continue
		case l.Minutes < 0:
			return fmt.Sprintf("truck %s was due %s, %s ago", l.Load, clockOf(l.Due), minutes(-l.Minutes))
		default:
			return fmt.Sprintf("truck %s at %s, in %s", l.Load, clockOf(l.Due), minutes(l.Minutes))
		}
	}
	return ""
}

// minutes says a length of time as people do.
func minutes(n int) string {
	switch d := time.Duration(n) * time.Minute; {
	case n < 120:
		return fmt.Sprintf("%d min", n)
	case d < 48*time.Hour:
		return fmt.Sprintf("%d h %02d min", n/60, n%60)
	default:
		return fmt.Sprintf("%d days", n/60/24)
	}
}

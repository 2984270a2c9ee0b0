package web

import (
	"context"
	"crypto/rand"
	"fmt"
	"html/template"
	"strings"

	"packwright/cmd/packwright/door"
	"packwright/workflow"
)

// The phases of a bench: what its page is about.
const (
	phaseWho   = "who"   // nobody is signed in
	phaseFree  = "free"  // nothing is in hand
	phaseRun   = "run"   // a run: danger first, then the steps
	phasePlace = "place" // pieces go into a carton
	phaseCount = "count" // blind
	phaseSeal  = "seal"  // counted: label, weigh, seal
	phaseLoad  = "load"  // cartons go onto a truck
)

// benchState is all that a bench is told, whatever it asks.
type benchState struct {
	Station string        `json:"station"`
	Badge   string        `json:"badge,omitempty"`
	Phase   string        `json:"phase"`
	About   string        `json:"about"`           // the thing in hand, for the head
	Doing   string        `json:"doing,omitempty"` // what is done with it
	Last    workflow.Said `json:"last"`            // the last sentence, for a page that was loaded again
	Look    string        `json:"look,omitempty"`  // what to look at when the hub or the page was away; never while blind
	Hub     string        `json:"hub"`             // which run of the hub answers
	Stage   template.HTML `json:"stage"`           // the drawing
	Cards   []cardShown   `json:"cards"`
	Lasting *lasting      `json:"lasting,omitempty"` // never while blind, or while nobody is signed in
}

// cardShown is an action card on the page: a button that does what the printed
// card does.
type cardShown struct {
	Word string `json:"word"` // as people read it
	Scan string `json:"scan"` // what the printed card says to a reader
	Says string `json:"says"`
}

// benchPage is the page.
type benchPage struct {
	Sheet
	benchState
}

// hubRun names this run of the program: a bench that sees another knows that the
// hub was away.
var hubRun = rand.Text()[:8]

// benchState draws what a bench may see now. Whether it is blind is asked first,
// in the same look: a blind bench's page is made from a struct without numbers.
func (p *Pages) benchState(ctx context.Context, who door.Who) (s benchState, err error) {
	s = benchState{Station: who.Station, Badge: who.Badge, Hub: hubRun}
	stage, safe := "", p.safeSince()
	gone := p.Reader.Look(ctx, who.Station, func(f *workflow.Floor, b *workflow.Bench, last workflow.Said) {
		sheet, blind := b.CountSheet(f)
		switch {
		case who.Badge == "":
			s.Phase, s.Doing = phaseWho, "Who are you?"
			stage, err = p.part("bench", "stage-who", nil)
		case blind:
			s.Phase, s.About, s.Doing, s.Last = phaseCount, sheet.Carton, "counting", b.Veil(f, last)
			s.Cards = cardsOf([]string{"TAKE-OUT", "HELP"})
			stage, err = p.part("bench", "stage-count", sheet)
		default:
			s.Last, s.Lasting = last, p.lastingOf(f, safe)
			stage, err = p.drawOpen(&s, b.Shows(f))
		}
	})
	s.Stage = template.HTML(stage) // from our own template
	if gone != nil {
		return s, gone
	}
	return s, err
}

// drawOpen draws the page of a bench that may see numbers.
func (p *Pages) drawOpen(s *benchState, show workflow.Shows) (string, error) {
	s.Cards = cardsOf(show.Next)
	if k := show.Kept; k != nil && show.Hand == workflow.HandCarton && show.Carton == k.Carton {
		s.Look = fmt.Sprintf("Last kept: %s into %s, %s. Look in the carton: %s?", k.Piece, k.Carton, k.At.Std().Format("15:04:05"), pieces(k.In))
	}
	switch {
	case show.Hand == workflow.HandRun:
		s.Phase, s.About, s.Doing = phaseRun, show.Run.Run, "run"
		return p.part("bench", "stage-run", runDrawn(show))
	case show.Hand == workflow.HandCarton:
		s.Phase, s.About, s.Doing = phasePlace, show.Carton, "placing into"
		return p.part("bench", "stage-place", placing{show, gates(show.Tally, 340, 240)})
	case show.Hand == workflow.HandCount:
		s.Phase, s.About, s.Doing = phaseSeal, show.Carton, "sealing"
		return p.part("bench", "stage-seal", show)
	case show.Hand == workflow.HandLoad:
		s.Phase, s.About, s.Doing = phaseLoad, show.Load, "loading"
		return p.part("bench", "stage-load", show)
	}
	s.Phase, s.Doing = phaseFree, "free"
	return p.part("bench", "stage-free", show)
}

func pieces(n int) string {
	if n == 1 {
		return "1 piece"
	}
	return fmt.Sprintf("%d pieces", n)
}

// cardsOf gives the cards of some words.
func cardsOf(words []string) (out []cardShown) {
	for _, word := range words {
		for _, c := range workflow.Cards {
			if c.Word == word {
				out = append(out, cardShown{strings.ReplaceAll(c.Word, "-", " "), c.Code(), c.Says})
			}
		}
	}
	return out
}

// placing is the page on which pieces go into a carton.
type placing struct {
	workflow.Shows
	Gates tallyGates
}

// tallyGates are strokes in gates of five, as on a tally sheet: one path for the
// strokes that stood before, one for the newest.
type tallyGates struct {
	Old, New string
	Weight   float64
	Says     string
}

// gates draws n strokes into a field, as large as they fit.
func gates(n int, wide, high float64) tallyGates {
	out := tallyGates{Says: pieces(n)}
	if n <= 0 {
		return out
	}
	const least = 2 // gates in a row
	cols := least
	cell := func() (w, h float64, rows int) {
		w = wide / (float64(cols) + .1)
		rows = ((n+4)/5 + cols - 1) / cols
		return w, w * .85, rows
	}
	w, h, rows := cell()
	for float64(rows)*h > high && cols < 40 {
		cols++
		w, h, rows = cell()
	}
	h = min(h, high/float64(rows))
	out.Weight = w * .085
	var b strings.Builder
	for i := range n {
		gate, k := i/5, i%5
		x, y := float64(gate%cols)*w+w*.14, float64(gate/cols)*h+h*.12
		tall := h * .72
		d := fmt.Sprintf("M%.1f %.1fv%.1f", x+float64(k)*w*.2, y, tall)
		if k == 4 {
			d = fmt.Sprintf("M%.1f %.1fL%.1f %.1f", x-w*.1, y+tall*.8, x+w*.7, y+tall*.2)
		}
		if i == n-1 {
			out.New = d
		} else {
			b.WriteString(d)
		}
	}
	out.Old = b.String()
	return out
}

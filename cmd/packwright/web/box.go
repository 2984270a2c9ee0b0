package web

import (
	"fmt"
	"slices"
	"strings"

	"packwright/audit"
)

// Box is one carton as it is drawn: the flaps say its state, the strokes inside
// what lies in it. Template "carton" draws it.
type Box struct {
	Carton string
	State  audit.State
	Word   string // the state in words, with what blocks it or how long it takes
	Says   string // the same as a sentence, for who does not see the drawing
	Rows   []Tally
	Blind  bool // is being counted: cloth over it
	Small  bool

	planned, scanned int
}

// boxes are in these states, in the order a board reads them.
var boxOrder = []audit.State{audit.Blocked, audit.Open, audit.Counting, audit.Counted, audit.Planned, audit.Sealed, audit.Dispatched}

// inBox is where strokes stand in the silhouette of 112 × 54.
var inBox = Field{X: 8, Y: 8, Wide: 96, High: 42}

// boxOf draws a carton of the board; lines may be nil, then one row holds all.
func boxOf(c audit.BoardCarton, lines []Fill) Box {
	b := Box{Carton: c.Carton, State: c.State, Word: boxWord(c), planned: c.Planned, scanned: c.Scanned}
	b.Says = fmt.Sprintf("%s: %s, %d of %d in it", c.Carton, b.Word, c.Scanned, c.Planned)
	if c.State == audit.Counting { // a board may hang where the counter sees it
		b.Blind, b.Says = true, c.Carton+": "+b.Word
		return b
	}
	if len(lines) == 0 {
		lines = []Fill{{c.Planned, c.Scanned}}
	}
	if c.State != audit.Planned || c.Scanned > 0 {
		b.Rows = rows(lines, inBox)
	}
	return b
}

// boxWord says a carton's state, and what follows from it.
func boxWord(c audit.BoardCarton) string {
	switch c.State {
	case audit.Blocked:
		return "blocked by " + strings.Join(c.Blockers, ", ")
	case audit.Counting:
		return "being counted"
	case audit.Counted:
		return "counted, not sealed" + soon(c.Finish)
	case audit.Open:
		return fmt.Sprintf("open, %d of %d%s", c.Scanned, c.Planned, soon(c.Finish))
	case audit.Dispatched:
		return "left on " + c.Load
	case audit.Planned:
		return fmt.Sprintf("planned, %d pieces%s", c.Planned, soon(c.Finish))
	}
	return string(c.State)
}

func soon(e *audit.Estimate) string {
	if e == nil {
		return ""
	}
	return fmt.Sprintf(", about %d min", e.Minutes)
}

// fills gives the lines of a carton, as the fold holds them.
func fills(c audit.Contents) []Fill {
	out := make([]Fill, 0, len(c.Lines))
	for _, l := range c.Lines {
		out = append(out, Fill{l.Planned, l.Scanned})
	}
	return out
}

// Stops says that the box stands in the way.
func (b Box) Stops() bool { return b.State == audit.Blocked }

// FlapsUp says that hands can reach into it.
func (b Box) FlapsUp() bool {
	return slices.Contains([]audit.State{audit.Open, audit.Counting, audit.Blocked}, b.State)
}

// Lid says that its flaps lie flat.
func (b Box) Lid() bool {
	return slices.Contains([]audit.State{audit.Counted, audit.Sealed, audit.Dispatched}, b.State)
}

// Taped says that a seal is on it.
func (b Box) Taped() bool { return b.State == audit.Sealed || b.State == audit.Dispatched }

// Gone says that it has left the floor.
func (b Box) Gone() bool { return b.State == audit.Dispatched }

// Dotted says that nobody has opened it yet.
func (b Box) Dotted() bool { return b.State == audit.Planned && len(b.Rows) == 0 }

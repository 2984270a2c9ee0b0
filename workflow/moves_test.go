package workflow

import (
	"fmt"
	"slices"

	"packwright/events"
)

// The drawing is believed because the stories keep it honest: whatever a
// command moves there, its rule says that it moves.

// statesAt is the states of everything at one moment.
type statesAt struct {
	carton, run, mismatch map[string]string
	stage                 map[string]map[events.Stage]int // by lot
}

func statesOf(f *Floor) statesAt {
	s := statesAt{map[string]string{}, map[string]string{}, map[string]string{}, map[string]map[events.Stage]int{}}
	for code, c := range f.Cartons {
		s.carton[code] = string(c.State)
	}
	for code, r := range f.Runs {
		s.run[code] = string(r.State)
		if r.Stopped && r.State == RunOpen {
			s.run[code] = "stopped"
		}
	}
	for code, m := range f.Matters {
		switch {
		case !m.Resolved.IsZero():
			s.mismatch[code] = "resolved"
		case !m.Fixed.IsZero():
			s.mismatch[code] = "fixed"
		case m.TakenBy != "":
			s.mismatch[code] = "taken"
		default:
			s.mismatch[code] = "raised"
		}
	}
	for _, c := range f.Ledger.cells {
		if s.stage[c.Lot] == nil {
			s.stage[c.Lot] = map[events.Stage]int{}
		}
		s.stage[c.Lot][c.Stage] += c.Qty()
	}
	return s
}

// undrawnMoves lists what a command moved that its rule does not say. What follows
// from a command by itself (a mismatch that is raised) is not its move.
func undrawnMoves(command string, was, is statesAt) (out []string) {
	moves := rules[command].Moves
	said := func(of, from, to string) bool { return slices.Contains(moves, Move{of, from, to}) }
	for _, kind := range []struct {
		of      string
		was, is map[string]string
	}{{"carton", was.carton, is.carton}, {"run", was.run, is.run}, {"mismatch", was.mismatch, is.mismatch}} {
		for code, now := range kind.is {
			before := kind.was[code]
			if before != now && before != "" && !said(kind.of, before, now) {
				out = append(out, fmt.Sprintf("%s %s: %s → %s", kind.of, code, before, now))
			}
		}
	}
	for lot, now := range is.stage {
		before := was.stage[lot]
		for _, s := range events.Stages {
			if n := now[s] - before[s]; n > 0 && !comes(moves, s, now, before) {
				out = append(out, fmt.Sprintf("unit of %s: %d more %s", lot, n, s))
			}
		}
	}
	return out
}

// comes says whether a declared move brings units to a stage from one that lost some, or from birth.
func comes(moves []Move, to events.Stage, now, before map[events.Stage]int) bool {
	return slices.ContainsFunc(moves, func(m Move) bool {
		from := events.Stage(m.From)
		return m.Of == "unit" && m.To == string(to) && (m.From == "" || now[from] < before[from])
	})
}

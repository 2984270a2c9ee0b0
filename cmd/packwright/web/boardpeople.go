package web

import (
	"fmt"
	"sort"
	"strings"

	"packwright/audit"
)

// benchLines tells of each bench who is there and with what.
func benchLines(b audit.Board) []BenchLine {
	var out []BenchLine
	for _, x := range b.Benches {
		l := BenchLine{Bench: x.Bench, Badge: x.Badge, Seen: "not heard of yet"}
		if !x.Seen.IsZero() {
			l.Seen = "last heard " + x.Seen.Std().Format("15:04:05")
			if dayOf(x.Seen) != dayOf(b.At) {
				l.Seen = "last heard " + x.Seen.Std().Format("2 January 15:04")
			}
		}
		l.Does = does(b, x)
		if x.QuietFor > 0 {
			l.Does, l.Hot = l.Does+fmt.Sprintf(" · quiet for %s", quiet(x.QuietFor)), true
		}
		for _, c := range b.Cartons {
			if c.Bench == x.Bench && c.State == audit.Blocked {
				l.Hot, l.Does = true, "waits with "+c.Carton
			}
		}
		out = append(out, l)
	}
	return out
}

func quiet(seconds int) string {
	if seconds < 120 {
		return fmt.Sprintf("%d s", seconds)
	}
	return minutes(seconds / 60)
}

func does(b audit.Board, x audit.BoardBench) string {
	var parts []string
	for _, r := range b.Runs {
		if r.Run == x.Run {
			word := fmt.Sprintf("run %s, %d of %d %s", r.Run, r.Made, r.Q, r.Item)
			if r.Paused {
				word += ", paused"
			}
			parts = append(parts, word)
		}
	}
	if len(x.Cartons) > 0 {
		parts = append(parts, "packs "+strings.Join(x.Cartons, ", "))
	}
	switch {
	case len(parts) > 0:
		return strings.Join(parts, " · ")
	case x.Badge == "":
		return "nobody is signed in"
	}
	return "free"
}

// waitsOf lists what waits for a person: open questions and plan changes.
func waitsOf(b audit.Board) []Wait {
	var out []Wait
	for _, m := range b.Open {
		text := fmt.Sprintf("%s on %s, open %s", strings.ToLower(string(m.Kind)), strings.Join(m.Where, ", "), minutes(m.Minutes))
		if m.By != "" {
			text += ", " + m.By + " has it"
		} else {
			text += ", nobody has it"
		}
		out = append(out, Wait{m.Mismatch, text, "/wrong/" + m.Mismatch})
	}
	for _, a := range b.Asked {
		text := fmt.Sprintf("plan %s: %s, asked %s", a.Plan, a.Reason, clockOf(a.Since))
		if len(a.Yes) > 0 {
			text += ", yes by " + strings.Join(a.Yes, ", ")
		}
		out = append(out, Wait{a.Proposal, text, "/change/" + a.Proposal})
	}
	return out
}

func codesOf(codes map[string]string) []Code {
	out := make([]Code, 0, len(codes))
	for station, digits := range codes {
		out = append(out, Code{station, digits})
	}
	sort.Slice(out, func(i, j int) bool { return out[i].Station < out[j].Station })
	return out
}

package audit

import (
	"fmt"
	"io"
	"strings"
)

// Text writes the board for a terminal.
func (b Board) Text(w io.Writer) error {
	o := &strings.Builder{}
	fmt.Fprintf(o, "%s  %s\n", b.Floor, b.At.Clock())
	word := "NO-GO"
	if b.Go.Go {
		word = "GO"
	}
	fmt.Fprintf(o, "%s: %s\n", word, strings.Join(b.Go.Reasons, "; "))
	for _, l := range b.Loads {
		fmt.Fprintf(o, "load %s due %s, in %d min; %d cartons on it\n", l.Load, hourMinute(l.Due), l.Minutes, len(l.Loaded))
	}
	for _, c := range b.Cartons {
		fmt.Fprintf(o, "  %-6s %-10s %3d of %3d  %-5s", c.Carton, c.State, c.Scanned, c.Planned, c.Bench)
		switch {
		case len(c.Blockers) > 0:
			fmt.Fprintf(o, " %s", strings.Join(c.Blockers, ", "))
		case c.Seal != "":
			fmt.Fprintf(o, " seal %s", c.Seal)
		case c.Finish != nil:
			fmt.Fprintf(o, " about %d min", c.Finish.Minutes)
		}
		o.WriteString("\n")
	}
	for _, s := range b.Stages {
		fmt.Fprintf(o, "  %-17s %4d\n", s.Stage, s.N)
	}
	for _, v := range b.Benches {
		fmt.Fprintf(o, "  %-6s %-10s run %-5s last heard %s", v.Bench, orNobody(v.Badge), firstOf(v.Run, "-"), clock(v.Seen))
		if v.QuietFor > 0 {
			fmt.Fprintf(o, ", quiet for %d s", v.QuietFor)
		}
		o.WriteString("\n")
	}
	for _, m := range b.Open {
		fmt.Fprintf(o, "  %s %s on %s, %s, open %d min", m.Mismatch, m.Kind, strings.Join(m.Where, ", "), m.State, m.Minutes)
		if m.By != "" {
			fmt.Fprintf(o, ", %s has it", m.By)
		}
		o.WriteString("\n")
	}
	_, err := io.WriteString(w, o.String())
	return err
}

func orNobody(s string) string {
	if s == "" {
		return "nobody"
	}
	return s
}

package audit

import (
	"fmt"
	"io"
	"strings"

	"packwright/events"
	"packwright/prep"
)

// Text writes the trace in plain sentences: facts, then what cannot be known.
func (t Trace) Text(w io.Writer) error {
	b := &strings.Builder{}
	fmt.Fprintf(b, "%s: set of %d; %s\n", t.Query, t.Size, t.Why)
	if t.Label != nil {
		t.Label.text(b)
	}
	for _, u := range t.Units {
		u.text(b)
	}
	if len(t.Units) == 0 {
		for _, s := range t.Sets {
			s.text(b)
		}
	}
	for _, p := range t.Parts {
		fmt.Fprintf(b, "  built from %d of %s, lot %s%s; which of them is in this one is not known\n", p.Q, p.Item, p.Lot, ofRuns(p.Runs))
	}
	if len(t.Into) > 0 {
		fmt.Fprintf(b, "  units of this lot went into %s\n", strings.Join(t.Into, ", "))
	}
	fmt.Fprintf(b, "  read up to event %s\n", t.Head)
	_, err := io.WriteString(w, b.String())
	return err
}

// String is Text in one string.
func (t Trace) String() string {
	b := &strings.Builder{}
	_ = t.Text(b) // a Builder takes everything
	return b.String()
}

func (l *LabelTrace) text(b *strings.Builder) {
	switch l.State {
	case "cancelled":
		fmt.Fprintf(b, "  %s: cancelled %s (%s)", l.Mark, hourMinute(l.CancelAt), l.Reason)
		if l.ReplacedBy > 0 {
			fmt.Fprintf(b, ", replaced by %s (%s", l.ReplacedBy, firstOf(l.NowName, l.NowItem))
			if l.NowRun != "" {
				fmt.Fprintf(b, ", %s", l.NowRun)
			}
			b.WriteString(")")
		}
		b.WriteString("\n")
		if len(l.GoodsNow) > 0 {
			fmt.Fprintf(b, "  its goods bear %s now\n", prep.Marks(l.GoodsNow))
		}
	default:
		fmt.Fprintf(b, "  %s: %s", l.Mark, l.State)
		if l.Printed != "" {
			fmt.Fprintf(b, " for run %s", l.Printed)
		}
		b.WriteString("\n")
	}
}

func (u UnitTrace) text(b *strings.Builder) {
	fmt.Fprintf(b, "  %s %s", u.Mark, u.Item)
	if u.Name != "" {
		fmt.Fprintf(b, " (%s)", u.Name)
	}
	fmt.Fprintf(b, ", lot %s, %s\n", u.Lot, u.Stage)
	for _, p := range u.Prep {
		p.text(b)
	}
	if u.Replaces > 0 {
		fmt.Fprintf(b, "    its label replaced %s on the box\n", u.Replaces)
	}
	if len(u.Inherits) > 0 {
		fmt.Fprintf(b, "    the goods bore %s before\n", prep.Marks(u.Inherits))
	}
	for _, o := range u.TakenOut {
		fmt.Fprintf(b, "    taken out of %s %s: %s\n", o.Carton, clock(o.At), o.Reason)
	}
	if u.Carton != "" {
		fmt.Fprintf(b, "    placed in %s %s%s\n", u.Carton, clock(u.PlacedAt), byWhom(u.PlacedBy))
	} else if u.Place != "" {
		fmt.Fprintf(b, "    lies in %s\n", u.Place)
	}
	u.Journey.text(b)
}

func (p PrepTrace) text(b *strings.Builder) {
	if p.Run == "" {
		b.WriteString("    which run made it is not known\n")
		return
	}
	fmt.Fprintf(b, "    run %s", p.Run)
	if p.Unit > 0 {
		fmt.Fprintf(b, ", unit %d", p.Unit)
	}
	fmt.Fprintf(b, ", %s, %s", p.Station, p.Badge)
	if !p.At.IsZero() {
		fmt.Fprintf(b, ", ready %s", clock(p.At))
	}
	fmt.Fprintf(b, ", rules r%d %s", p.RulesRev, p.Recipe)
	if p.Rules != "" {
		fmt.Fprintf(b, " (%s)", p.Rules)
	}
	for _, m := range p.Materials {
		fmt.Fprintf(b, ", %s %s", m.Material, m.Lot)
	}
	b.WriteString("\n")
}

func (j *Journey) text(b *strings.Builder) {
	if j == nil {
		return
	}
	for _, r := range j.Reopened {
		fmt.Fprintf(b, "    reopened: %s\n", r.words())
	}
	for _, o := range j.Told {
		fmt.Fprintf(b, "    told later: %s\n", o.words())
	}
	if !j.CountAt.IsZero() {
		fmt.Fprintf(b, "    counted %s%s", clock(j.CountAt), byWhom(j.CountBy))
		if j.Seal != "" {
			fmt.Fprintf(b, ", sealed %s, seal %s", clock(j.SealedAt), j.Seal)
		}
		if j.Load != "" {
			fmt.Fprintf(b, ", dispatched %s on %s", clock(j.SentAt), j.Load)
		}
		b.WriteString("\n")
	}
}

func (s SetTrace) text(b *strings.Builder) {
	fmt.Fprintf(b, "  %d of %s, lot %s, %s", s.Q, s.Item, s.Lot, s.Stage)
	if s.Place != "" {
		fmt.Fprintf(b, ", in %s", s.Place)
	}
	if len(s.Marks) > 0 {
		fmt.Fprintf(b, ", marks %s", s.Marks)
	}
	b.WriteString("\n")
	for _, p := range s.Prep {
		p.text(b)
	}
	s.Journey.text(b)
}

func ofRuns(runs []string) string {
	if len(runs) == 0 {
		return ""
	}
	return " of " + strings.Join(runs, ", ")
}

func byWhom(who string) string {
	if who == "" {
		return ""
	}
	return " by " + who
}

func clock(t events.Time) string {
	if t.IsZero() {
		return "at a time not kept"
	}
	return t.Clock()
}

func hourMinute(t events.Time) string { return t.Std().Format("15:04") }

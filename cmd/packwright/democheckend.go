package main

import (
	"fmt"
	"slices"
	"strings"

	"packwright/audit"
	"packwright/events"
)

// checkEnd compares the end of the day with the plan and with what was received.
func (f *demoFloor) checkEnd(d *desk, k *checker, a *auditor) error {
	r, err := at(d, a, reconcileQuestion, asked{})
	if k.fails("reconcile", err) {
		return nil
	}
	if len(r.Plans) != 1 {
		k.want("plans", 1, len(r.Plans))
		return nil
	}
	p := r.Plans[0]
	k.want("plan", "r2 221, placed 221, counted 221, sealed 221, dispatched 221",
		fmt.Sprintf("r%d %d, placed %d, counted %d, sealed %d, dispatched %d", p.Rev, p.Planned, p.Placed, p.Counted, p.Sealed, p.Dispatched))
	var off []string
	for _, x := range r.Differences {
		if x.Carton != "" {
			off = append(off, x.Carton+" "+x.Text)
		}
	}
	k.want("cartons that differ from the plan", "", strings.Join(off, "; "))
	sum, received, made := map[events.Stage]int{}, 0, 0
	for _, b := range r.Lots {
		if b.Kind == "bundle" {
			made += b.Received
		} else {
			received += b.Received
		}
		for s, n := range b.At {
			sum[s] += n
		}
	}
	k.want("conservation", "240 received = 221 dispatched + 4 held + 2 diverted + 1 written off + 24 consumed - 12 made",
		fmt.Sprintf("%d received = %d dispatched + %d held + %d diverted + %d written off + %d consumed - %d made", received,
			sum[events.Dispatched], sum[events.Held], sum[events.Diverted], sum[events.WrittenOff], sum[events.Consumed], made))
	k.want("the books balance", true, r.Balanced && received == sum[events.Dispatched]+sum[events.Held]+sum[events.Diverted]+sum[events.WrittenOff]+sum[events.Consumed]-made)
	v, err := at(d, a, irregularQuestion, asked{})
	if !k.fails("irregular", err) {
		k.want("irregular: overrides, testimony, offline", "1 1 1", fmt.Sprint(len(v.Overrides), " ", len(v.Testimony), " ", len(v.Offline)))
	}
	return nil
}

// checkMatters looks at the two mismatches of the day.
func (f *demoFloor) checkMatters(d *desk, k *checker, a *auditor) error {
	w, err := at(d, a, whyQuestion, asked{"of": "X-01", "at": "13:53"})
	if k.fails("why X-01 at 13:53", err) {
		return nil
	}
	k.want("X-01 at 13:53: raised, taken in", "13:33:05 C-03, 13:52:53 C-02", symptoms(w.Matter))
	for _, x := range []struct{ carton, want string }{{"C-03", "6049 g, -51 g, z -4.1"}, {"C-02", "5165 g, +53 g, z +4.4"}} {
		c, err := inside(d, a, x.carton, "13:53")
		if !k.fails(x.carton+" at 13:53", err) {
			k.want(x.carton+" at 13:53: weighed", x.want, weighed(c.Weight))
		}
	}
	for _, x := range []struct{ of, want string }{{"X-01", "resolved find-swap 15:49:30"}, {"X-02", "resolved find-and-add 17:50:00"}} {
		w, err := at(d, a, whyQuestion, asked{"of": x.of})
		if !k.fails("why "+x.of, err) {
			k.want(x.of+" at the end", x.want, fmt.Sprintf("%s %s %s", w.Matter.State, w.Matter.Resolution, w.Matter.Resolved.Clock()))
		}
	}
	c, err := inside(d, a, "C-07", "")
	if !k.fails("C-07", err) {
		k.want("C-07 at the end: seal", "000415 17:52:00", c.Seal+" "+c.SealedAt.Clock())
	}
	return nil
}

// symptoms says when each carton came into a matter.
func symptoms(m *audit.MatterView) string {
	if m == nil {
		return "no mismatch"
	}
	var out []string
	var seen []string
	for _, s := range m.Symptoms {
		if !slices.Contains(seen, s.Scope.Carton) {
			seen = append(seen, s.Scope.Carton)
			out = append(out, s.At.Clock()+" "+s.Scope.Carton)
		}
	}
	return strings.Join(out, ", ")
}

// checkClaims looks at what the log answers weeks later.
func (f *demoFloor) checkClaims(d *desk, k *checker, a *auditor) error {
	t, err := at(d, a, claimTraceQuestion, asked{"claim": "CL-02"})
	if k.fails("CL-02 traced", err) {
		return nil
	}
	k.want("CL-02: which discs", "a set of 12 of run R-03's 18", fmt.Sprintf("a set of %d of run %s", t.Trace.Size, runsOf(t.Trace)))
	c, err := inside(d, a, "C-11", "")
	if k.fails("C-11", err) {
		return nil
	}
	k.want("CL-02: C-11 weighed", "3710 g, +4 g, z +0.4", weighed(c.Weight))
	for _, l := range c.Lines {
		counted := "not by line"
		if l.Counted != nil {
			counted = fmt.Sprint(*l.Counted)
		}
		k.want("CL-02: C-11 "+l.Item+" planned, scanned, counted", "12 12 12", fmt.Sprint(l.Planned, " ", l.Scanned, " ", counted))
	}
	k.want("CL-02: two discs short would weigh", "-236 g, z -23.7", short(c.Weight, 2*118))
	k.want("CL-02: C-11 left with seal", "000409", c.Seal)
	for _, x := range []string{"CL-01", "CL-02"} {
		p, err := at(d, a, claimQuestion, asked{"claim": x})
		if !k.fails(x, err) {
			k.want(x+" at the end", "closed", p.State)
		}
	}
	return nil
}

func runsOf(t audit.Trace) string {
	var out []string
	for _, s := range t.Sets {
		for _, r := range s.Runs {
			out = append(out, fmt.Sprintf("%s's %d", r.Run, r.Made))
		}
	}
	return strings.Join(out, ", ")
}

// short says how a carton that is so many grams short of its expected weight would read.
func short(w *audit.Weight, grams float64) string {
	if w == nil || !w.Known {
		return "not weighed"
	}
	return fmt.Sprintf("%+.0f g, z %+.1f", -grams, -grams/w.SD.Grams())
}

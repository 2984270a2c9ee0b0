package main

import (
	"fmt"
	"maps"
	"slices"
	"strings"

	"packwright/audit"
	"packwright/audit/follow"
	"packwright/events"
	"packwright/testdata/demo"
	"packwright/workflow/engine"
)

// checkCounts counts the events whose number follows from the day itself.
func (f *demoFloor) checkCounts(d *desk, k *checker, _ *auditor) error {
	got := map[events.Type]int{}
	r := follow.New()
	err := f.log.Scan(d.ctx, 1, func(seq uint64, frame []byte) error {
		fr, err := r.Take(seq, frame)
		for i := range fr.Events {
			got[fr.Events[i].Type()]++
		}
		return err
	})
	if err != nil {
		return err
	}
	for _, t := range slices.Sorted(maps.Keys(demo.Pinned)) {
		k.want("events "+string(t), demo.Pinned[t], got[t])
	}
	return nil
}

// checkTrace follows one piece from the shelf to the truck.
func (f *demoFloor) checkTrace(d *desk, k *checker, a *auditor) error {
	t, err := at(d, a, traceQuestion, asked{"mark": "M-0019"})
	if k.fails("trace M-0019", err) {
		return nil
	}
	k.want("trace M-0019: size", 1, t.Size)
	if len(t.Units) != 1 || len(t.Units[0].Prep) != 1 || t.Units[0].Journey == nil {
		k.want("trace M-0019: one unit, one run, one journey", "1 1 true", fmt.Sprint(len(t.Units), " ", t))
		return nil
	}
	u, p, j := t.Units[0], t.Units[0].Prep[0], t.Units[0].Journey
	k.want("trace M-0019: item and lot", "MG3 L-02", u.Item+" "+u.Lot)
	k.want("trace M-0019: run, unit, bench, badge, ready", "R-07 5 ST-2 ife 10:19:10", fmt.Sprint(p.Run, " ", p.Unit, " ", p.Station, " ", p.Badge, " ", p.At.Clock()))
	k.want("trace M-0019: rules", "r4 window figure, 1 layer of bubble-small", fmt.Sprintf("r%d %s, %s", p.RulesRev, p.Recipe, firstMaterial(p.Rules)))
	k.want("trace M-0019: wrap lot", "BW-18", matlot(p.Materials, "bubble-small"))
	k.want("trace M-0019: placed", "C-02 13:51:24", u.Carton+" "+u.PlacedAt.Clock())
	k.want("trace M-0019: sealed", "15:50:00 seal 000412", j.SealedAt.Clock()+" seal "+j.Seal)
	k.want("trace M-0019: count in force", "15:46:02", j.CountAt.Clock())
	k.want("trace M-0019: dispatched", "17:54:20 on LD-1, seal 000412 seen", fmt.Sprintf("%s on %s, seal %s seen", j.SentAt.Clock(), j.Load, j.SealSeen))
	t, err = at(d, a, traceQuestion, asked{"mark": "M-0023"})
	if !k.fails("trace M-0023", err) {
		k.want("trace M-0023: cancelled, replaced, now on", "cancelled 15:36 M-0073 MG4 R-08",
			fmt.Sprint(t.Label.State, " ", t.Label.CancelAt.Std().Format("15:04"), " ", t.Label.ReplacedBy, " ", t.Label.NowItem, " ", t.Label.NowRun))
	}
	return nil
}

func firstMaterial(rules string) string {
	first, _, _ := strings.Cut(rules, ", ")
	return first
}

func matlot(list []audit.MaterialLot, material string) string {
	for _, m := range list {
		if m.Material == material {
			return m.Lot
		}
	}
	return ""
}

// checkSiblings counts those who share a fate with that piece.
func (f *demoFloor) checkSiblings(d *desk, k *checker, a *auditor) error {
	s, err := at(d, a, siblingsQuestion, asked{"of": "M-0019"})
	if k.fails("siblings M-0019", err) {
		return nil
	}
	for _, x := range []struct {
		axis audit.Axis
		key  string
		want string
	}{
		{audit.ByRun, "R-07", "9: M-0015..M-0022, M-0072"},
		{audit.ByMaterial, "BW-18", "33: M-0001..M-0022, M-0025..M-0033, M-0072..M-0073"},
		{audit.ByRules, "r4 window figure", "23: M-0001..M-0022, M-0072"},
		{audit.ByCarton, "C-02", "11: M-0013..M-0022, M-0072"},
	} {
		i := slices.IndexFunc(s.Sets, func(s audit.Siblings) bool { return s.Axis == x.axis && s.Key == x.key })
		if i < 0 {
			k.want(fmt.Sprintf("siblings along %s %s", x.axis, x.key), x.want, "no such axis")
			continue
		}
		k.want(fmt.Sprintf("siblings along %s %s", x.axis, x.key), x.want, fmt.Sprintf("%d: %s", s.Sets[i].N, s.Sets[i].Marks))
		k.want(fmt.Sprintf("siblings along %s %s: still here", x.axis, x.key), 0, s.Sets[i].Here+s.Sets[i].Sealed)
	}
	return nil
}

// checkMinute looks at the board in the minute when one carton was short.
func (f *demoFloor) checkMinute(d *desk, k *checker, a *auditor) error {
	b, err := at(d, a, boardQuestion, asked{"at": "17:41"})
	if k.fails("board at 17:41", err) {
		return nil
	}
	var blocked []string
	sealed := 0
	for _, c := range b.Cartons {
		if c.State == audit.Blocked {
			blocked = append(blocked, c.Carton+" by "+strings.Join(c.Blockers, " "))
		}
		if c.State == audit.Sealed {
			sealed++
		}
	}
	k.want("board at 17:41: blocked", "C-07 by X-02", strings.Join(blocked, ", "))
	k.want("board at 17:41: sealed", 13, sealed)
	k.want("board at 17:41: the truck can go", false, b.Go.Go)
	c, err := inside(d, a, "C-07", "17:41")
	if k.fails("C-07 at 17:41", err) {
		return nil
	}
	counted := -1
	if c.Counted != nil {
		counted = *c.Counted
	}
	k.want("C-07 at 17:41: planned, scanned, counted", "21 21 20", fmt.Sprint(c.Planned, " ", c.Scanned, " ", counted))
	k.want("C-07 at 17:41: weighed", "11827 g, -303 g, z -9.3", weighed(c.Weight))
	o, err := at(d, a, optionsQuestion, asked{"of": "X-02", "as": "maren", "at": "17:41"})
	if !k.fails("options X-02 at 17:41", err) {
		k.want("options X-02 at 17:41: for maren", "some, and may be left behind", someOptions(o))
	}
	return nil
}

func someOptions(o audit.Options) string {
	word := "none"
	if slices.ContainsFunc(o.Options, func(x audit.Option) bool { return x.May }) {
		word = "some"
	}
	if o.Leave {
		word += ", and may be left behind"
	}
	return word
}

func weighed(w *audit.Weight) string {
	if w == nil || !w.Known {
		return "not weighed"
	}
	return fmt.Sprintf("%.0f g, %+.0f g, z %+.1f", w.Gross.Grams(), w.Residual.Grams(), w.Z.Float())
}

// checkLog proves the log: chain, cells at every frame, laws, rebuilds.
func (f *demoFloor) checkLog(d *desk, k *checker, a *auditor) error {
	v, err := follow.Verify(d.ctx, f.log, nil)
	if k.fails("the log is believed, cells equal at every frame", err) {
		return nil
	}
	head := f.writer.Head()
	k.want("cells equal at every frame, up to frame", head.Frame, v.Frames)
	k.want("root of the log", head.Root, v.Root)
	k.want(fmt.Sprintf("breaches of the %d laws", v.Laws), 0, len(v.Breaches))
	signed := "none"
	if v.Signed != nil {
		signed = fmt.Sprintf("%d, the last kept %s", v.Heads, v.Signed.Kept.Clock())
	}
	k.want("signed heads: at the dispatch and at the day's end", "2, the last kept 18:05:30", signed)
	live, err := stateOf(d.ctx, f.writer)
	if err != nil {
		return err
	}
	for _, n := range []string{"once", "twice"} {
		floor, err := deciderAt(d.ctx, f.log, f.policy, live.Last)
		if err != nil {
			return err
		}
		again, err := engine.Digest(floor)
		if err != nil {
			return err
		}
		k.want("decider rebuilt "+n+" from event 1", live.Digest[:16], again[:16])
	}
	err = follow.Rebuilt(d.ctx, f.log, a.reader.Checkpoint())
	if !k.fails("auditor rebuilt from event 1", err) {
		k.want("auditor rebuilt from event 1", v.Cells[:16], a.reader.Checkpoint().Cells.String()[:16])
	}
	return nil
}

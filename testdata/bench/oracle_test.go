package bench

import (
	"context"
	"fmt"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/rs/zerolog"

	"packwright/audit"
	"packwright/events"
	"packwright/events/memlog"
	"packwright/testdata/demo"
	"packwright/testdata/floors"
	"packwright/workflow"
	"packwright/workflow/engine"
)

// questions are asked of both: of SQLite as a query, of the audit as a function
// that writes the same rows.
var questions = []struct {
	about string
	sql   string
	audit func(f *audit.Fold) []string
}{
	{"units of each lot at each stage", "SELECT lot, item, stage, sum(n) FROM cell GROUP BY lot, stage", func(f *audit.Fold) (out []string) {
		for _, b := range f.Balances() {
			for s, n := range b.At {
				if n != 0 {
					out = append(out, row(b.Lot, b.Item, s, n))
				}
			}
		}
		return out
	}},
	{"conservation of each lot", "SELECT lot, received, in_books, missing FROM balance", func(f *audit.Fold) (out []string) {
		for _, b := range f.Balances() {
			out = append(out, row(b.Lot, b.Received, b.Sum, b.Received-b.Sum))
		}
		return out
	}},
	{"stages in all", "SELECT stage, n FROM stage_total", func(f *audit.Fold) (out []string) {
		for _, s := range f.StageTotals() {
			if s.N != 0 {
				out = append(out, row(s.Stage, s.N))
			}
		}
		return out
	}},
	{"each carton's lots", "SELECT carton, item, lot, stage, n FROM content WHERE stage <> 'unmarked'", func(f *audit.Fold) (out []string) {
		n := map[string]int{}
		for _, c := range f.Cartons() {
			for _, l := range c.Lines {
				for _, p := range l.Lots {
					n[row(c.Carton, l.Item, p.Lot, stageIn(c, p))] += p.Q
				}
			}
		}
		for k, q := range n {
			out = append(out, row(k, q))
		}
		return out
	}},
	{"units without a label in cartons", "SELECT carton, sum(n) FROM content WHERE stage = 'unmarked' GROUP BY 1", func(f *audit.Fold) (out []string) {
		for _, c := range f.Cartons() {
			if c.Bare > 0 {
				out = append(out, row(c.Carton, c.Bare))
			}
		}
		return out
	}},
	{"marks in cartons", "SELECT place, lot, m FROM marked WHERE place IN (SELECT carton FROM carton)", func(f *audit.Fold) (out []string) {
		for _, c := range f.Cartons() {
			for _, l := range c.Lines {
				for _, p := range l.Lots {
					for _, m := range p.Marks {
						out = append(out, row(c.Carton, p.Lot, int(m)))
					}
				}
			}
		}
		return out
	}},
	{"planned, scanned and counted", "SELECT carton, item, planned, scanned, counted FROM compared", func(f *audit.Fold) (out []string) {
		for _, c := range f.Cartons() {
			for item, l := range byItem(c) {
				out = append(out, row(c.Carton, item, l.planned, l.scanned, l.counted))
			}
		}
		return out
	}},
	{"differences from the plan", "SELECT carton, item, kind FROM difference", func(f *audit.Fold) (out []string) {
		for _, d := range f.Reconcile().Differences {
			if d.Carton != "" && d.Item != "" && slices.Contains([]events.Kind{events.Short, events.Over, events.Unplanned}, d.Kind) {
				out = append(out, row(d.Carton, d.Item, d.Kind))
			}
		}
		return out
	}},
	{"dispatched of each plan", "SELECT plan, planned, dispatched FROM sent", func(f *audit.Fold) (out []string) {
		for _, p := range f.Reconcile().Plans {
			out = append(out, row(p.Plan, p.Planned, p.Dispatched))
		}
		return out
	}},
}

func row(cells ...any) string {
	out := make([]string, len(cells))
	for i, c := range cells {
		out[i] = fmt.Sprint(c)
	}
	return strings.Join(out, "|")
}

// stageIn gives the stage of units in a carton; what has left, has left.
func stageIn(c audit.Contents, p audit.LotPart) string {
	if c.State == audit.Dispatched {
		return string(events.Dispatched)
	}
	return p.Stage
}

type compared struct {
	planned, scanned int
	counted          string // empty: not counted
}

// byItem adds a carton's lines up by item.
func byItem(c audit.Contents) map[string]compared {
	out := map[string]compared{}
	for _, l := range c.Lines {
		x := out[l.Item]
		x.planned, x.scanned = x.planned+l.Planned, x.scanned+l.Scanned
		if l.Counted != nil {
			x.counted = fmt.Sprint(*l.Counted)
		}
		out[l.Item] = x
	}
	return out
}

// disagree asks both everything and gives what only one of them says.
func disagree(t *testing.T, lines []Line, f *audit.Fold) (out []string) {
	t.Helper()
	o, err := Consult(t.Context(), lines)
	if err != nil {
		t.Fatal(err)
	}
	defer o.Close()
	for _, q := range questions {
		theirs, err := o.Ask(t.Context(), q.sql)
		if err != nil {
			t.Fatal(err)
		}
		ours := q.audit(f)
		slices.Sort(theirs)
		slices.Sort(ours)
		for _, r := range theirs {
			if _, ok := slices.BinarySearch(ours, r); !ok {
				out = append(out, q.about+": only SQL has "+r)
			}
		}
		for _, r := range ours {
			if _, ok := slices.BinarySearch(theirs, r); !ok {
				out = append(out, q.about+": only the audit has "+r)
			}
		}
	}
	return out
}

// fold gives the audit of lines.
func fold(t *testing.T, lines []Line) *audit.Fold {
	t.Helper()
	f := audit.New()
	for _, l := range lines {
		e, err := events.Decode(l.Raw)
		if err != nil {
			t.Fatal(err)
		}
		e.Seq = l.Seq
		if err := f.Apply(&e); err != nil {
			t.Fatal(err)
		}
	}
	return f
}

// demoLines plays the demo day and gives its log.
func demoLines(t *testing.T) []Line {
	t.Helper()
	policy, err := workflow.ParsePolicy("policy.yaml", demo.Policy)
	if err != nil {
		t.Fatal(err)
	}
	clock, log := &demo.Clock{}, memlog.New()
	e, err := engine.Open(t.Context(), engine.Config{Log: log, Floor: demo.Floor, Policy: policy, Now: clock.Now, Logger: zerolog.Nop()})
	if err != nil {
		t.Fatal(err)
	}
	defer e.Close()
	if err := demo.Play(t.Context(), demo.Day(), clock, direct{e}); err != nil {
		t.Fatal(err)
	}
	lines, err := Lines(log.Frames())
	if err != nil {
		t.Fatal(err)
	}
	return lines
}

// direct is the demo's door straight into a writer.
type direct struct{ e *engine.Engine }

func (d direct) Do(ctx context.Context, c workflow.Command) (workflow.Outcome, workflow.Code, error) {
	a, err := d.e.Do(ctx, c)
	if err != nil || a.Refusal == nil {
		return a.Outcome, "", err
	}
	return a.Outcome, a.Refusal.Code, nil
}

func (d direct) Head(context.Context) (demo.Head, error) {
	h := d.e.Head()
	return demo.Head{Seq: events.Seq{Frame: h.Frame}, Size: h.Size, Root: h.Root}, nil
}

// until gives the lines recorded up to a moment.
func until(t *testing.T, lines []Line, moment time.Time) []Line {
	t.Helper()
	i, _ := slices.BinarySearchFunc(lines, events.At(moment), func(l Line, m events.Time) int {
		e, err := events.Decode(l.Raw)
		if err != nil {
			t.Fatal(err)
		}
		if e.Recorded.After(m) {
			return 1
		}
		return -1
	})
	return lines[:i]
}

func TestOracleDemo(t *testing.T) {
	lines := demoLines(t)
	moments := map[string]time.Time{"the end": time.Date(2032, 1, 1, 0, 0, 0, 0, time.UTC)}
	for _, clock := range []string{"12:00:00", "13:35:00", "15:37:00", "17:41:00"} {
		m, err := time.Parse(time.RFC3339, "2031-03-04T"+clock+"Z")
		if err != nil {
			t.Fatal(err)
		}
		moments[clock] = m
	}
	for name, m := range moments {
		t.Run(name, func(t *testing.T) {
			part := until(t, lines, m)
			for _, d := range disagree(t, part, fold(t, part)) {
				t.Error(d)
			}
		})
	}
}

// TestOracleDemoByHand: what SQL alone says of the day, against what was worked
// out by hand: 240 received are 221 sent, 4 held, 2 diverted, 1 written off and
// 24 consumed, of which 12 were made.
func TestOracleDemoByHand(t *testing.T) {
	lines := demoLines(t)
	for _, x := range []struct {
		clock string
		query string
		want  []string
	}{
		{"23:59:59", "SELECT stage, n FROM stage_total ORDER BY 1", []string{"consumed|24", "dispatched|221", "diverted|2", "held|4", "written-off|1"}},
		{"23:59:59", "SELECT sum(received), sum(missing) FROM balance", []string{"252|0"}}, // with the 12 made
		{"23:59:59", "SELECT planned, dispatched FROM sent", []string{"221|221"}},
		{"23:59:59", "SELECT rev, sum(q) FROM plan_at GROUP BY rev ORDER BY 1", []string{"1|231", "2|221"}},
		{"23:59:59", "SELECT * FROM difference", nil},
		{"23:59:59", "SELECT place, lot FROM marked WHERE m IN (23, 24, 72, 73) ORDER BY m", []string{"C-02|L-02", "C-03|L-13"}},
		{"15:37:00", "SELECT carton, n FROM content WHERE stage = 'unmarked' ORDER BY 1", nil},
		{"17:41:00", "SELECT carton, item, planned, scanned, counted FROM difference", []string{"C-07|PLU|6|6|5"}},
		{"17:41:00", "SELECT sum(planned), sum(scanned), sum(counted) FROM compared WHERE carton = 'C-07'", []string{"21|21|20"}},
	} {
		m, err := time.Parse(time.RFC3339, "2031-03-04T"+x.clock+"Z")
		if err != nil {
			t.Fatal(err)
		}
		o, err := Consult(t.Context(), until(t, lines, m))
		if err != nil {
			t.Fatal(err)
		}
		got, err := o.Ask(t.Context(), x.query)
		if err != nil || !slices.Equal(got, x.want) {
			t.Errorf("%s %s\n got %q, %v\nwant %q", x.clock, x.query, got, err, x.want)
		}
		o.Close()
	}
}

// TestOracleCanDisagree leaves out one line of the log at a time, of each type
// that moves goods: SQL then says something else than the audit of the whole.
func TestOracleCanDisagree(t *testing.T) {
	lines := demoLines(t)
	whole := fold(t, lines)
	tried := map[events.Type]bool{}
	for i, l := range lines {
		if !slices.Contains(moving, l.Type) || tried[l.Type] {
			continue
		}
		tried[l.Type] = true
		if d := disagree(t, slices.Delete(slices.Clone(lines), i, i+1), whole); len(d) == 0 {
			t.Errorf("without %s at %s nothing differs", l.Type, l.Seq)
		}
	}
	for _, typ := range moving {
		if !tried[typ] {
			t.Errorf("the day has no %s", typ)
		}
	}
}

// moving are the types of the demo day that move goods.
var moving = []events.Type{"lot.received", "units.triaged", "units.prepped", "unit.spoiled", "bundle.built", "mark.voided", "unit.marked", "unit.placed",
	"unit.taken-out", "count.accepted", "carton.sealed", "carton.dispatched", "plan.released", "plan.amended", "count.entered"}

// TestOracleRandomFloors compares on days made up from seeds, at four moments of
// each and at its end.
func TestOracleRandomFloors(t *testing.T) {
	days := 60
	if testing.Short() {
		days = 8
	}
	n := 0
	for seed := range uint64(days) {
		day := floors.New(seed + 1)
		var frames [][]byte
		day.Play(floors.NewDesk(day.Policy, func(_ uint64, frame []byte) error {
			frames = append(frames, frame)
			return nil
		}))
		lines, err := Lines(frames)
		if err != nil {
			t.Fatal(err)
		}
		n += len(lines)
		for part := range 5 {
			some := lines[:len(lines)*(part+1)/5]
			if d := disagree(t, some, fold(t, some)); len(d) > 0 {
				t.Errorf("seed %d, %d of %d events: %d differences\n%s", seed+1, len(some), len(lines), len(d), strings.Join(d[:min(len(d), 12)], "\n"))
			}
		}
	}
	t.Logf("%d days, %d events", days, n)
}

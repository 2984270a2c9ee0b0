package workflow

import (
	"bytes"
	"cmp"
	"fmt"
	"math/rand/v2"
	"reflect"
	"slices"
	"strings"
	"testing"
	"time"

	json "github.com/goccy/go-json"

	"packwright/events"
	"packwright/prep"
)

// bencher sends what a bench might: mostly what comes next in its run, often
// something else. Nobody keeps it from nonsense but the gates.
type bencher struct {
	*teller
	rnd   *rand.Rand
	n     uint64
	clock events.Time
}

func TestRunsStayBalanced(t *testing.T) {
	for _, house := range []string{"", "runs: no\ntotes: no", "runs: no\nlabel_balance: no", "pair_check: no\nclearances: yes"} {
		for range 6 {
			seed := rand.Uint64()
			t.Run(fmt.Sprintf("%q seed %d", house, seed), func(t *testing.T) {
				p, err := ParsePolicy("test", []byte(house))
				if err != nil {
					t.Fatal(err)
				}
				b := &bencher{teller: morning(t), rnd: rand.New(rand.NewPCG(seed, 1))}
				b.floor.under(p)
				b.triageAll()
				kept := 0
				for range 1500 {
					next := b.floor.Next.Mark
					outcome := b.say(b.next())
					if outcome == Kept || outcome == Call {
						kept++
					}
					b.laws(next)
				}
				if kept < 150 || len(b.floor.Units) < 20 {
					t.Fatalf("a day on which %d of 1500 commands were kept and %d units marked shows nothing", kept, len(b.floor.Units))
				}
			})
		}
	}
}

// triageAll makes the morning's goods ready, where each house keeps them.
func (b *bencher) triageAll() {
	f := b.floor
	for _, c := range f.Ledger.sorted() {
		if c.Item == "RAD" {
			continue
		}
		to := Key{c.Lot, events.Triaged, f.toteFor(c.Place, c.Lot)}
		if !f.policy.Totes {
			to.Place = c.Lot
		}
		if err := f.Ledger.move(c.Key, to, c.Item, c.N, nil); err != nil {
			b.t.Fatal(err)
		}
		f.tote(to.Place)
	}
}

var benches = []struct{ station, badge string }{{"ST-1", "tobi"}, {"ST-2", "ife"}, {"ST-3", "sunniva"}, {Board, "maren"}}

type utterance struct {
	station, badge, command string
	data                    map[string]any
}

// next picks a bench and what it says.
func (b *bencher) next() utterance {
	at := benches[b.rnd.IntN(3)]
	say := func(command string, data map[string]any) utterance {
		if data == nil {
			data = map[string]any{}
		}
		return utterance{at.station, at.badge, command, data}
	}
	r := b.floor.runAt(at.station)
	if r == nil {
		return say("open-run", b.opening())
	}
	if b.rnd.IntN(4) == 0 {
		at2 := at
		if b.rnd.IntN(3) == 0 {
			at2 = benches[3]
		}
		command, data := b.noise(r)
		return utterance{at2.station, at2.badge, command, data}
	}
	command, data := b.proper(r)
	return say(command, data)
}

func (b *bencher) opening() map[string]any {
	lots := []struct{ lot, item string }{{"01", ""}, {"02", ""}, {"04", ""}, {"05", ""}, {"08", ""}, {"09", ""}, {"10", ""}, {"11", "BND"}, {"11", ""}, {"13", ""}}
	l := lots[b.rnd.IntN(len(lots))]
	data := map[string]any{"lot": "L-" + l.lot, "bench_clear": "yes", "lead": "maren"}
	if b.floor.policy.Totes {
		data["tote"] = "T-" + l.lot
	}
	if l.item != "" {
		data["item"] = l.item
	}
	if b.rnd.IntN(2) == 0 {
		data["q"] = 1 + b.rnd.IntN(8)
	}
	return data
}

// proper is what comes next in a run.
func (b *bencher) proper(r *Run) (string, map[string]any) {
	f, recipe := b.floor, b.floor.recipe(r.Item, r.Rev)
	if r.State == RunPaused {
		return "resume-run", nil
	}
	if m := undrawn(recipe, r.Materials); m != "" {
		return "draw-material", map[string]any{"material": m, "matlot": fmt.Sprint(m, "/", b.rnd.IntN(9))}
	}
	if r.Set > 0 && r.inHand() >= r.Set && f.Ledger.N(r.source()) == 0 {
		return "build-bundle", map[string]any{"q": 1 + b.rnd.IntN(r.inHand()/r.Set)}
	}
	if f.marked(r) && f.unlabelled(r) > 0 {
		return "print-labels", nil
	}
	if good := r.Printed[events.ItemLabel] - r.Torns[events.ItemLabel]; good < labelsFor(recipe, events.ItemLabel)*(r.done()+f.left(r)) {
		return "print-labels", map[string]any{"kind": "item"}
	}
	for _, m := range r.Marks {
		if r.waits(m) {
			return "labels-live", map[string]any{"from": m, "to": m}
		}
	}
	left := f.left(r)
	if left > 0 {
		if s, open := unchecked(r, recipe, left); open {
			return "check-step", b.check(r, s, left)
		}
		return "finish-units", b.finishing(r, left)
	}
	if len(r.Live) > 0 {
		return "spoil-labels", map[string]any{"from": r.Live[0]}
	}
	for _, s := range recipe.Required() {
		if atClose(s) && !r.Checked[s.ID].OK {
			return "check-step", map[string]any{"step": s.ID}
		}
	}
	return "close-run", map[string]any{"returned": r.inHand()}
}

func (b *bencher) check(r *Run, s prep.Step, left int) map[string]any {
	data := map[string]any{"step": s.ID, "n": min(left, r.Q)}
	switch s.Check {
	case prep.CheckScan:
		data["value"] = r.Item
	case prep.CheckValue:
		data["value"] = 7
	}
	return data
}

func (b *bencher) finishing(r *Run, left int) map[string]any {
	data := map[string]any{"pair_checked": true, "to": fmt.Sprint("P-", r.source().Lot, "-", b.rnd.IntN(3))}
	if !b.floor.policy.Totes {
		delete(data, "to")
	}
	if b.floor.marked(r) {
		if len(r.Live) > 0 {
			data["marks"] = r.Live[:1+b.rnd.IntN(min(left, len(r.Live)))]
		}
	} else {
		data["q"] = 1 + b.rnd.IntN(left)
	}
	return data
}

// noise is what a run did not wait for.
func (b *bencher) noise(r *Run) (string, map[string]any) {
	mark := prep.Mark(1 + b.rnd.IntN(int(b.floor.Next.Mark)+2))
	n := b.rnd.IntN(5)
	verdict := []string{"hold", "divert", "writeoff"}[b.rnd.IntN(3)]
	all := []utterance{
		{command: "spoil", data: map[string]any{"q": n, "cause": "tear", "verdict": verdict}},
		{command: "spoil", data: map[string]any{"mark": mark, "cause": "drop", "verdict": verdict}},
		{command: "spoil", data: map[string]any{"item": "BND", "cause": "drop", "verdict": verdict}},
		{command: "spoil-labels", data: map[string]any{"from": mark, "to": mark + prep.Mark(n)}},
		{command: "spoil-labels", data: map[string]any{"kind": "item", "n": n + 1}},
		{command: "print-again", data: map[string]any{"from": mark}},
		{command: "print-again", data: map[string]any{"kind": "item", "n": n}},
		{command: "print-labels", data: map[string]any{"n": n, "marks_from": mark + 3}},
		{command: "void-mark", data: map[string]any{"mark": mark, "reason": "wrong"}},
		{command: "void-mark", data: map[string]any{"mark": mark, "reason": "wrong"}},
		{command: "remark", data: map[string]any{"lot": r.source().Lot, "run": r.Run, "from": cmp.Or(r.Out, r.Tote), "replaces": b.voided(mark)}},
		{command: "finish-units", data: map[string]any{"marks": prep.MarksFromTo(mark, mark+prep.Mark(n)), "pair_checked": true, "to": "P-1"}},
		{command: "finish-units", data: map[string]any{"q": n + 1}},
		{command: "close-run", data: map[string]any{"returned": n, "labels_returned": n}},
		{command: "build-bundle", data: map[string]any{"q": n, "components": []events.Component{{Lot: "L-11", Q: n + 1}, {Lot: "L-11", Q: n + 1}}}},
		{command: "pause-run"},
		{command: "hand-over-run", data: map[string]any{"to": benches[b.rnd.IntN(3)].station, "run": r.Run}},
		{command: "check-step", data: map[string]any{"step": "shake-test", "ok": n > 1}},
		{command: "swap-material", data: map[string]any{"material": "bubble-small", "to": "BW-2", "at_unit": n}},
		{command: "open-run", data: b.opening()},
	}
	x := all[b.rnd.IntN(len(all))]
	return x.command, x.data
}

// voided gives a cancelled mark at or after m, or m.
func (b *bencher) voided(m prep.Mark) prep.Mark {
	for v := m; v < b.floor.Next.Mark; v++ {
		if _, ok := b.floor.Voided[v]; ok {
			return v
		}
	}
	return m
}

// say gives the command half a minute to five later.
func (b *bencher) say(a utterance) Outcome {
	body, err := json.Marshal(a.data)
	if err != nil {
		b.t.Fatal(err)
	}
	b.n++
	if b.clock.IsZero() {
		b.clock = storyTime(b.t, "09:00")
	}
	b.clock = events.At(b.clock.Std().Add(time.Duration(30+b.rnd.IntN(270)) * time.Second))
	b.now = b.clock
	c := Command{ID: fmt.Sprintf("%s/9/%d", a.station, b.n), Type: a.command, Badge: a.badge, At: b.clock, Data: body}
	if b.n%20 == 0 {
		b.untouched(c)
	}
	outcome, _, _ := b.judge(c)
	return outcome
}

// untouched checks that judging changes nothing, and that judging twice gives the same.
func (b *bencher) untouched(c Command) {
	was, err := json.Marshal(b.floor)
	if err != nil {
		b.t.Fatal(err)
	}
	first, err := Decide(b.floor, &c, b.now)
	second, err2 := Decide(b.floor, &c, b.now)
	if !reflect.DeepEqual(first, second) || fmt.Sprint(err) != fmt.Sprint(err2) {
		b.t.Fatalf("%s %s is judged twice in two ways", c.Type, c.Data)
	}
	if is, err := json.Marshal(b.floor); err != nil || !bytes.Equal(was, is) {
		b.t.Fatalf("judging %s %s changed the floor (%v)", c.Type, c.Data, err)
	}
}

// laws are what holds after every command.
func (b *bencher) laws(next prep.Mark) {
	f := b.floor
	if f.Next.Mark < next {
		b.t.Fatalf("the next mark went back from %s to %s", next, f.Next.Mark)
	}
	at := map[string]string{}
	for _, r := range f.runsByCode() {
		labels := len(r.UsedMarks) + len(r.Torn) + len(r.Live)
		switch {
		case r.Made < 0 || r.Lost < 0 || r.Spoiled < 0 || r.inHand() < 0:
			b.t.Fatalf("%s: %+v", r.Run, r)
		case r.Set == 0 && r.Used != r.Made:
			b.t.Fatalf("%s used %d and made %d", r.Run, r.Used, r.Made)
		case labels > len(r.Marks) || len(r.UsedMarks.Union(r.Torn).Union(r.Live)) != labels:
			b.t.Fatalf("%s: a label is in two states: used %s, torn %s, live %s of %s", r.Run, r.UsedMarks, r.Torn, r.Live, r.Marks)
		case f.marked(r) && len(r.UsedMarks) != r.done():
			b.t.Fatalf("%s finished %d under %d labels", r.Run, r.done(), len(r.UsedMarks))
		case r.State != RunClosed && at[r.Station] != "":
			b.t.Fatalf("%s and %s are both open at %s", r.Run, at[r.Station], r.Station)
		}
		if r.State != RunClosed {
			at[r.Station] = r.Run
		}
	}
	for m, u := range f.Units {
		if c := f.Ledger.Find(m); c == nil || c.Lot != u.Lot || f.Runs[u.Run] == nil || m >= f.Next.Mark {
			b.t.Fatalf("%s: %+v lies in %+v", m, u, c)
		}
		if _, void := f.Voided[m]; void {
			b.t.Fatalf("%s is cancelled and on a unit", m)
		}
	}
	for m := range f.Ledger.marks {
		if f.Units[m] == nil {
			b.t.Fatalf("%s lies on the floor, and nothing is known of it", m)
		}
	}
}

func TestEarlierDate(t *testing.T) {
	for _, x := range [][3]string{{"", "", ""}, {"2033-01", "", "2033-01"}, {"", "2033-01", "2033-01"},
		{"2033-01", "2033-01-30", "2033-01-30"}, {"2033-01-31", "2033-02", "2033-01-31"}, {"2033-02", "2032-12", "2032-12"}} {
		if got := earlier(x[0], x[1]); got != x[2] {
			t.Errorf("of %q and %q the earlier is %q, not %q", x[0], x[1], x[2], got)
		}
	}
}

// runsByCode lists the runs in the order of their names.
func (f *Floor) runsByCode() []*Run {
	out := make([]*Run, 0, len(f.Runs))
	for _, r := range f.Runs {
		out = append(out, r)
	}
	slices.SortFunc(out, func(a, b *Run) int { return strings.Compare(a.Run, b.Run) })
	return out
}

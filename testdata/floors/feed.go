package floors

import (
	"context"
	"encoding/json"
	"fmt"
	"iter"
	"time"

	"packwright/events"
	"packwright/prep"
	"packwright/workflow"
)

// FeedBenches is how many benches a feed has; each works on goods of its own,
// so that their commands may come in any order among each other.
const FeedBenches = 64

// Feed is a stream of commands without a mistake: every one is kept by a floor
// under the default policy, when each bench's come in order after the prologue.
//
// A bench goes round and round: a lot is announced, received, triaged and
// prepped, a plan of two cartons released, both are filled piece by piece,
// weighed, counted, sealed and sent, and the load is closed. Every third lot
// carries marks. A round is 126 commands, 96 of them placements, for 127 events
// (133 and 134 with marks), and leaves nothing of its goods behind in the
// floor's state but their names.
type Feed struct{ seed uint64 }

// NewFeed gives the feed of a seed.
func NewFeed(seed uint64) Feed { return Feed{seed} }

// Prologue founds the floor and gives every bench its badge: 198 commands for
// 200 events. Sent once, before all else, in order.
func (f Feed) Prologue() []workflow.Command {
	var out []workflow.Command
	b := &feedBench{name: workflow.Board, give: func(c workflow.Command) bool { out = append(out, c); return true }}
	b.do("found", "floor", Floor, "owner", "own", "currency", "EUR", "epoch", fmt.Sprint("feed-", f.seed))
	b.badge = "own"
	b.do("sign-in")
	for _, it := range feedItems() {
		b.doData("register-item", itemData(it))
	}
	b.do("publish-rulebook", "source", string(rulesFile), "file", "rules.yaml")
	for i := range FeedBenches {
		b.do("enrol-badge", "badge", fmt.Sprintf("all-%d", i), "roles", []string{"owner", "supervisor", "packer"})
		b.do("join", "name", fmt.Sprintf("ST-%d", i))
	}
	for i := range FeedBenches {
		own := feedBench{name: fmt.Sprintf("ST-%d", i), badge: fmt.Sprintf("all-%d", i), give: b.give}
		own.do("sign-in")
	}
	return out
}

// Bench gives the endless commands of bench i, from 0 to FeedBenches-1.
func (f Feed) Bench(i int) iter.Seq[workflow.Command] {
	return func(yield func(workflow.Command) bool) {
		b := &feedBench{name: fmt.Sprintf("ST-%d", i), badge: fmt.Sprintf("all-%d", i), n: 1, no: i, give: yield, dice: NewDice(f.seed + uint64(i))}
		for !b.over {
			b.round()
		}
	}
}

// All gives the prologue and then the benches in turn, one command each.
func (f Feed) All() iter.Seq[workflow.Command] {
	return func(yield func(workflow.Command) bool) {
		for _, c := range f.Prologue() {
			if !yield(c) {
				return
			}
		}
		var next [FeedBenches]func() (workflow.Command, bool)
		for i := range next {
			pull, stop := iter.Pull(f.Bench(i))
			defer stop()
			next[i] = pull
		}
		for i := 0; ; i = (i + 1) % FeedBenches {
			if c, _ := next[i](); !yield(c) {
				return
			}
		}
	}
}

// Load gives the first n commands of a seed's feed.
func Load(seed uint64, n int) []workflow.Command {
	out := make([]workflow.Command, 0, n)
	for c := range NewFeed(seed).All() {
		if len(out) == n {
			break
		}
		out = append(out, c)
	}
	return out
}

// WriteLog fills an empty log with the feed of a seed: at least n events,
// perFrame in each frame (one more where the last command gives two), a second
// of the writer's clock a command. It gives how many events and frames that were.
func WriteLog(ctx context.Context, log events.Log, seed uint64, n, perFrame int) (size int, frames uint64, err error) {
	k := NewDesk(workflow.DefaultPolicy(), func(seq uint64, frame []byte) error {
		frames = seq
		return log.Append(ctx, seq-1, frame)
	})
	defer func() {
		if p := recover(); p != nil {
			err = fmt.Errorf("write a log of %d events: %v", n, p)
		}
	}()
	now := time.Date(2031, 3, 1, 5, 0, 0, 0, time.UTC)
	for c := range NewFeed(seed).All() {
		if now = now.Add(time.Second); len(k.lines) >= perFrame {
			k.Flush()
		}
		if k.Events >= n {
			return k.Events, frames, nil
		}
		if a := k.decide(&c, events.At(now)); a.Outcome != workflow.Kept {
			return k.Events, frames, fmt.Errorf("write a log: %s %s %s was answered %s %s", c.ID, c.Type, c.Data, a.Outcome, a.Code)
		}
	}
	return k.Events, frames, nil
}

// feedItems are the goods of a feed.
func feedItems() (out []prep.Item) {
	items, err := prep.ParseItems("goods.yaml", goodsFile)
	if err != nil {
		panic(err)
	}
	for _, it := range items {
		if it.Item == "CUP" || it.Item == "TIN" || it.Item == "FIG" {
			out = append(out, it)
		}
	}
	return out
}

// feedBench is one bench of a feed.
type feedBench struct {
	name, badge string
	n           uint64
	no          int
	rounds      int
	dice        *Dice
	over        bool
	give        func(workflow.Command) bool
}

func (b *feedBench) do(typ string, words ...any) { b.doData(typ, kv(words...)) }

func (b *feedBench) doData(typ string, data map[string]any) {
	if b.over {
		return
	}
	body, err := json.Marshal(data)
	if err != nil {
		panic(err)
	}
	b.n++
	b.over = !b.give(workflow.Command{ID: fmt.Sprintf("%s/1/%d", b.name, b.n), Type: typ, Badge: b.badge, Data: body})
}

// Pieces of a carton and of a round.
const (
	feedCarton  = 48
	feedCartons = 2
	feedPieces  = feedCarton * feedCartons
)

// feedGrams is what a unit weighs, and so what a full carton reads to the gram.
var feedGrams = map[string]int{"TIN": 120, "FIG": 400}

// round is one lot from the truck to the next truck.
func (b *feedBench) round() {
	b.rounds++
	id := fmt.Sprintf("%d-%d", b.no, b.rounds)
	item := "TIN"
	if b.rounds%3 == 0 {
		item = "FIG"
	}
	first := prep.Mark(1 + b.no*20_000_000 + b.rounds*feedPieces)
	b.do("announce", "lot", "L-"+id, "item", item, "owner", "house", "qty", feedPieces, "unit_cost", 100+b.dice.Below(400))
	b.do("receive", "lot", "L-"+id, "tote", "T-"+id, "qty", feedPieces)
	b.do("triage", "tote", "T-"+id, "q", feedPieces, "verdict", "prep", "grade", "A")
	b.prep(id, item, first)
	var lines []events.PlanLine
	for k := range feedCartons {
		lines = append(lines, events.PlanLine{Carton: fmt.Sprintf("C-%s-%d", id, k), Item: item, Q: feedCarton, Owner: "house"})
	}
	b.do("release", "plan", "P-"+id, "lines", lines)
	b.do("open-load", "load", "LD-"+id)
	b.do("check-scale", "scale", "SC-"+b.name, "ref_g", 5000, "read_g", 5000+b.dice.Between(-2, 2))
	for k := range feedCartons {
		b.carton(id, item, k, first+prep.Mark(k*feedCarton))
	}
	b.do("close-load", "load", "LD-"+id)
}

func (b *feedBench) prep(id, item string, first prep.Mark) {
	run, kind := "R-"+id, "item"
	b.do("open-run", "run", run, "tote", "T-"+id, "q", feedPieces, "bench_clear", "yes")
	b.do("print-labels", "run", run, "kind", kind, "n", feedPieces)
	steps := []string{"look-over", "stick-item-label"}
	if item == "FIG" {
		b.do("draw-material", "run", run, "material", "wrap-small", "matlot", "wrap-small/"+b.name)
		b.do("draw-material", "run", run, "material", "box-8x6x4", "matlot", "box-8x6x4/"+b.name)
		b.do("print-labels", "run", run, "kind", "keep-sealed", "n", feedPieces, "marks_from", first)
		b.do("labels-live", "run", run, "from", first, "to", first+feedPieces-1)
		steps = []string{"look-over", "wrap-all-faces", "put-in-box", "stick-item-label", "stick-keep-sealed"}
	}
	for _, s := range steps {
		b.do("check-step", "run", run, "step", s)
	}
	b.do("check-step", "run", run, "step", "scan-one-code", "n", feedPieces/5+1, "value", item)
	if item == "FIG" {
		b.do("finish-units", "run", run, "marks", prep.MarksFromTo(first, first+feedPieces-1), "item", item, "to", "T-"+id)
	} else {
		b.do("finish-units", "run", run, "q", feedPieces, "to", "T-"+id)
	}
	b.do("close-run", "run", run)
}

// carton fills one carton piece by piece and sends it.
func (b *feedBench) carton(id, item string, k int, first prep.Mark) {
	carton := fmt.Sprintf("C-%s-%d", id, k)
	b.do("open-carton", "carton", carton, "tare_g", 400, "box_material", "box-8x6x4")
	for i := range feedCarton {
		if item == "FIG" {
			b.do("place", "carton", carton, "marks", prep.Marks{first + prep.Mark(i)})
		} else {
			b.do("place", "carton", carton, "item", item, "from", "T-"+id)
		}
	}
	b.do("finish-carton", "carton", carton)
	b.do("weigh", "carton", carton, "gross_g", 400+60+feedCarton*feedGrams[item]+b.dice.Between(-3, 3), "scale", "SC-"+b.name)
	b.do("enter-count", "carton", carton, "total", feedCarton)
	b.do("accept-count", "carton", carton)
	b.do("print-labels", "carton", carton, "kind", "carton", "n", 1)
	b.do("seal", "carton", carton, "seal_no", "S-"+carton)
	b.do("dispatch", "carton", carton, "load", "LD-"+id, "seal_no_seen", "S-"+carton)
}

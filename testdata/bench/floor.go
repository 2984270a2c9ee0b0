// Package bench measures packwright and has others check it. It is a module of
// its own, so that who only builds and tests packwright fetches none of what it
// compares with.
//
//	go test ./...                                        the SQL oracle, codecs agree, peers keep the same promise
//	go test -run '^$' -bench Figures -benchtime 1x ./... the table of figures
//	go test -run '^$' -bench Compared -benchtime 1x ./... beside PostgreSQL, SQLite, a message an event
//	go test -run '^$' -bench Growth -benchtime 1x ./...  how things grow with the log
//	go test -run '^$' -bench Codec -benchmem ./...       codecs side by side
//
// # The load
//
// A [Bench] is one packer at one bench who never rests. Its round ([Bench.Round])
// is goods received, triaged, prepped, placed, counted, weighed, sealed and put
// on a truck that leaves, so that the floor stays as small as it was: 116
// commands, 60 of them placements, each accepted by every gate a real one passes.
// Nothing is written to a log but by the engine.
package bench

import (
	"encoding/json"
	"fmt"

	"packwright/events"
	"packwright/prep"
	"packwright/testdata/demo"
	"packwright/workflow"
)

// Floor is the name of the floors measured here.
const Floor = "bench"

// goods are two items with every question answered and nothing to be done but a
// label: one that is counted, one that carries marks.
const goods = `
defaults: {outer: closed, sticker: none, collectible: no, fragile: no, expiry: none, liquid: no, sharp: no, battery: no,
  aerosol: no, magnet: no, hazard_pictogram: no, heat_sensitive: no, pieces_loose: no, small_parts: no, age_under3: no, soft_goods: no,
  window_within_50mm: no, retail_barcodes_visible: yes, item_label: yes, listed: yes}
items:
  - {item: JAR, name: jar of buttons, owner: house, dims: 6 x 4 x 3 in, codes: 9520000010010, trace: class, unit: 300 g, unit_sd: 2 g, value_minor: 1200}
  - {item: BOX, name: boxed figure, owner: house, dims: 6 x 4 x 3 in, codes: 9520000010027, trace: mark, unit: 400 g, unit_sd: 2 g, value_minor: 2400}
`

// A round's goods: so many of each item, so many cartons, all alike.
const (
	jars, boxes, cartons = 48, 12, 4
	roundCommands        = 116 // 60 of them placements
	jarGrams, boxGrams   = 300, 400
	tare, packing        = 500, 60
)

// Founding gives the commands that open a floor with benches 0 to n-1.
func Founding(n int) []workflow.Command {
	list := make([]*Bench, n)
	for i := range list {
		list[i] = NewBench(i)
	}
	return founding(list)
}

func founding(benches []*Bench) []workflow.Command {
	board := &Bench{station: workflow.Board, badge: "odile"}
	board.do("found", "floor", Floor, "owner", "odile", "currency", "EUR", "epoch", "bench")
	board.do("sign-in")
	board.do("publish-rulebook", "source", string(demo.Rules5))
	items, err := prep.ParseItems("goods.yaml", []byte(goods))
	if err != nil {
		panic(err)
	}
	for _, it := range items {
		board.give("register-item", it)
	}
	board.do("check-scale", "scale", "SC-1", "ref_g", 5000, "read_g", 5001)
	out := board.out
	for _, b := range benches {
		board.out = nil
		board.do("join", "name", b.station)
		board.do("enrol-badge", "badge", b.badge, "roles", []events.Role{events.Packer, events.Supervisor, events.Owner}, "recipes_cleared", []string{"*"})
		out = append(out, board.out...)
		out = append(out, workflow.Command{ID: b.station + "/sign-in/1", Badge: b.badge, Type: "sign-in"})
	}
	return out
}

// Bench is one packer at one bench.
type Bench struct {
	no             int
	station, badge string
	n, round       int
	out            []workflow.Command
	left           []workflow.Command // of the round begun by Take
}

// NewBench gives bench i of a floor, before its first round.
func NewBench(i int) *Bench {
	return &Bench{no: i, station: fmt.Sprintf("ST-%d", i), badge: fmt.Sprintf("packer-%d", i)}
}

// do adds a command; words are key, value, key, value.
func (b *Bench) do(kind string, words ...any) {
	body := make(map[string]any, len(words)/2)
	for i := 0; i < len(words); i += 2 {
		body[words[i].(string)] = words[i+1]
	}
	b.give(kind, body)
}

func (b *Bench) give(kind string, body any) {
	raw, err := json.Marshal(body)
	if err != nil {
		panic(err)
	}
	b.n++
	b.out = append(b.out, workflow.Command{ID: fmt.Sprintf("%s/1/%d", b.station, b.n), Badge: b.badge, Type: kind, Data: raw})
}

// named gives the round's own code for a thing.
func (b *Bench) named(kind string, i int) string {
	return fmt.Sprintf("%s-%d-%d-%d", kind, b.no, b.round, i)
}

// Take gives the next k commands, round after round.
func (b *Bench) Take(k int) []workflow.Command {
	list := make([]workflow.Command, 0, k)
	for len(list) < k {
		if len(b.left) == 0 {
			b.left = b.Round()
		}
		n := min(k-len(list), len(b.left))
		list, b.left = append(list, b.left[:n]...), b.left[n:]
	}
	return list
}

// Round gives the commands of the next round. The slice is used again by the
// round after it.
func (b *Bench) Round() []workflow.Command {
	b.out = b.out[:0]
	b.round++
	b.prepare("JAR", jars, 0, 0)
	first := b.no*2_000_000 + (b.round-1)*boxes + 1
	b.prepare("BOX", boxes, 1, first)
	plan := b.named("P", 0)
	var lines []events.PlanLine
	for c := range cartons {
		lines = append(lines, events.PlanLine{Carton: b.named("C", c), Item: "JAR", Q: jars / cartons, Owner: "house"},
			events.PlanLine{Carton: b.named("C", c), Item: "BOX", Q: boxes / cartons, Owner: "house"})
	}
	b.do("release", "plan", plan, "lines", lines)
	load := b.named("LD", 0)
	b.do("open-load", "load", load)
	for c := range cartons {
		b.fill(c, plan, first+c*boxes/cartons)
		b.closeUp(c, load)
	}
	b.do("close-load", "load", load)
	return b.out
}

// prepare brings q units of an item to stage prepped, in the tote it ends in.
func (b *Bench) prepare(item string, q, i, mark int) {
	lot, tote, run := b.named("L", i), b.tote(i), b.named("R", i)
	b.do("announce", "lot", lot, "item", item, "owner", "house", "qty", q, "unit_cost", 500)
	b.do("receive", "lot", lot, "tote", tote, "qty", q)
	b.do("triage", "tote", tote, "q", q, "verdict", "prep")
	b.do("open-run", "run", run, "tote", tote, "q", q, "bench_clear", "yes")
	finish := []any{"run", run, "q", q, "to", tote}
	if mark == 0 {
		b.do("print-labels", "run", run, "kind", "item", "n", q)
	} else {
		marks := prep.MarksFromTo(prep.Mark(mark), prep.Mark(mark+q-1))
		b.do("print-labels", "run", run, "kind", "item", "n", q, "marks_from", marks[0])
		b.do("labels-live", "run", run, "from", marks[0], "to", marks[q-1])
		finish = append(finish, "marks", marks)
	}
	for _, step := range []string{"look-over", "stick-item-label"} {
		b.do("check-step", "run", run, "step", step, "ok", true, "n", q)
	}
	b.do("check-step", "run", run, "step", "scan-one-code", "ok", true, "n", q, "value", item)
	b.do("finish-units", finish...)
	b.do("close-run", "run", run)
}

func (b *Bench) tote(i int) string { return fmt.Sprintf("T-%d-%d", b.no, i) }

// fill opens a carton and places its units one by one.
func (b *Bench) fill(c int, plan string, mark int) {
	carton := b.named("C", c)
	b.do("open-carton", "carton", carton, "plan", plan, "tare_g", tare)
	for range jars / cartons {
		b.do("place", "carton", carton, "item", "JAR", "from", b.tote(0))
	}
	for k := range boxes / cartons {
		b.do("place", "carton", carton, "marks", prep.Marks{prep.Mark(mark + k)})
	}
}

// closeUp finishes, weighs, counts, seals and sends a carton.
func (b *Bench) closeUp(c int, load string) {
	carton, seal := b.named("C", c), b.named("S", c)
	nj, nb := jars/cartons, boxes/cartons
	b.do("finish-carton", "carton", carton)
	b.do("weigh", "carton", carton, "gross_g", tare+packing+nj*jarGrams+nb*boxGrams, "scale", "SC-1")
	b.do("enter-count", "carton", carton, "lines", []events.CountLine{{Item: "JAR", Q: nj}, {Item: "BOX", Q: nb}})
	b.do("accept-count", "carton", carton)
	b.do("print-labels", "carton", carton, "kind", "carton", "n", 1)
	b.do("seal", "carton", carton, "seal_no", seal)
	b.do("dispatch", "carton", carton, "load", load, "seal_no_seen", seal)
}

package workflow

import (
	"flag"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"

	json "github.com/goccy/go-json"
	"github.com/google/go-cmp/cmp"

	"packwright/events"
)

// A story is a file of commands and what the log then says, input and golden in
// one: lines that begin in column 1 are said to the floor, indented lines are
// its answers. go test ./workflow -run Story -update writes the answers anew.
//
//	# a comment
//	use morning                          plays _morning.txt first, silently
//	policy persons: 1; totes: false      changes the house rules
//	13:30 ST-3 sunniva place carton=C-05 item=TRY from_tote=T-03
//	    no E-CAR-05 Not prepped: … | Put it in …
//	    + scan.refused {"error":"E-CAR-05",…}
//	17:44:30(17:28:54) …                 recorded (at)
//	13:31 ST-1 tobi ~place …             sent from the outbox, after being away
//	13:31 ST-1 tobi place for=X-01 …     done for a mismatch
//	13:31 ST-1 tobi place basis=keyed …  not from a scan
//	again                                the command before, with its id
//	07:31 BOARD odile items FILE          register-item for each item of a list
//	13:30:12.500 ST-3 scan C-05          what the reader at a bench typed, and what the bench says
//	cells L-03                           the lot's cells
//	carton C-05                          state and contents
//	stock                                what is on hand of materials
//	17:59:01 sign                        the log's newest head is signed and kept (storyhead_test.go)
//
// Values are JSON or bare words; @FILE is the text of a file; ^2 the place of the
// last but one command that was kept. A badge of - sends none. A command may also
// be given one JSON object instead of key=value words.
var update = flag.Bool("update", false, "write the answers of the stories anew")

const storyDir = "../testdata/stories"

// teller plays one story.
type teller struct {
	t      *testing.T
	floor  *Floor
	frame  uint64
	n      map[string]uint64
	bench  map[string]*Bench
	places []events.Seq // of the commands kept
	told   []string     // numbers of the commands that benches gave by scans
	last   Command
	now    events.Time
	shown  *shown
	heard  func(events.Event) // told of each event applied
	stood  stood
}

// shown collects which gates the stories showed shut and which commands kept.
type shown struct {
	shut map[string]map[Code]bool
	kept map[string]bool
}

func TestStories(t *testing.T) {
	files, err := filepath.Glob(filepath.Join(storyDir, "*.txt"))
	if err != nil || len(files) == 0 {
		t.Fatal("no stories", err)
	}
	all := &shown{map[string]map[Code]bool{}, map[string]bool{}}
	for _, file := range files {
		name := strings.TrimSuffix(filepath.Base(file), ".txt")
		if strings.HasPrefix(name, "_") {
			continue
		}
		t.Run(name, func(t *testing.T) { tellFile(t, file, all) })
	}
	if !t.Failed() {
		t.Run("every gate is shown", all.complete)
	}
}

func tellFile(t *testing.T, file string, all *shown) {
	src, err := os.ReadFile(file)
	if err != nil {
		t.Fatal(err)
	}
	tl := newTeller(t, all)
	got := tl.tell(string(src))
	if *update {
		if err := os.WriteFile(file, []byte(got), 0o644); err != nil {
			t.Fatal(err)
		}
		return
	}
	if diff := cmp.Diff(strings.Split(string(src), "\n"), strings.Split(got, "\n")); diff != "" {
		t.Errorf("%s (-written +happened; -update accepts what happened):\n%s", file, diff)
	}
}

func newTeller(t *testing.T, all *shown) *teller {
	tl := &teller{t: t, floor: NewFloor(nil), n: map[string]uint64{}, bench: map[string]*Bench{}, shown: all}
	tl.floor.KnowHeads(tl.stood.at)
	return tl
}

// tell plays the lines and gives the story with its answers.
func (tl *teller) tell(src string) string {
	var out strings.Builder
	for i, line := range strings.Split(strings.TrimRight(src, "\n"), "\n") {
		if strings.HasPrefix(line, " ") {
			continue
		}
		out.WriteString(line + "\n")
		if line == "" || line[0] == '#' {
			continue
		}
		for _, answer := range tl.line(line, i+1) {
			out.WriteString("    " + answer + "\n")
		}
	}
	return out.String()
}

func (tl *teller) line(line string, n int) []string {
	word, rest, _ := strings.Cut(line, " ")
	switch word {
	case "use":
		src, err := os.ReadFile(filepath.Join(storyDir, "_"+strings.TrimSpace(rest)+".txt"))
		if err != nil {
			tl.t.Fatal(err)
		}
		for i, l := range strings.Split(string(src), "\n") {
			if l != "" && l[0] != '#' && l[0] != ' ' {
				answers := tl.line(l, i+1)
				if len(answers) > 0 && (strings.HasPrefix(answers[0], "no ") || strings.HasPrefix(answers[0], "bad ")) {
					tl.t.Fatalf("beginning %s line %d: %s: %s", rest, i+1, l, answers[0])
				}
			}
		}
		return nil
	case "policy":
		p, err := ParsePolicy("story", []byte(strings.ReplaceAll(rest, "; ", "\n")))
		if err != nil {
			tl.t.Fatal(err)
		}
		tl.floor.under(p)
		return nil
	case "again":
		return tl.give(tl.last)
	case "stock":
		return tl.stock()
	case "cells":
		return tl.cells(rest)
	case "carton":
		return tl.carton(rest)
	}
	f := strings.Fields(line)
	if len(f) > 1 && f[1] == "sign" {
		return tl.sign(line)
	}
	if len(f) == 5 && f[3] == "items" {
		return tl.items(line, f[4], n)
	}
	if len(f) > 3 && f[2] == "scan" {
		tl.now = storyTime(tl.t, f[0])
		return tl.scan(f[1], strings.TrimSpace(strings.SplitN(line, " scan ", 2)[1]))
	}
	return tl.give(tl.command(line, n))
}

// give decides and applies, as the engine does, and tells the answer.
func (tl *teller) give(c Command) []string {
	_, _, answers := tl.judge(c)
	return answers
}

// judge is give with the answer beside what is told of it; no outcome: the
// command cannot be read.
func (tl *teller) judge(c Command) (Outcome, *Refusal, []string) {
	tl.last = c
	dec, err := Decide(tl.floor, &c, events.Max(tl.now, tl.floor.Recorded))
	if err != nil {
		return "", nil, []string{"bad " + strings.ReplaceAll(err.Error(), "\n", "\n        ")}
	}
	head := string(dec.Outcome)
	if r := dec.Refusal; r != nil {
		head += fmt.Sprintf(" %s %s | %s", r.Code, r.Text, r.Next)
		if tl.shown.shut[c.Type] == nil {
			tl.shown.shut[c.Type] = map[Code]bool{}
		}
		tl.shown.shut[c.Type][r.Code] = true
	}
	if dec.Outcome == Kept || dec.Outcome == Call {
		tl.shown.kept[c.Type] = true
	}
	was := statesOf(tl.floor)
	out := []string{head}
	if len(dec.Events) > 0 {
		tl.frame++
		tl.places = append(tl.places, events.Seq{Frame: tl.frame})
	}
	for i := range dec.Events {
		e := &dec.Events[i]
		line, err := events.Encode(nil, e)
		if err != nil {
			tl.t.Fatal(err)
		}
		tl.stood.add(line)
		back, err := events.Decode(line)
		if err != nil {
			tl.t.Fatal(err)
		}
		back.Seq = events.Seq{Frame: tl.frame, Index: i}
		if err := tl.floor.Apply(&back); err != nil {
			tl.t.Fatalf("%s: %v", c.ID, err)
		}
		if tl.heard != nil {
			tl.heard(back)
		}
		out = append(out, fmt.Sprintf("+ %s %s", e.Type(), told(e.Data)))
	}
	if len(dec.Events) > 0 {
		tl.stood.end()
	}
	tl.conserved()
	for _, m := range undrawnMoves(c.Type, was, statesOf(tl.floor)) {
		tl.t.Errorf("%s moves what its rule does not say: %s", c.Type, m)
	}
	return dec.Outcome, dec.Refusal, out
}

// told gives an event's body; of a rulebook, which nobody reads here, its number.
func told(d events.Data) string {
	if book, ok := d.(*events.RulebookPublished); ok {
		return fmt.Sprintf(`{"rev":%d,"note":%q,"effective":%q} with %d rules`, book.Rev, book.Note, book.Effective, len(book.Rulebook.Rules))
	}
	body, _ := json.Marshal(d)
	return string(body)
}

// conserved checks the first law after every command: per lot the cells sum to what was received.
func (tl *teller) conserved() {
	sum := map[string]int{}
	for _, c := range tl.floor.Ledger.cells {
		sum[c.Lot] += c.Qty()
	}
	for lot, l := range tl.floor.Lots {
		if sum[lot] != l.Received {
			tl.t.Fatalf("after %s: lot %s received %d, cells hold %d", tl.last.ID, lot, l.Received, sum[lot])
		}
	}
}

func (tl *teller) cells(lot string) (out []string) {
	for _, c := range tl.floor.Ledger.sorted() {
		if c.Lot == lot {
			out = append(out, strings.TrimSpace(fmt.Sprintf("%s %s %d %s", c.Stage, c.Place, c.Qty(), c.Marks)))
		}
	}
	return out
}

func (tl *teller) carton(code string) (out []string) {
	c := tl.floor.Cartons[code]
	if c == nil {
		return []string{"unknown"}
	}
	out = append(out, fmt.Sprintf("%s at %q, label %t, seal %q", c.State, c.Bench, c.Label, c.Seal))
	for _, x := range tl.floor.Ledger.At(code) {
		out = append(out, strings.TrimSpace(fmt.Sprintf("%s %s %d %s", x.Item, x.Lot, x.Qty(), x.Marks)))
	}
	if m := tl.floor.matterOn(code); m != nil {
		out = append(out, "question "+m.Matter)
	}
	return out
}

// complete demands that each command was kept once and each of its gates shown shut.
func (s *shown) complete(t *testing.T) {
	for name, r := range rules {
		if !s.kept[name] {
			t.Errorf("no story shows %s kept", name)
		}
		for _, g := range r.Gates {
			if !s.shut[name][g.Code] {
				t.Errorf("no story shows %s shut: %s (%s)", name, g.Code, g.Needs)
			}
		}
	}
}

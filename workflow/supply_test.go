package workflow

import (
	"fmt"
	"math/rand/v2"
	"os"
	"path/filepath"
	"strings"
	"testing"

	json "github.com/goccy/go-json"

	"packwright/prep"
)

// The books of the supply room against a list of units, each with the roll it
// had: whatever is finished, swapped late, received and counted, in any order.
func TestSupplyBooksAreExact(t *testing.T) {
	for range 20 {
		seed := rand.Uint64()
		t.Run(fmt.Sprint("seed ", seed), func(t *testing.T) { supplyDay(t, rand.New(rand.NewPCG(seed, 3))) })
	}
}

// use is a roll for as long as it was in use, the n-th of the run.
type use struct {
	roll string
	n    int
}

// supplyModel is the floor and, beside it, what every unit's bag came from.
type supplyModel struct {
	*teller
	rnd   *rand.Rand
	want  map[string]prep.Fixed // on hand, of rolls that were received
	had   []use                 // by unit
	inUse use
}

var rolls = []string{"BG-1", "BG-2", "BG-3"}

func supplyDay(t *testing.T, rnd *rand.Rand) {
	m := &supplyModel{teller: morning(t), rnd: rnd, want: map[string]prep.Fixed{}, inUse: use{roll: rolls[0]}}
	m.open()
	for range 60 {
		roll, n := rolls[rnd.IntN(len(rolls))], 1+rnd.IntN(4)
		switch rnd.IntN(4) {
		case 0:
			m.must("BOARD maren receive-supply material=bag-14x20 matlot=%s q=%d.5", roll, n)
			m.want[roll] += prep.Fixed(n)*prep.One + prep.One/2
		case 1:
			m.finish(n)
		case 2:
			m.swap(roll)
		case 3:
			if m.known(roll) {
				m.must("BOARD maren count-supply matlot=%s q=%d", roll, n)
				m.want[roll] = prep.Fixed(n) * prep.One
			}
		}
		m.compare()
	}
}

func (m *supplyModel) must(format string, args ...any) {
	m.t.Helper()
	if got := m.says("09:00 "+format, args...); !strings.HasPrefix(got, "kept") && got != "already" {
		m.t.Fatalf("%s: %s", fmt.Sprintf(format, args...), got)
	}
}

func (m *supplyModel) known(roll string) bool {
	l := m.floor.MatLots[roll]
	return l != nil && l.Known
}

// open begins a run of thirty trays with all its steps confirmed.
func (m *supplyModel) open() {
	m.must("ST-1 tobi triage tote=T-03 q=30 verdict=prep grade=A")
	m.must("ST-1 tobi open-run run=R-01 tote=T-03 bench_clear=yes")
	m.must("ST-1 tobi print-labels n=30")
	for _, s := range m.floor.recipeOf(m.floor.Runs["R-01"]).Required() {
		say := "ST-1 tobi check-step step=" + s.ID
		switch {
		case s.Check == prep.CheckScan:
			say += " value=9520000010034"
		case s.Check == prep.CheckValue:
			say += " value=read"
		}
		if sampled(s) {
			say += " n=30"
		}
		m.must("%s", say)
	}
	m.must("ST-1 tobi draw-material material=bag-14x20 matlot=%s", m.inUse.roll)
}

func (m *supplyModel) finish(n int) {
	if len(m.had)+n > 30 {
		return
	}
	m.must("ST-1 tobi finish-units q=%d to=T-43", n)
	for range n {
		m.had = append(m.had, m.inUse)
		if m.known(m.inUse.roll) {
			m.want[m.inUse.roll] -= prep.One
		}
	}
}

// swap is said late: the last units had the new roll, as far as they had the old.
func (m *supplyModel) swap(roll string) {
	at := max(len(m.had)-m.rnd.IntN(3), 0)
	if roll == m.inUse.roll || at == 0 {
		return
	}
	m.must("ST-1 tobi swap-material material=bag-14x20 to=%s at_unit=%d", roll, at)
	next := use{roll, m.inUse.n + 1}
	for i := at; i < len(m.had); i++ {
		if m.had[i] != m.inUse {
			continue
		}
		m.had[i] = next
		if m.known(m.inUse.roll) {
			m.want[m.inUse.roll] += prep.One
		}
		if m.known(roll) {
			m.want[roll] -= prep.One
		}
	}
	m.inUse = next
}

func (m *supplyModel) compare() {
	m.t.Helper()
	for roll, q := range m.want {
		units := 0
		for _, u := range m.had {
			if u.roll == roll {
				units++
			}
		}
		if l := m.floor.MatLots[roll]; l.OnHand() != q || l.Runs["R-01"] != units {
			m.t.Fatalf("%s: %s on hand and %v by the floor, want %s and %d of %v", roll, l.OnHand(), l.Runs, q, units, m.had)
		}
	}
}

// What the supply room knows outlives a snapshot.
func TestSupplyOutlivesASnapshot(t *testing.T) {
	for _, story := range []string{"supply-room", "supply-blocked", "supply-substitute", "supply-kept", "supply-rates"} {
		src, err := os.ReadFile(filepath.Join(storyDir, story+".txt"))
		if err != nil {
			t.Fatal(err)
		}
		tl := &teller{t: t, floor: NewFloor(nil), n: map[string]uint64{}, bench: map[string]*Bench{},
			shown: &shown{map[string]map[Code]bool{}, map[string]bool{}}}
		tl.tell(string(src))
		live, err := json.Marshal(tl.floor)
		if err != nil {
			t.Fatal(err)
		}
		var back Floor
		if err := json.Unmarshal(live, &back); err != nil {
			t.Fatal(err)
		}
		again, err := json.Marshal(&back)
		if err != nil || string(again) != string(live) || len(back.MatLots)+len(back.Rates) == 0 {
			t.Errorf("%s: %v\n%s\n%s", story, err, live, again)
		}
	}
}

// A policy that names the figures of the published formula orders at 224.
func TestReorderFromPolicy(t *testing.T) {
	p, err := ParsePolicy("house.yaml", []byte("supplies: yes\nreorder:\n  bubble-small: {per_day: 38, sd: 9, days: 5, z: 1.645}\n  box-7x5x4: {at: 20}\nlifting:\n  hands_out: 15 in\n  hands_up: 30 in\n"))
	if err != nil {
		t.Fatal(err)
	}
	if a, b := p.Reorder["bubble-small"].point(), p.Reorder["box-7x5x4"].point(); a != 224*prep.One || b != 20*prep.One {
		t.Errorf("reorder points %s and %s", a, b)
	}
	for _, x := range []struct{ src, want string }{
		{"reorder:\n  tape: {at: 3, sd: 1}\n", "house.yaml:2:3: a reorder point that is written, and worked out as well"},
		{"reorder:\n  tape: {sd: 0}\n", "house.yaml:2:3: a reorder point of nothing"},
		{"lifting:\n  hands_out: 15 in\n  spell: lunch\n", "spell lunch is not known"},
	} {
		if _, err := ParsePolicy("house.yaml", []byte(x.src)); err == nil || !strings.Contains(err.Error(), x.want) {
			t.Errorf("%q gives %v, want %s", x.src, err, x.want)
		}
	}
}

// Plain practice speaks always, the equation where the bench was measured; the
// lower of the two asks for the label.
func TestHeavy(t *testing.T) {
	p := DefaultPolicy()
	for _, c := range []struct {
		gross prep.Mass
		want  bool
	}{{prep.TeamLiftOver, false}, {prep.TeamLiftOver + 1, true}} {
		if got := p.heavy(c.gross); got != c.want {
			t.Errorf("%s: %t", c.gross, got)
		}
	}
	p.Lifting.HandsOut, p.Lifting.HandsUp, p.Lifting.Travel = 15*prep.Inch, 30*prep.Inch, 10*prep.Inch
	// 51 lb·10/15 = 34 lb = 15.42 kg; 23 kg·(25/38.1)·0.9964·0.9972 = 14.995 kg governs
	for _, c := range []struct {
		gross prep.Mass
		want  bool
	}{{14_990 * prep.Gram, false}, {15 * prep.Kilogram, true}} {
		if got := p.heavy(c.gross); got != c.want {
			t.Errorf("at a measured bench, %s: %t", c.gross, got)
		}
	}
	p.Lifting.HandsOut = 80 * prep.CM // beyond what the equation covers: no load is recommended
	if !p.heavy(prep.Kilogram) {
		t.Error("a carton held at arms' length asks for nobody else")
	}
}

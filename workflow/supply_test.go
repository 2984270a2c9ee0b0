package workflow

import (
	"fmt"
	"math/rand/v2"
	"slices"
	"strings"
	"testing"

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

func supplyDay(t *testing.T, rnd *rand.Rand) {
	tl := morning(t)
	must := func(format string, args ...any) {
		t.Helper()
		if got := tl.says("09:00 "+format, args...); !strings.HasPrefix(got, "kept") && got != "already" {
			t.Fatalf("%s: %s", fmt.Sprintf(format, args...), got)
		}
	}
	must("ST-1 tobi triage tote=T-03 q=30 verdict=prep grade=A")
	must("ST-1 tobi open-run run=R-01 tote=T-03 bench_clear=yes")
	must("ST-1 tobi print-labels n=30")
	for _, s := range tl.floor.recipeOf(tl.floor.Runs["R-01"]).Required() {
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
		must("%s", say)
	}
	rolls := []string{"BG-1", "BG-2", "BG-3"}
	want := map[string]prep.Fixed{}
	var had []use // each unit's bag
	in := use{roll: rolls[0]}
	must("ST-1 tobi draw-material material=bag-14x20 matlot=%s", in.roll)
	for range 60 {
		roll := rolls[rnd.IntN(len(rolls))]
		m := tl.floor.MatLots[roll]
		switch n := 1 + rnd.IntN(4); rnd.IntN(4) {
		case 0:
			must("BOARD maren receive-supply material=bag-14x20 matlot=%s q=%d.5", roll, n)
			want[roll] += prep.Fixed(n)*prep.One + prep.One/2
		case 1:
			if len(had)+n <= 30 {
				must("ST-1 tobi finish-units q=%d to=T-43", n)
				for range n {
					had = append(had, in)
					if m := tl.floor.MatLots[in.roll]; m.Known {
						want[in.roll] -= prep.One
					}
				}
			}
		case 2: // said late: the last units had the new one, as far as they had the old
			at := max(len(had)-rnd.IntN(3), 0)
			if roll == in.roll || at == 0 {
				continue
			}
			known := m != nil && m.Known
			must("ST-1 tobi swap-material material=bag-14x20 to=%s at_unit=%d", roll, at)
			next := use{roll, in.n + 1}
			for i := at; i < len(had); i++ {
				if had[i] != in {
					continue
				}
				had[i] = next
				if tl.floor.MatLots[in.roll].Known {
					want[in.roll] += prep.One
				}
				if known {
					want[roll] -= prep.One
				}
			}
			in = next
		case 3:
			if m != nil && m.Known {
				must("BOARD maren count-supply matlot=%s q=%d", roll, n)
				want[roll] = prep.Fixed(n) * prep.One
			}
		}
		for roll, q := range want {
			if m := tl.floor.MatLots[roll]; m.OnHand() != q || m.Runs["R-01"] != len(had)-len(slices.DeleteFunc(slices.Clone(had), func(u use) bool { return u.roll == roll })) {
				t.Fatalf("%s: %s on hand and %v by the floor, want %s of %v", roll, m.OnHand(), m.Runs, q, had)
			}
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

package audit_test

import (
	"bytes"
	"fmt"
	"maps"
	"math/rand/v2"
	"slices"
	"testing"
	"time"

	"pgregory.net/rapid"

	"packwright/audit"
	"packwright/audit/follow"
	"packwright/events"
	"packwright/prep"
)

// kinFloor is a random floor on which units share all that they can share: several
// runs of several revisions work on a lot, roll follows roll, cartons are weighed
// anew, things are told late, and there are complaints.
type kinFloor struct {
	*randomFloor
	made   map[string]string // run → the roll in use
	claims []string
	linked map[string]bool
	rolls  prep.Mark // the last number that was printed
}

func newKinFloor(t testing.TB, r *rapid.T) *kinFloor {
	f := &kinFloor{randomFloor: newRandomFloor(t, r), made: map[string]string{}, linked: map[string]bool{}}
	for rev := 1; rev <= 3; rev++ {
		book, err := prep.ParseRulebook("rules.yaml", []byte(fmt.Sprintf(warmRules, rev)))
		if err != nil {
			t.Fatal(err)
		}
		f.step(&events.RulebookPublished{Rev: rev, Digest: book.Digest(), Rulebook: *book, Effective: "new-runs"})
	}
	return f
}

func (f *kinFloor) aRun() string {
	var all []string
	for _, list := range f.runs {
		all = append(all, list...)
	}
	slices.Sort(all)
	return f.pick("some run", slices.Compact(all)...)
}

// warmRules has a label warmed off.
const warmRules = `rev: %d
recipes: {otherwise: any}
steps:
  warm-off: {phase: remove, means: warm-air, say: "Warm the label off.", check: done}
rules:
  - rule: P-01
    title: A sticker
    when: {sticker: [paper]}
    must: [warm-off]
    allow: [warm-air]
    because: It must come off.
`

// turn is one act of the floor, and one about what its units share.
func (f *kinFloor) turn() {
	f.badge = f.pick("badge", "tobi", "ife")
	f.ago = time.Duration(f.pick2("ago", 0, 0, 0, 4, 90)) * time.Second
	f.act()
	switch f.pick("kin", "none", "none", "run", "draw", "swap", "instead", "print", "roll", "warm", "weigh", "carton", "claim", "claim", "link", "mark") {
	case "run":
		lot, run := f.pick("lot", "L-01", "L-02", "L-03"), fmt.Sprint("R-", len(f.frames))
		f.runs[lot] = append(f.runs[lot], run)
		f.step(&events.RunOpened{Run: run, Tote: "T-1", Lot: lot, Item: randomLots[lot], Q: 10, Recipe: f.pick("recipe", "any", "wrap"), RulesRev: f.n(3), Clear: "yes"})
	case "draw":
		run := f.aRun()
		f.made[run] = f.roll()
		f.step(&events.MaterialDrawn{Run: run, Material: "film", MatLot: f.made[run]})
	case "swap":
		if run := f.aRun(); f.made[run] != "" {
			was := f.made[run]
			f.made[run] = f.roll()
			f.step(&events.MaterialSwapped{Run: run, Material: "film", From: was, To: f.made[run], AtUnit: f.n(13) - 1})
		}
	case "instead":
		run := f.aRun()
		was := f.made[run]
		f.made[run] = f.roll()
		f.step(&events.SupplySubstituted{Run: run, Material: "film", By: "film", From: was, MatLot: f.made[run], AtUnit: f.n(13) - 1, Allowed: "recipe"})
	case "roll": // before the numbers are used, or told late
		from := f.rolls + 1
		f.rolls += prep.Mark(f.n(6))
		f.step(&events.LabelsPrinted{Run: f.aRun(), Kind: events.ItemLabel, N: int(f.rolls - from + 1), From: from, To: f.rolls, Template: f.n(3) - 1})
	case "print":
		f.step(&events.LabelsPrinted{Run: f.aRun(), Kind: events.KeepSealed, N: 1, Template: f.n(3) - 1})
	case "warm":
		f.step(&events.StepChecked{Run: f.aRun(), Step: "warm-off", OK: true})
	case "weigh":
		f.step(&events.CartonWeighed{Carton: f.aCarton(), Scale: f.pick("scale", "SC-1", "SC-2")})
	case "carton":
		carton := fmt.Sprint("C-", len(f.frames))
		f.state[carton] = "open"
		f.step(&events.CartonOpened{Carton: carton, Plan: "PL"})
	case "claim":
		f.complain()
	case "link":
		if len(f.claims) > 1 {
			k := f.n(len(f.claims) - 1)
			if again := f.claims[k]; !f.linked[again] {
				f.linked[again] = true
				f.step(&events.ClaimLinked{Claim: again, DupOf: f.claims[f.n(k)-1]})
			}
		}
	case "mark":
		f.spoilMark()
	}
}

func (f *kinFloor) pick2(name string, list ...int) int {
	return rapid.SampledFrom(list).Draw(f.r, name)
}

func (f *kinFloor) roll() string { return f.pick("roll", "film-1", "film-2", "film-3") }

func (f *kinFloor) aCarton() string {
	return f.pick("some carton", slices.Sorted(maps.Keys(f.state))...)
}

func (f *kinFloor) complain() {
	key := fmt.Sprint("CL-", len(f.frames))
	d := &events.ClaimOpened{Claim: key, Kind: f.pick("about", "damaged", "damaged", "wrong", "short"), Qty: f.n(3)}
	if f.pick("names", "a mark", "a carton") == "a mark" {
		d.Given.Mark = prep.Mark(f.n(int(f.marks) + 2))
	} else if d.Given.Carton = f.aCarton(); f.pick("and", "its goods", "one item") == "one item" {
		d.Given.Item = f.pick("item", "MG3", "CAP", "PLU")
	}
	f.claims = append(f.claims, key)
	f.step(d)
}

// spoilMark cancels a label of a unit that stands in a tote, so that several units of a lot
// are without at once and nobody can say which gets which new one.
func (f *kinFloor) spoilMark() {
	var list []events.Cell
	for c := range f.cells {
		if _, carton := f.state[c.Place]; c.Mark > 0 && c.Stage == events.Prepped && !carton {
			list = append(list, c)
		}
	}
	if len(list) > 0 {
		slices.SortFunc(list, func(a, b events.Cell) int { return int(a.Mark) - int(b.Mark) })
		c := rapid.SampledFrom(list).Draw(f.r, "label")
		f.step(&events.MarkVoided{Mark: c.Mark, Lot: c.Lot, Item: c.Item, Stage: c.Stage, Place: c.Place})
	}
}

// TestSumsOfAnyFloor: after each turn of any floor the sums equal what is gathered
// from all rows; a fold taken up from a snapshot agrees, and saves the same bytes
// as one that read from the first event.
func TestSumsOfAnyFloor(t *testing.T) {
	tr := &tried{sets: map[audit.Axis]int{}}
	rapid.Check(t, func(r *rapid.T) {
		f := newKinFloor(t, r)
		fold := follow.New()
		dice := rand.New(rand.NewPCG(rapid.Uint64().Draw(r, "windows"), 1))
		for range rapid.IntRange(10, 80).Draw(r, "turns") {
			f.turn()
			for n := int(fold.Checkpoint().Seq); n < len(f.frames); n++ {
				if _, err := fold.Take(uint64(n+1), f.frames[n]); err != nil {
					r.Fatal(err)
				}
			}
			if dice.IntN(4) == 0 {
				fold.View(func(a *audit.Fold) { tr.compareSums(r, fmt.Sprintf("frame %d,", len(f.frames)), a, dice) })
			}
			if dice.IntN(30) == 0 {
				fold = roundTrip(r, fold)
			}
		}
		var once, anew []byte
		fold.View(func(a *audit.Fold) {
			tr.compareSums(r, "at the end,", a, dice)
			once = saved(r, a)
		})
		whole := f.read()
		if anew = saved(r, whole); !bytes.Equal(once, anew) {
			r.Fatal("taken up from snapshots on the way it is saved otherwise than read at once")
		}
	})
	if tr.atMost == 0 || tr.complaints == 0 || tr.sealed == 0 || tr.elsewhere == 0 || tr.cut == 0 || tr.odd == 0 {
		t.Errorf("%+v: something was not tried", tr)
	}
	for _, axis := range []audit.Axis{audit.ByTemplate, audit.ByWarmAir, audit.ByMaterial, audit.ByScale, audit.ByLot, audit.ByBench} {
		if tr.sets[axis] == 0 {
			t.Errorf("no set by %s was tried", axis)
		}
	}
	t.Logf("%+v", tr)
}

func saved(t failer, f *audit.Fold) []byte {
	var b bytes.Buffer
	if err := f.Save(&b); err != nil {
		t.Fatal(err)
	}
	return b.Bytes()
}

package workflow

import (
	"fmt"
	"math/rand/v2"
	"strings"
	"testing"
	"time"

	"packwright/events"
	"packwright/prep"
)

// A bench can never pass a step that the rulebook asks for: for goods of every
// kind that the shipped rulebook lets be prepped, each required step, material
// and label is left out in turn, and the units are not finished.
func TestNoRequiredStepIsPassed(t *testing.T) {
	seed := rand.Uint64()
	t.Logf("seed %d", seed)
	rnd := rand.New(rand.NewPCG(seed, 7))
	book := prep.DefaultRulebook()
	seen, recipes, codes := map[string]bool{}, 0, map[string]int{}
	for tries := 0; recipes < 60 && tries < 4000; tries++ {
		it := randomItem(rnd)
		r := book.Recipe(it)
		if !r.Open() || seen[r.Digest()] {
			continue
		}
		seen[r.Digest()] = true
		recipes++
		(&byTheBook{t: t, book: book, item: it, recipe: r, codes: codes}).try()
	}
	t.Logf("%d recipes; refused %v", recipes, codes)
	if recipes < 60 || codes["E-PRE-02"] < 100 || codes["E-PRE-12"] < 30 || codes["E-PRE-13"] < 3 || codes["E-PRE-17"] < 10 {
		t.Errorf("%d recipes, refused %v: that shows little", recipes, codes)
	}
}

// randomItem is goods that somebody has looked at all over, mostly harmless.
func randomItem(rnd *rand.Rand) prep.Item {
	it := prep.Item{Item: "ODD", Name: "odd goods", Trace: prep.TraceClass, UnitG: 300 * prep.Gram,
		Dims: prep.Dims{prep.Length(20+rnd.IntN(200)) * prep.MM, prep.Length(20+rnd.IntN(150)) * prep.MM, prep.Length(20+rnd.IntN(100)) * prep.MM}}
	harmful := map[string]bool{}
	for _, name := range prep.SafetyAttrs() {
		harmful[name] = true
	}
	for _, name := range prep.AttrNames() {
		words := prep.AttrWords(name)
		if len(words) < 2 {
			continue // a number
		}
		word := words[1+rnd.IntN(len(words)-1)]
		if harmful[name] && rnd.IntN(6) > 0 {
			word = "no"
		}
		if err := prep.SetAttr(&it.Attrs, name, word); err != nil {
			panic(err)
		}
	}
	it.Attrs.Listed, it.Attrs.Grade = prep.Yes, prep.GradeA
	return it
}

// byTheBook is one run of four pieces, done in full but for what is left out.
type byTheBook struct {
	t      *testing.T
	book   *prep.Rulebook
	item   prep.Item
	recipe prep.Recipe
	codes  map[string]int // how often each refusal was asked for
	tl     *teller
	clock  time.Duration
}

func (b *byTheBook) try() {
	if got := b.play("", ""); !strings.HasPrefix(got, "kept") {
		b.t.Fatalf("%s: all was done, and finishing says %s", b, got)
	}
	for _, s := range b.recipe.Required() {
		switch {
		case atClose(s):
			b.play(s.ID, "")
			b.refused("close without "+s.ID, b.say("close-run"), "E-PRE-02")
		case s.Phase == prep.PhaseDry && s.Check == prep.CheckTimer:
			b.refused("no wait", b.play(s.ID, ""), "E-PRE-13")
		default:
			b.refused("without "+s.ID, b.play(s.ID, ""), "E-PRE-02")
		}
	}
	for _, m := range b.recipe.Materials {
		if m.Kind != prep.KindLabel && m.Kind != prep.KindRemover {
			b.refused("without "+m.Material, b.play("", m.Material), "E-PRE-12")
		}
	}
	if labelsFor(&b.recipe, events.ItemLabel) > 0 {
		b.refused("without a label", b.play("", "item-label"), "E-PRE-17")
	}
}

func (b *byTheBook) refused(what, got, code string) {
	b.t.Helper()
	b.codes[code]++
	if !strings.HasPrefix(got, "no "+code) {
		b.t.Errorf("%s, %s: %s, want %s", b, what, got, code)
	}
}

func (b *byTheBook) String() string { return fmt.Sprintf("%s %+v", b.recipe.Name, b.item.Attrs) }

// play does the whole run without one step or one material, and gives what finishing says.
func (b *byTheBook) play(noStep, noMaterial string) string {
	b.open()
	for _, m := range b.recipe.Materials {
		if m.Kind != prep.KindLabel && m.Material != noMaterial {
			b.must("draw-material material=%s matlot=X-%s", m.Material, m.Material)
		}
	}
	if noMaterial != "item-label" && labelsFor(&b.recipe, events.ItemLabel) > 0 {
		b.must("print-labels kind=item-label")
	}
	for _, s := range b.recipe.Steps {
		if s.ID == noStep || s.ID == PairCheck || s.Severity < prep.Must && s.Means != prep.Remover {
			continue
		}
		b.check(s, noStep)
	}
	if noStep == PairCheck {
		return b.say("finish-units q=4")
	}
	if step, dry := b.recipe.Step(noStep); dry && step.Phase == prep.PhaseDry && step.Check == prep.CheckTimer {
		// Whoever does not wait wets them again, just before they are ready.
		for _, s := range b.recipe.Steps {
			if s.Phase < prep.PhaseDry && s.Severity >= prep.Must && s.Means == step.Means {
				b.must("%s", b.confirm(s))
				return b.say("finish-units q=4 pair_checked=true")
			}
		}
		b.must("%s", b.confirm(b.wet()))
	}
	return b.say("finish-units q=4 pair_checked=true")
}

// wet is the last required step before anything dries.
func (b *byTheBook) wet() (last prep.Step) {
	for _, s := range b.recipe.Steps {
		if s.Phase < prep.PhaseDry && s.Severity >= prep.Must {
			last = s
		}
	}
	return last
}

// check confirms a step when its time has come.
func (b *byTheBook) check(s prep.Step, noStep string) {
	if s.Phase >= prep.PhaseDry {
		b.clock += time.Duration(b.recipe.DryWait+1) * time.Second
	}
	b.clock += time.Duration(s.Seconds) * time.Second
	b.must("%s", b.confirm(s))
}

func (b *byTheBook) confirm(s prep.Step) string {
	say := "check-step step=" + s.ID
	if sampled(s) {
		say += " n=4"
	}
	switch s.Check {
	case prep.CheckValue:
		say += " value=7"
	case prep.CheckScan:
		say += " value=ODD"
	}
	return say
}

// open gives a morning with four such pieces triaged, and their run.
func (b *byTheBook) open() {
	b.tl = &teller{t: b.t, floor: NewFloor(nil), n: map[string]uint64{}, shown: &shown{map[string]map[Code]bool{}, map[string]bool{}}}
	b.clock = 9 * time.Hour
	for _, line := range []string{"found floor=lantern owner=odile currency=USD epoch=e1", "sign-in",
		"enrol-badge badge=tobi roles=[\"packer\"] recipes_cleared=[\"*\"]", "join name=ST-1"} {
		b.tl.says("08:00 BOARD odile %s", line)
	}
	b.must("sign-in")
	f := b.tl.floor
	f.Books[b.book.Rev], f.RulesRev = b.book, b.book.Rev
	f.Items["ODD"] = &b.item
	f.policy.Persons = 1 // a second pair of eyes is asked for elsewhere
	f.Lots["L-99"] = &Lot{Lot: "L-99", Kind: "bought", Item: "ODD", Owner: "house", Expected: 4, Received: 4, Closed: true}
	f.Ledger.put(Key{"L-99", events.Triaged, "T-99"}, "ODD", 4, nil)
	f.tote("T-99")
	b.must("open-run tote=T-99 bench_clear=yes")
}

func (b *byTheBook) must(format string, args ...any) {
	b.t.Helper()
	if got := b.say(format, args...); !strings.HasPrefix(got, "kept") {
		b.t.Fatalf("%s: %s: %s", b, fmt.Sprintf(format, args...), got)
	}
}

func (b *byTheBook) say(format string, args ...any) string {
	b.clock += time.Second
	at := time.Time{}.Add(b.clock).Format(time.TimeOnly)
	return b.tl.says("%s ST-1 tobi %s", at, fmt.Sprintf(format, args...))
}

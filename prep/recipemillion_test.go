package prep

import (
	"runtime/debug"
	"slices"
	"sync"
	"testing"
	"time"
)

// draws is a small generator (splitmix64) so that a failure can be repeated
// from its printed seed on any machine.
type draws uint64

func (d *draws) next() uint64 {
	*d += 0x9e3779b97f4a7c15
	z := uint64(*d)
	z = (z ^ z>>30) * 0xbf58476d1ce4e5b9
	z = (z ^ z>>27) * 0x94d049bb133111eb
	return z ^ z>>31
}

func (d *draws) below(n int) int { return int(d.next() % uint64(n)) }

// item draws full combinations of answers; one answer in thirty is unknown,
// stops are kept rare so that most items get a whole recipe.
func (d *draws) item() Item {
	it := Item{Item: "X", Name: "x", Trace: TraceClass}
	for i := range attributes {
		at := &attributes[i]
		switch {
		case d.below(30) == 0:
		case at.count != nil:
			*at.count(&it.Attrs) = int64(1 + d.below(2000))
		case at.many:
			*at.word(&it.Attrs) = uint8(PrintedNone)
			if d.below(2) == 0 {
				*at.word(&it.Attrs) = uint8(4 * (1 + d.below(63)))
			}
		case slices.Contains([]string{"hazard_pictogram", "aerosol", "magnet", "battery", "grade", "arrival"}, at.name) && d.below(20) != 0:
			*at.word(&it.Attrs) = 1
		case at.name == "listed" && d.below(20) != 0:
			*at.word(&it.Attrs) = uint8(Yes)
		default:
			*at.word(&it.Attrs) = uint8(1 + d.below(len(at.words)-1))
		}
	}
	it.UnitG = Mass(1+d.below(200)) * 100 * Gram
	it.Set = d.below(4)
	it.Value = Money(d.below(5000)) * MinorUnit
	if d.below(20) != 0 {
		it.Dims = Dims{Length(20+d.below(500)) * MM, Length(20+d.below(300)) * MM, Length(5+d.below(150)) * MM}
	}
	return it
}

// decided checks what the rules came to, before it is put into words: no
// contradiction, nothing forbidden in use, and unknown safety never opens work.
func decided(w *making) string {
	inUse := w.methods | w.enclosed
	switch {
	case len(w.conflicts) > 0:
		return "a contradiction: " + w.conflicts[0].what
	case len(w.hits) == 0:
		return "no rule speaks"
	case inUse&w.forbidden != 0:
		return "something forbidden is in use"
	case inUse.has(WarmAir) && (inUse.has(Remover) || inUse.has(Spray)):
		return "warm air and remover"
	}
	for i := range attributes {
		if attributes[i].safety && !attributes[i].known(&w.item.Attrs) && w.r.Open() {
			return attributes[i].name + " unknown and work opened"
		}
	}
	return ""
}

// laws are what must hold of every recipe, whatever the item.
func laws(b *Rulebook, it Item, r Recipe) string {
	switch {
	case r.Name == "":
		return "no name"
	case len(r.Hits) == 0:
		return "no rule speaks"
	case r.Open() == (len(r.Steps) == 0):
		return "steps and a stop, or neither"
	case r.Heat && r.Solvent:
		return "warm air and remover"
	}
	last := Phase(0)
	for _, s := range r.Steps {
		if s.Phase < last {
			return "steps out of order"
		}
		last = s.Phase
		if s.Severity == Must && s.Check == CheckNone {
			return "must without a check: " + s.ID
		}
		if (s.Means == WarmAir && !r.Heat) || (s.Means == Remover && !r.Solvent) {
			return "a step with what is not allowed: " + s.ID
		}
	}
	for _, m := range r.Materials {
		if _, ok := b.Materials.Find(m.Material); !ok {
			return "no such material " + m.Material
		}
	}
	for _, m := range r.RemovalMethods {
		if !Leaves(it.Attrs.Surface, m.Means).Usable() {
			return "the surface does not bear " + string(m.Means)
		}
	}
	return ""
}

// TestMillionItems cross-checks the proof by decomposition with a million full
// combinations of answers, sizes included; every eighth is written out as a
// whole recipe and held against its laws.
func TestMillionItems(t *testing.T) {
	n, bench := 1_000_000, 2
	if testing.Short() {
		n = 50_000
	}
	b := DefaultRulebook()
	defer debug.SetGCPercent(debug.SetGCPercent(800)) // short-lived values only
	began := time.Now()
	var wg sync.WaitGroup
	open := make([]int, bench)
	fired := make([]map[int]bool, bench)
	for part := range bench {
		wg.Go(func() {
			const seed = 20310304
			d := draws(seed + uint64(part))
			fired[part] = map[int]bool{}
			for i := range n / bench {
				it := d.item()
				w := b.making(b.made, knownOf(it))
				w.item = it
				w.decide()
				broken := decided(w)
				if broken == "" && i%8 == 0 {
					broken = laws(b, it, w.write())
				}
				if broken != "" {
					t.Errorf("seed %d+%d: %s\n%+v", seed, part, broken, it)
					return
				}
				if w.r.Open() {
					open[part]++
				}
				for _, h := range w.hits {
					fired[part][h] = true
				}
			}
		})
	}
	wg.Wait()
	all := 0
	for part := range bench {
		all += open[part]
	}
	for i, r := range b.Rules {
		if !fired[0][i] && !fired[1][i] {
			t.Errorf("%s never fired in %d items", r.ID, n)
		}
	}
	t.Logf("%d items, %d recipes, %d holds and diverts, %v", n, all, n-all, time.Since(began).Round(time.Millisecond))
	if all < n/20 {
		t.Errorf("only %d of %d items got a recipe: the draw proves little", all, n)
	}
}

func BenchmarkRecipe(b *testing.B) {
	book := DefaultRulebook()
	d := draws(1)
	items := make([]Item, 1024)
	for i := range items {
		items[i] = d.item()
	}
	b.ReportAllocs()
	for i := 0; b.Loop(); i++ {
		book.Recipe(items[i%len(items)])
	}
}

package prep

import (
	"slices"
	"strings"
	"testing"

	"pgregory.net/rapid"
)

func mustDims(t *testing.T, s string) Dims {
	t.Helper()
	d, err := ParseDims(s)
	if err != nil {
		t.Fatal(err)
	}
	return d
}

func mustInches(t *testing.T, s string) Length {
	t.Helper()
	l, err := ParseLength(strings.TrimSuffix(s, " in") + " in")
	if err != nil {
		t.Fatal(err)
	}
	return l
}

func TestFitBoxValues(t *testing.T) {
	for _, r := range checkRows(t, "fit.txt", "box") {
		need := Wrapped(mustDims(t, r.col[0]), mustInches(t, r.col[1]), r.int(t, 2))
		f := FitBox(need, []Box{{ID: r.col[3], Inner: mustDims(t, r.col[3])}})[0]
		got := f.Clearance.Sorted()
		for i, s := range strings.Fields(r.col[4]) {
			// The wrap is kept in whole µm, so a layer may be off by one on each of its sides.
			want := r.mustSigned(t, s)
			if d := got[i] - want; d < -4 || d > 4 {
				t.Errorf("%s: clearance %v, want %v (%s)", r.place, got[i], want, r.source)
			}
		}
		if string(f.Verdict) != r.col[5] {
			t.Errorf("%s: %s, want %s", r.place, f.Verdict, r.col[5])
		}
	}
}

func (r checkRow) mustSigned(t *testing.T, s string) Length {
	if pos, neg := strings.CutPrefix(s, "-"); neg {
		return -mustInches(t, pos)
	}
	return mustInches(t, s)
}

func TestFitVerdictLimits(t *testing.T) {
	box := []Box{{ID: "b", Inner: Dims{100 * MM, 100 * MM, 100 * MM}}}
	for _, c := range []struct {
		side Length
		want Verdict
	}{
		{103*MM + 1, WillCrush}, {103 * MM, Tight}, {100*MM + 1, Tight}, {100 * MM, Snug}, {88 * MM, Snug}, {88*MM - 1, Fill},
	} {
		if f := FitBox(Dims{c.side, c.side, c.side}, box)[0]; f.Verdict != c.want {
			t.Errorf("side %v: %s, want %s", c.side, f.Verdict, c.want)
		}
	}
}

func TestFitChoosesSmallest(t *testing.T) {
	need := Wrapped(Dims{158750, 114300, 88900}, 4763, 1)
	boxes := []Box{
		{"12x10x8", Dims{12 * Inch, 10 * Inch, 8 * Inch}, 55000},
		{"8x6x4", Dims{8 * Inch, 6 * Inch, 4 * Inch}, 32000},
		{"7x5x3", Dims{7 * Inch, 5 * Inch, 3 * Inch}, 20000},
		{"7x5x4b", Dims{7 * Inch, 5 * Inch, 4 * Inch}, 30000},
		{"4x7x5", Dims{4 * Inch, 7 * Inch, 5 * Inch}, 28000},
	}
	var order []string
	for _, f := range FitBox(need, boxes) {
		order = append(order, f.Box.ID+" "+string(f.Verdict))
	}
	want := []string{"4x7x5 snug", "7x5x4b snug", "8x6x4 fill", "12x10x8 fill", "7x5x3 will-crush"}
	if !slices.Equal(order, want) {
		t.Errorf("order %q, want %q", order, want)
	}
	f := FitBox(need, boxes[1:2])[0]
	if f.Void != 3146316-2050897 || f.FillSides != 2 || f.Void.Units(1_000_000) != 2 {
		t.Errorf("void %d, to be filled on %d sides, %d pieces", f.Void, f.FillSides, f.Void.Units(1_000_000))
	}
	upright := BoxRule{Give: 3 * MM, Snug: 12 * MM, Upright: true}
	if f := upright.Fit(need, boxes[4:])[0]; f.Verdict != WillCrush || f.Ways != 0 {
		t.Errorf("lying down only, yet %s in %d ways", f.Verdict, f.Ways)
	}
}

func genDims(name string, most int64) *rapid.Generator[Dims] {
	return rapid.Custom(func(t *rapid.T) Dims {
		side := rapid.Int64Range(1000, most)
		return Dims{Length(side.Draw(t, name)), Length(side.Draw(t, name)), Length(side.Draw(t, name))}
	})
}

// Turning the item or the box changes nothing but the order of the sides.
func TestFitInvariantUnderAxisOrder(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		need, box := genDims("need", 300_000).Draw(t, "need"), genDims("box", 300_000).Draw(t, "box")
		a := FitBox(need, []Box{{Inner: box}})[0]
		for _, ti := range turns {
			for _, tb := range turns {
				b := FitBox(need.turned(ti), []Box{{Inner: box.turned(tb)}})[0]
				if a.Verdict != b.Verdict || a.Tightest != b.Tightest || a.Void != b.Void || a.Ways != b.Ways || a.FillSides != b.FillSides ||
					a.Clearance.Sorted() != b.Clearance.Sorted() {
					t.Fatalf("%v in %v: %+v; turned %v %v: %+v", need, box, a, ti, tb, b)
				}
			}
		}
	})
}

// A box larger on any side never crushes what a smaller one did not, and a
// smaller need is never crushed where a larger one was not.
func TestFitMonotone(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		need, box := genDims("need", 300_000).Draw(t, "need"), genDims("box", 300_000).Draw(t, "box")
		side := rapid.IntRange(0, 2).Draw(t, "side")
		more := Length(rapid.Int64Range(0, 50_000).Draw(t, "more"))
		before := FitBox(need, []Box{{Inner: box}})[0]
		bigger, smaller := box, need
		bigger[side] += more
		smaller[side] -= min(more, smaller[side]-1)
		for _, after := range []BoxFit{FitBox(need, []Box{{Inner: bigger}})[0], FitBox(smaller, []Box{{Inner: box}})[0]} {
			if (before.Usable() && !after.Usable()) || after.Tightest < before.Tightest || after.Ways < before.Ways {
				t.Fatalf("%v in %v: %+v, then %+v", need, box, before, after)
			}
		}
	})
}

// The largest tightest clearance over all ways to turn the item is the one with
// both sorted: an independent statement of the best way.
func TestFitBestWayIsSorted(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		need, box := genDims("need", 300_000).Draw(t, "need"), genDims("box", 300_000).Draw(t, "box")
		n, b := need.Sorted(), box.Sorted()
		want := min(b[0]-n[0], b[1]-n[1], b[2]-n[2])
		f := FitBox(need, []Box{{Inner: box}})[0]
		if f.Tightest != want || f.Usable() != (want >= -3*MM) || f.Need.Sorted() != n {
			t.Fatalf("%v in %v: %+v, want tightest %v", need, box, f, want)
		}
		for i := range f.Need {
			if f.Need[i]+f.Clearance[i] != box[i] {
				t.Fatalf("side %d of %+v does not add up", i, f)
			}
		}
	})
}

func TestBagNeedValues(t *testing.T) {
	for _, r := range checkRows(t, "fit.txt", "bag") {
		w, l := DefaultBagRule.Need(mustDims(t, r.col[0]))
		if w != mustInches(t, r.col[1]) || l != mustInches(t, r.col[2]) {
			t.Errorf("%s: %s by %s, want %s by %s in", r.place, w.InchString(), l.InchString(), r.col[1], r.col[2])
		}
	}
	for _, r := range checkRows(t, "fit.txt", "liner") {
		w, l := LinerNeed(mustDims(t, r.col[0]), mustInches(t, r.col[1]))
		if w != mustInches(t, r.col[2]) || l != mustInches(t, r.col[3]) {
			t.Errorf("%s: %s by %s, want %s by %s in (%s)", r.place, w.InchString(), l.InchString(), r.col[2], r.col[3], r.source)
		}
	}
	for _, r := range checkRows(t, "fit.txt", "takes") {
		w, l, _ := strings.Cut(r.col[0], "x")
		f := FitBag(mustDims(t, r.col[1]), []Bag{{ID: r.col[0], Width: mustInches(t, w), Length: mustInches(t, l)}})[0]
		if string(f.Verdict) != r.col[2] {
			t.Errorf("%s: %s in a %s bag: %s, want %s (%s)", r.place, r.col[1], r.col[0], f.Verdict, r.col[2], r.source)
		}
	}
}

func TestBagVerdictLimits(t *testing.T) {
	item := Dims{200 * MM, 100 * MM, 50 * MM} // bare: 150 wide, 250 long; with ease and lip 162.7 by 288.1
	for _, c := range []struct {
		width, gusset, length Length
		want                  BagVerdict
	}{
		{162700, 0, 288100, BagFits}, {162699, 0, 288100, BagReinforce}, {162700, 0, 288099, BagReinforce},
		{150000, 0, 262700, BagReinforce}, {149999, 0, 300000, BagTooSmall}, {162700, 0, 262699, BagTooSmall},
		{112700, 50000, 288100, BagFits}, {112700, 49999, 288100, BagReinforce},
	} {
		f := FitBag(item, []Bag{{Width: c.width, Gusset: c.gusset, Length: c.length}})[0]
		if f.Verdict != c.want || f.Usable() != (c.want != BagTooSmall) {
			t.Errorf("%v+%v by %v: %s, want %s", c.width, c.gusset, c.length, f.Verdict, c.want)
		}
	}
}

func TestBagChoosesLeastFilm(t *testing.T) {
	bags := []Bag{
		{ID: "14x20", Width: 14 * Inch, Length: 20 * Inch, Price: 14000},
		{ID: "10x12", Width: 10 * Inch, Length: 12 * Inch, Price: 7000},
		{ID: "3x5", Width: 3 * Inch, Length: 5 * Inch, Price: 2000},
		{ID: "12x16", Width: 12 * Inch, Length: 16 * Inch, Price: 9000},
	}
	var order []string
	for _, f := range FitBag(Dims{11 * Inch, 7 * Inch, 9 * Inch / 2}, bags) {
		order = append(order, f.Bag.ID+" "+string(f.Verdict))
	}
	want := []string{"14x20 fits", "12x16 reinforce", "3x5 too-small", "10x12 too-small"}
	if !slices.Equal(order, want) {
		t.Errorf("order %q, want %q", order, want)
	}
}

func TestBagInvariantAndMonotone(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		item := genDims("item", 300_000).Draw(t, "item")
		side := rapid.Int64Range(1000, 600_000)
		bag := Bag{Width: Length(side.Draw(t, "width")), Length: Length(side.Draw(t, "length")), Gusset: Length(rapid.Int64Range(0, 100_000).Draw(t, "gusset"))}
		a := FitBag(item, []Bag{bag})[0]
		for _, turn := range turns {
			if b := FitBag(item.turned(turn), []Bag{bag})[0]; a != b {
				t.Fatalf("%v: %+v; turned %v: %+v", item, a, turn, b)
			}
		}
		more := Length(rapid.Int64Range(0, 50_000).Draw(t, "more"))
		for _, bigger := range []Bag{{Width: bag.Width + more, Length: bag.Length, Gusset: bag.Gusset}, {Width: bag.Width, Length: bag.Length + more, Gusset: bag.Gusset}, {Width: bag.Width, Length: bag.Length, Gusset: bag.Gusset + more}} {
			if b := FitBag(item, []Bag{bigger})[0]; b.Verdict.rank() > a.Verdict.rank() {
				t.Fatalf("%v: %s in %+v but %s in %+v", item, a.Verdict, bag, b.Verdict, bigger)
			}
		}
	})
}

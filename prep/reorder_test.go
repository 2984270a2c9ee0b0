package prep

import (
	"testing"

	"pgregory.net/rapid"
)

func TestReorderPoint(t *testing.T) {
	for _, c := range []struct {
		perDay, sd, days, z float64
		want                Fixed
	}{
		{38, 9, 5, 1.645, 224 * One}, // 190 + 1.645·9·2.23607 = 223.1
		{38, 9, 5, 0, 190 * One},
		{38, 0, 5, 1.645, 190 * One},
		{0, 0, 5, 1.645, 0},
		{10, 3, 4, 2, 52 * One}, // 40 + 12 exactly: not rounded up to 53
		{0.5, 0, 3, 0, 2 * One},
	} {
		d := Demand{FixedOf(c.perDay), FixedOf(c.sd), FixedOf(c.days), FixedOf(c.z)}
		if got, err := d.ReorderPoint(); err != nil || got != c.want {
			t.Errorf("%+v: %s, %v, want %s", c, got, err, c.want)
		}
	}
	if _, err := (Demand{PerDay: -One}).ReorderPoint(); err == nil {
		t.Error("less than nothing is used, and it is taken")
	}
	d := Demand{PerDay: 38 * One}
	if days, ok := d.Lasts(95 * One); !ok || days != FixedOf(2.5) {
		t.Errorf("95 at 38 a day last %s days", days)
	}
	if _, ok := (Demand{}).Lasts(One); ok {
		t.Error("nothing is used, and it runs out")
	}
}

// More use, more scatter, a longer wait or more caution never orders later.
func TestReorderPointMonotone(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		n := rapid.Int64Range(0, 1000)
		some := func(name string) Fixed { return Fixed(n.Draw(t, name)) * One / 8 }
		d := Demand{some("per day"), some("sd"), some("days"), some("z")}
		before, err := d.ReorderPoint()
		if err != nil {
			t.Fatal(err)
		}
		more := d
		*[]*Fixed{&more.PerDay, &more.SD, &more.Days, &more.Z}[rapid.IntRange(0, 3).Draw(t, "which")] += some("more")
		after, err := more.ReorderPoint()
		if err != nil || after < before {
			t.Fatalf("%+v: %s, then %+v: %s (%v)", d, before, more, after, err)
		}
	})
}

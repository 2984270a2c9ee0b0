package audit_test

import (
	"fmt"
	"slices"
	"testing"

	"packwright/audit"
	"packwright/events"
)

// TestStepsAreComplete: each type of event has a step, and no step is of none.
func TestStepsAreComplete(t *testing.T) {
	got := audit.Steps()
	slices.Sort(got)
	if want := events.Types(); !slices.Equal(got, want) {
		t.Errorf("steps %v\n types %v", got, want)
	}
}

func TestStagesAsTheEventsHaveThem(t *testing.T) {
	if got := audit.StageOrder(); !slices.Equal(got, events.Stages) {
		t.Errorf("%v", got)
	}
	for _, s := range events.Stages {
		if got := slices.Contains(audit.GoneStages(), s); got != s.Gone() {
			t.Errorf("%s gone: %v", s, got)
		}
	}
}

func TestStamp(t *testing.T) {
	var before events.Time
	for _, s := range []string{"1970-01-01T00:00:00Z", "2031-03-04T13:51:24Z", "2031-03-04T14:51:24.001+01:00", "2031-03-04T13:51:24.999-05:30", "2199-12-31T23:59:59+14:00"} {
		m, err := events.ParseTime(s)
		if err != nil {
			t.Fatal(err)
		}
		if got := audit.StampRound(m); got != m {
			t.Errorf("%s came back as %s", m, got)
		}
		if !before.IsZero() && before.Before(m) != audit.StampLess(before, m) {
			t.Errorf("%s and %s are in another order as stamps", before, m)
		}
		before = m
	}
	if got := audit.StampRound(events.Time{}); !got.IsZero() {
		t.Errorf("the time not told came back as %s", got)
	}
	for _, s := range []events.Seq{{}, {Frame: 1}, {Frame: 1 << 40, Index: 511}, {Frame: 7, Index: 65535}} {
		if got := audit.RefRound(s); got != s {
			t.Errorf("%s came back as %s", s, got)
		}
	}
}

func TestTrail(t *testing.T) {
	var frames []uint64
	for i := uint64(1); i < 1000; i++ {
		frames = append(frames, i*i)
	}
	got, size := audit.TrailOf(frames)
	if !slices.Equal(got, frames) {
		t.Error("a trail came back changed")
	}
	if size > 2*len(frames) {
		t.Errorf("%d frames took %d bytes", len(frames), size)
	}
	if got, _ := audit.TrailOf([]uint64{3, 3, 5, 5, 4}); !slices.Equal(got, []uint64{3, 5}) {
		t.Errorf("%v", got)
	}
}

func TestCommandNumbers(t *testing.T) {
	for _, c := range []struct {
		in     []uint64
		spans  [][2]uint64
		behind int
	}{
		{[]uint64{1, 2, 3, 3, 4}, [][2]uint64{{1, 4}}, 0},
		{[]uint64{1, 2, 5, 6}, [][2]uint64{{1, 2}, {5, 6}}, 0},
		{[]uint64{1, 5, 3}, [][2]uint64{{1, 1}, {3, 3}, {5, 5}}, 1},
		{[]uint64{1, 5, 3, 2, 4}, [][2]uint64{{1, 5}}, 3},
		{[]uint64{9, 8, 7}, [][2]uint64{{7, 9}}, 2},
		{[]uint64{5, 1, 2, 3, 4, 4}, [][2]uint64{{1, 5}}, 4},
	} {
		spans, behind := audit.SpansOf(c.in)
		if !slices.Equal(spans, c.spans) || behind != c.behind {
			t.Errorf("%v: %v, %d out of order; want %v, %d", c.in, spans, behind, c.spans, c.behind)
		}
	}
}

// TestSplitmix compares with the first outputs of the reference generator for two
// seeds (from memory of the values commonly shown beside it).
func TestSplitmix(t *testing.T) {
	if got := audit.Splitmix(0, 1)[0]; got != 0xe220a8397b1dcdaf {
		t.Errorf("seed 0: %#x", got)
	}
	want := []uint64{6457827717110365317, 3203168211198807973, 9817491932198370423, 4593380528125082431, 16408922859458223821}
	if got := audit.Splitmix(1234567, 5); !slices.Equal(got, want) {
		t.Errorf("seed 1234567: %v", got)
	}
}

// TestDraw: a draw is a set of the size asked for, the same for the same seed, and
// over many seeds each unit is drawn as often as another.
func TestDraw(t *testing.T) {
	const n, of, rounds = 5, 12, 24000
	times := make([]int, of)
	for seed := range uint64(rounds) {
		got := audit.Draw(n, of, seed)
		if len(got) != n || !slices.IsSorted(got) || got[0] < 0 || got[n-1] >= of || len(slices.Compact(slices.Clone(got))) != n {
			t.Fatalf("seed %d: %v", seed, got)
		}
		if seed < 50 && !slices.Equal(got, audit.Draw(n, of, seed)) {
			t.Fatalf("seed %d gives two draws", seed)
		}
		for _, k := range got {
			times[k]++
		}
	}
	// Each is drawn rounds·5/12 = 10,000 times; five deviations are 382.
	for k, got := range times {
		if got < 10000-382 || got > 10000+382 {
			t.Errorf("unit %d was drawn %d times of %d", k, got, rounds)
		}
	}
	if got := audit.Draw(3, 3, 1); !slices.Equal(got, []int{0, 1, 2}) {
		t.Errorf("all of three: %v", got)
	}
}

func TestSample(t *testing.T) {
	fold := lanternDay(t).read()
	a, b := fold.Sample(20, 7), fold.Sample(20, 7)
	if fmt.Sprint(a) != fmt.Sprint(b) {
		t.Error("one seed, one log, two samples")
	}
	if a.N != 20 || a.From != 225 || len(a.Units) != 20 {
		t.Errorf("%d of %d", a.N, a.From) // 221 dispatched and 4 held
	}
	if fmt.Sprint(a.Units) == fmt.Sprint(fold.Sample(20, 8).Units) {
		t.Error("two seeds, one sample")
	}
	if all := fold.Sample(1000, 7); all.N != 225 {
		t.Errorf("asking for more than there are gave %d", all.N)
	}
	if none := audit.New().Sample(5, 1); none.N != 0 {
		t.Errorf("an empty floor gave %d", none.N)
	}
}

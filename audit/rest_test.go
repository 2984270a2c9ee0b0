package audit_test

import (
	"bytes"
	"math/rand/v2"
	"reflect"
	"testing"

	"packwright/audit"
	"packwright/audit/follow"
	"packwright/prep"
	"packwright/testdata/floors"
)

// restDays is how many random days the tests of this file play.
const restDays = 12

// random plays a seed's day and gives what a fold reads of it, frame by frame.
func random(t *testing.T, seed uint64, keep int, each func(frames int, f *audit.Fold)) *audit.Fold {
	t.Helper()
	fold := audit.New()
	fold.KeepAwake(keep)
	r := follow.With(fold)
	d := floors.New(seed)
	k := floors.NewDesk(d.Policy, func(seq uint64, frame []byte) error {
		_, err := r.Take(seq, frame)
		if err == nil && each != nil {
			each(int(seq), fold)
		}
		return err
	})
	d.Play(k)
	k.Flush()
	return fold
}

// TestRestingRows: whether rows rest at once or never is not to be seen in a
// snapshot, nor after a restore.
func TestRestingRows(t *testing.T) {
	resting := 0
	for seed := uint64(1); seed <= restDays; seed++ {
		at := save(t, random(t, seed, 1<<30, nil))
		once := random(t, seed, 0, nil)
		resting += once.Resting()
		if !bytes.Equal(save(t, once), at) {
			t.Fatalf("seed %d: a fold whose rows rest is saved otherwise than one whose rows do not", seed)
		}
		again, err := audit.Load(bytes.NewReader(at))
		if err != nil {
			t.Fatal(err)
		}
		if !bytes.Equal(save(t, again), at) {
			t.Fatalf("seed %d: what was restored is saved otherwise", seed)
		}
	}
	if resting < 3*restDays {
		t.Errorf("only %d rows and pages rest after %d days: nothing was tried", resting, restDays)
	}
}

// TestCountedAsGathered: what a set of runs comes to by their rows is what its
// units come to one by one, at any moment of the day and after a restore.
func TestCountedAsGathered(t *testing.T) {
	vague, marked := 0, 0
	for seed := uint64(1); seed <= restDays; seed++ {
		dice := rand.New(rand.NewPCG(seed, 7))
		compare := func(f *audit.Fold) {
			var all []int
			for r := 1; r <= f.RunCount(); r++ {
				all = append(all, r)
			}
			dice.Shuffle(len(all), func(i, k int) { all[i], all[k] = all[k], all[i] })
			for _, set := range [][]int{all, all[:len(all)/2], all[:min(1, len(all))]} {
				want, got := f.Gathered(set), f.Counted(set)
				if len(want.Marks)+len(got.Marks) == 0 {
					want.Marks, got.Marks = nil, nil
				}
				if !reflect.DeepEqual(want, got) {
					t.Fatalf("seed %d, runs %v\ngathered %+v\ncounted  %+v", seed, set, want, got)
				}
				if want.AtMost {
					vague++
				}
				marked += len(want.Marks)
			}
		}
		f := random(t, seed, 0, func(frames int, f *audit.Fold) {
			if dice.IntN(40) == 0 {
				compare(f)
			}
		})
		compare(f)
		again, err := audit.Load(bytes.NewReader(save(t, f)))
		if err != nil {
			t.Fatal(err)
		}
		compare(again)
	}
	if vague == 0 || marked == 0 {
		t.Errorf("%d sets of heaps that several runs fed, %d marks: nothing was tried", vague, marked)
	}
}

// TestMembersByPages: pages of three, one after another, are the whole list.
func TestMembersByPages(t *testing.T) {
	pages := 0
	for seed := uint64(1); seed <= restDays; seed++ {
		f := random(t, seed, 0, nil)
		for _, lot := range f.Balances() {
			whole, more, err := f.Members(audit.ByLot, lot.Lot, 0, 1<<20)
			if err != nil || more != 0 {
				t.Fatalf("%s: more from %s, %v", lot.Lot, more, err)
			}
			if s, err := f.SiblingsAlong(audit.ByLot, lot.Lot); err != nil || s.N-s.Class != len(whole) {
				t.Errorf("%s: %d members are listed, %d counted, %v", lot.Lot, len(whole), s.N-s.Class, err)
			}
			list := whole[:0:0]
			for from := prep.Mark(0); ; pages++ {
				page, next, err := f.Members(audit.ByLot, lot.Lot, from, 3)
				if err != nil || len(page) > 3 || next != 0 && len(page) < 3 {
					t.Fatalf("%s from %s: %v, %v", lot.Lot, from, page, err)
				}
				list = append(list, page...)
				if from = next; next == 0 {
					break
				}
			}
			if list.String() != whole.String() {
				t.Errorf("%s by pages: %s, whole: %s", lot.Lot, list, whole)
			}
		}
	}
	if pages == 0 {
		t.Error("no lot has a second page")
	}
}

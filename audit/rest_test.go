package audit_test

import (
	"bytes"
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

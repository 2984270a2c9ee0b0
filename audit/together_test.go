package audit_test

import (
	"encoding/json"
	"fmt"
	"sync"
	"testing"
	"time"

	"packwright/audit"
	"packwright/prep"
)

// TestAskedTogether: questions that unpack the same resting rows and pages at one
// time get the answers that they get alone. It is worth most under -race.
func TestAskedTogether(t *testing.T) {
	f := random(t, 3, 0, nil)
	var marks []prep.Mark
	for _, lot := range f.Balances() {
		list, _, err := f.Members(audit.ByLot, lot.Lot, 0, 50)
		if err != nil {
			t.Fatal(err)
		}
		marks = append(marks, list...)
	}
	if len(marks) < 10 || f.Resting() == 0 {
		t.Fatalf("%d marks, %d rows at rest: nothing to ask for", len(marks), f.Resting())
	}
	ask := func(m prep.Mark) string {
		one, err := f.TraceMark(m)
		kin, err2 := f.SiblingsOf(m, time.Hour)
		b, err3 := json.Marshal([]any{one, kin})
		return fmt.Sprintf("%s %v %v %v", b, err, err2, err3)
	}
	alone := map[prep.Mark]string{}
	for _, m := range marks {
		alone[m] = ask(m)
	}
	var wg sync.WaitGroup
	for range 4 {
		wg.Go(func() {
			for _, m := range marks {
				if got := ask(m); got != alone[m] {
					t.Errorf("%s together:\n%s\nalone:\n%s", m, got, alone[m])
				}
			}
		})
	}
	wg.Wait()
}

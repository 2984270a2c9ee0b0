package label

import (
	"fmt"
	"strings"
	"testing"
)

// TestDayPages: every row of a long day is on one of its pages, in order, and each
// page says which it is.
func TestDayPages(t *testing.T) {
	for n, pages := range map[int]int{0: 1, 14: 1, 130: 3} {
		got, err := daySample(n, "1:c4805d3411ab1b37").Pages(300)
		if err != nil || len(got) != pages {
			t.Fatalf("%d cartons: %d pages, %v", n, len(got), err)
		}
		var all []string
		for i, l := range got {
			for _, p := range l.Parts {
				if x, ok := p.(Text); ok {
					all = append(all, x.S)
				}
			}
			if want := fmt.Sprintf("page %d of %d", i+1, pages); all[len(all)-1] != want {
				t.Errorf("%d cartons: %q instead of %q", n, all[len(all)-1], want)
			}
		}
		said := strings.Join(all, "\n")
		for i := range n {
			row := fmt.Sprintf("C-%02d\nseal %06d\n12 units", i+1, 401+i)
			if strings.Count(said, row) != 1 {
				t.Errorf("%d cartons: row %d stands %d times", n, i+1, strings.Count(said, row))
			}
		}
		if !strings.Contains(said, "SHORT, C-15") {
			t.Errorf("%d cartons: what is open is missing", n)
		}
	}
	if _, err := daySample(1, "1:ab").Pages(100); err == nil {
		t.Error("a printer of 100 dots an inch")
	}
}

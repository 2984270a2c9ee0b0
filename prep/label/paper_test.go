package label

import (
	"fmt"
	"slices"
	"strings"
	"testing"
)

// TestPaperPages: every word of a long statement stands on one of its pages, in
// order and not shortened, however long a row is.
func TestPaperPages(t *testing.T) {
	root := strings.Repeat("5e1d", 16)
	for n, pages := range map[int]int{1: 1, 120: 10} {
		x := Paper{Title: "Statement of lantern-yard to claim CL-02", Under: "2031-04-17", Check: "3:" + root}
		var want []string
		for i := range n {
			said := fmt.Sprintf("row %d %s and what follows is longer than one line can ever be on a sheet of paper like this one", i+1, root)
			x.Chapters = append(x.Chapters, PaperChapter{fmt.Sprintf("Chapter %d", i+1), [][2]string{{"said", said}}})
			want = append(want, strings.Fields(said)...)
		}
		got, err := x.Pages(300)
		if err != nil || len(got) != pages {
			t.Fatalf("%d rows: %d pages, %v", n, len(got), err)
		}
		var all []string
		for _, l := range got {
			for _, p := range l.Parts {
				if w, ok := p.(Text); ok {
					all = append(all, w.S)
				}
			}
		}
		have := strings.Join(all, "")
		for _, w := range want {
			i := strings.Index(have, w)
			if i < 0 {
				t.Fatalf("%d rows: %q is not on paper, or out of order", n, w)
			}
			have = have[i+len(w):]
		}
		if !slices.Contains(all, fmt.Sprintf("page %d of %d", pages, pages)) {
			t.Errorf("%d rows: the last page does not say so", n)
		}
	}
}

package label

import (
	"slices"
	"strings"
	"testing"

	"packwright/prep/label/labeltest"
)

// TestReaders: real readers find in every label and card what it should say, and
// nothing else, as painted by both painters, and fattened and thinned by half a
// dot on each edge.
func TestReaders(t *testing.T) {
	labeltest.Tools(t)
	var all []labeltest.Page
	for _, s := range samples {
		for _, dpi := range s.dpis() {
			pages := s.pages(t, dpi)
			if got := says(pages); !slices.Equal(got, texts(s.says)) {
				t.Fatalf("%s says %q, want %q", s.name, got, texts(s.says))
			}
			if !testing.Short() || dpi == 203 {
				all = append(all, s.painted(t, pages)...)
			}
		}
	}
	labeltest.Read(t, all)
}

// painted paints a sample both ways. Each page of several carries the same symbols.
func (s sample) painted(t *testing.T, pages []Layout) (out []labeltest.Page) {
	t.Helper()
	doc, err := PDF(pages)
	if err != nil {
		t.Fatal(err)
	}
	for i, l := range pages {
		b, err := PNG(l)
		if err != nil {
			t.Fatal(err)
		}
		each := len(s.says) / len(pages)
		out = append(out, labeltest.Page{Name: s.name, DPI: l.DPI, PNG: b, PDF: doc, Number: i + 1, Want: s.says[i*each : (i+1)*each]})
	}
	return out
}

func says(pages []Layout) (all []string) {
	for _, l := range pages {
		for _, say := range l.Says() {
			all = append(all, strings.TrimPrefix(say, "0")) // a UPC-A is read as an EAN-13 that begins with 0
		}
	}
	slices.Sort(all)
	return all
}

func texts(want []string) (out []string) {
	for _, w := range want {
		_, say, _ := strings.Cut(w, ":")
		out = append(out, strings.TrimPrefix(say, "0"))
	}
	slices.Sort(out)
	return out
}

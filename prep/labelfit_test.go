package prep

import (
	"strconv"
	"strings"
	"testing"

	"pgregory.net/rapid"
)

var testSymbols = map[string]LabelSymbol{
	"sscc": SSCCSymbol, "gtin": GTIN128Symbol, "ean13": EAN13Symbol, "c128-10": Code128Symbol(10), "c128-8": Code128Symbol(8),
}

func TestLabelWidths(t *testing.T) {
	for _, r := range checkRows(t, "label-fit.txt", "width") {
		got := testSymbols[r.col[0]].Width(r.int(t, 2), r.int(t, 1))
		if !near(got.Millimetres(), r.float(t, 3), r.digits(3)) {
			t.Errorf("%s: %v, want %s", r.place, got, r.col[3])
		}
	}
	for _, r := range checkRows(t, "label-fit.txt", "modules") {
		if got := testSymbols[r.col[0]].Modules; got != r.int(t, 1) {
			t.Errorf("%s: %d", r.place, got)
		}
	}
}

func TestLabelFits(t *testing.T) {
	for _, r := range checkRows(t, "label-fit.txt", "fit") {
		w, h, _ := strings.Cut(strings.TrimSuffix(r.col[1], " in"), " x ")
		f, err := FitLabel(testSymbols[r.col[0]], mustInches(t, w), mustInches(t, h), r.int(t, 2))
		if err != nil {
			t.Fatal(err)
		}
		got := "-"
		if f.Fits {
			got = strconv.Itoa(f.Dots)
		}
		if got != r.col[3] || f.Why == "" {
			t.Errorf("%s: %+v, want %s dots", r.place, f, r.col[3])
		}
	}
	coarse, err := FitLabel(EAN13Symbol, 100*MM, 100*MM, 101)
	if err != nil || coarse.Fits || !strings.Contains(coarse.Why, "no whole number of dots") {
		t.Errorf("3 dots at 101 dpi are wider than 0.660 mm: %+v, %v", coarse, err)
	}
	for _, c := range [][3]int{{0, 1, 203}, {1, 0, 203}, {1, 1, 0}} {
		if f, err := FitLabel(EAN13Symbol, Length(c[0]), Length(c[1]), c[2]); err == nil {
			t.Errorf("%v: %+v", c, f)
		}
	}
}

// A carton number never goes onto an item label of 2.25 in, at any resolution.
func TestLabelCartonNumberOnItemLabel(t *testing.T) {
	for dpi := 100; dpi <= 2400; dpi++ {
		if f, err := FitLabel(SSCCSymbol, 57150, 10*Inch, dpi); err != nil || f.Fits {
			t.Fatalf("%d dpi: %+v, %v", dpi, f, err)
		}
	}
}

// What is said to fit keeps to every limit, and one dot more would not.
func TestLabelFitKeepsLimits(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		s := rapid.SampledFrom([]LabelSymbol{SSCCSymbol, GTIN128Symbol, EAN13Symbol, EAN8Symbol, UPCASymbol, Code128Symbol(8)}).Draw(t, "symbol")
		width := Length(rapid.Int64Range(10_000, 200_000).Draw(t, "width"))
		dpi := rapid.SampledFrom([]int{150, 203, 300, 305, 600, 1200}).Draw(t, "dpi")
		f, err := FitLabel(s, width, 150*MM, dpi)
		if err != nil {
			t.Fatal(err)
		}
		x := func(dots int) float64 { return float64(dots) * 25400 / float64(dpi) }
		within := func(dots int) bool {
			total := x(dots) * float64(s.Modules+s.Quiet)
			return dots >= LeastDots && x(dots) >= float64(s.MinX)-1e-9 && (s.MaxX == 0 || x(dots) <= float64(s.MaxX)+1e-9) &&
				total <= float64(width)+1e-6 && (s.MaxWidth == 0 || total <= float64(s.MaxWidth)+1e-6)
		}
		if within(f.Dots) != f.Fits || within(f.Dots+1) {
			t.Fatalf("%+v in %v: within %v, one more dot %v", f, width, within(f.Dots), within(f.Dots+1))
		}
	})
}

package label

import (
	"errors"
	"fmt"
	"image"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"packwright/prep"
)

// TestDots: every symbol of every label has a narrow bar of at least three whole
// dots, and one within its norm; carton numbers have upright bars of 31.75 mm and
// stand lowest.
func TestDots(t *testing.T) {
	for _, s := range samples {
		for _, dpi := range []int{203, 300, 600} {
			if s.dpi > 0 && s.dpi != dpi {
				continue
			}
			for _, l := range s.pages(t, dpi) {
				for _, y := range l.symbols() {
					checkDots(t, fmt.Sprintf("%s at %d dpi", s.name, dpi), l, y)
				}
			}
		}
	}
}

func checkDots(t *testing.T, name string, l Layout, s Placed) {
	t.Helper()
	um := func(dots int) prep.Length { return prep.Length(int64(dots) * int64(prep.Inch) / int64(l.DPI)) }
	if s.Dot < prep.LeastDots {
		t.Errorf("%s: %s has modules of %d dots", name, s.Name, s.Dot)
	}
	if x := um(s.Dot); s.fits.MinX > 0 && (x < s.fits.MinX || x > s.fits.MaxX) {
		t.Errorf("%s: %s has a narrow bar of %s", name, s.Name, x)
	}
	if high := um(s.High); high < s.fits.MinHeight {
		t.Errorf("%s: the bars of %s are %s high, %s are the least", name, s.Name, high, s.fits.MinHeight)
	}
	if s.fits.MaxWidth > 0 && um(s.place().Dx()) > s.fits.MaxWidth {
		t.Errorf("%s: %s is %s wide", name, s.Name, um(s.place().Dx()))
	}
	if s.Name != "GS1-128" {
		return
	}
	for _, p := range l.Parts {
		if text, ok := p.(Text); ok && p.place().Max.Y > s.body().Max.Y && text.S != s.Below {
			t.Errorf("%s: %q stands below the carton number", name, text.S)
		}
	}
}

// TestQuiet: Check refuses what stands in a quiet zone, over the edge, or upon
// a text, at the very first dot, and nothing else.
func TestQuiet(t *testing.T) {
	pages, err := Own{Name: "T-05", Code: "T-05.I", Word: "tote", Stock: Small}.Pages(203)
	if err != nil {
		t.Fatal(err)
	}
	l := pages[0]
	s := l.symbols()[0]
	zone, size := s.place(), l.Size()
	if zone.Dx() != s.body().Dx()+20*s.Dot {
		t.Fatalf("the place of a Code 128 is %d dots wide, its bars %d, its narrow bar %d", zone.Dx(), s.body().Dx(), s.Dot)
	}
	for _, c := range []struct {
		name string
		part Part
		ok   bool
	}{
		{"a box beside the quiet zone", Box(image.Rect(zone.Min.X-5, zone.Min.Y, zone.Min.X, zone.Max.Y)), true},
		{"a box one dot into the left quiet zone", Box(image.Rect(zone.Min.X-5, zone.Min.Y, zone.Min.X+1, zone.Max.Y)), false},
		{"a box one dot into the right quiet zone", Box(image.Rect(zone.Max.X-1, zone.Min.Y, zone.Max.X+3, zone.Max.Y)), false},
		{"a polygon in the quiet zone", Polygon{zone.Min, zone.Min.Add(image.Pt(3, 0)), zone.Min.Add(image.Pt(0, 3))}, false},
		{"a line of text through it", Text{X: zone.Min.X - 10, Y: zone.Max.Y, Size: 20, S: "hello"}, false},
		{"a box at the edge", Box(image.Rect(size.X-2, 0, size.X, 2)), true},
		{"a box over the edge", Box(image.Rect(size.X-2, 0, size.X+1, 2)), false},
		{"a text on a text", Text{X: 12, Y: 60, Size: 20, S: "hello"}, false},
	} {
		with := l
		with.Parts = append(l.Parts[:len(l.Parts):len(l.Parts)], c.part)
		var in *prep.InputError
		if err := with.Check(); (err == nil) != c.ok || err != nil && !errors.As(err, &in) {
			t.Errorf("%s: %v", c.name, err)
		}
	}
}

// TestAnyWords: whatever words come, a label is either whole or refused with
// what to do about it; and what it says is the code, untouched.
func TestAnyWords(t *testing.T) {
	letters := []rune("abcdefgjpqy ABCMQW 0189 -.,;()/éßžΩ½")
	text := rapid.OneOf(rapid.StringOfN(rapid.RuneFrom(letters), 0, 90, 200), rapid.StringN(0, 40, 100))
	rapid.Check(t, func(r *rapid.T) {
		dpi := rapid.SampledFrom([]int{203, 300, 600}).Draw(r, "dpi")
		mark := prep.Mark(rapid.Uint32().Draw(r, "mark"))
		as := rapid.SampledFrom([]MarkAs{MarkNowhere, MarkText, MarkSquare}).Draw(r, "as")
		a, b, c := text.Draw(r, "a"), text.Draw(r, "b"), text.Draw(r, "c")
		code := rapid.StringMatching(`[A-Z]-[A-Z0-9-]{1,12}\.[A-Z]`).Draw(r, "code")
		for _, x := range []struct {
			of   Label
			says []string
		}{
			{Item{GTIN: "9520000010010", Name: a, Note: b, Mark: mark, MarkAs: as}, nil},
			{Item{Code: code, Name: a, Note: b}, []string{code}},
			{KeepSealed{Mark: mark, Name: a, Run: b}, nil},
			{SoldAsOne{Pieces: 2, Name: a, Run: b}, nil},
			{Carton{SSCC: "095200000000000073", Carton: a, Of: b, From: c, To: a, Owner: b, Seal: c, Gross: 1}, []string{"00095200000000000073"}},
			{Contents{a, code, b, []ContentsLine{{999_999, c, a}, {1, b, c}}}, []string{code}},
			{Own{Name: a, Code: code, Word: b, Note: c}, []string{code}},
			{Own{Name: a, Code: code, Word: b, Note: c, Stock: Small, Square: true}, []string{code}},
			{Card{a, b, code}, []string{code}},
			{Number{a, b, code}, []string{code}},
			{TeamLift{a, 1}, nil},
		} {
			pages, err := x.of.Pages(dpi)
			var in *prep.InputError
			if err != nil && (!errors.As(err, &in) || in.Do == "") {
				r.Fatalf("%#v: %v", x.of, err)
			}
			if err == nil && x.says != nil && strings.Join(pages[0].Says(), " ") != strings.Join(x.says, " ") {
				r.Fatalf("%#v says %q", x.of, pages[0].Says())
			}
			if strings.Contains(fmt.Sprint(err), "stands in") || strings.Contains(fmt.Sprint(err), "over the edge") {
				r.Fatalf("%#v: its own parts collide: %v", x.of, err)
			}
		}
	})
}

// TestRefusals: what cannot be printed is refused with the reason.
func TestRefusals(t *testing.T) {
	for _, c := range []struct {
		name string
		of   Label
		dpi  int
		want string
	}{
		{"ten signs at 203 dpi", Item{Code: "ABCDEFGH-8", Name: "x"}, 203, "at the least narrow bar of 0.375 mm it is 61.936 mm wide"},
		{"a case number on a small label", Item{GTIN: "19520000010017", Name: "x"}, 300, "where it has 55.118 mm of the width"},
		{"a mark beside a long code", Item{Code: "ABCDEF-8", Name: "x", Mark: 1, MarkAs: MarkSquare}, 203, "leaves no room for a mark"},
		{"a long badge in bars", Own{Name: "x", Code: "B-bartholomew-of-the-dock.Z", Word: "badge", Stock: BadgeStock}, 203, "does not go onto this label"},
		{"too coarse a printer", Back{}, 96, "96 dots an inch"},
		{"too fine a printer", Back{}, 2400, "2400 dots an inch"},
		{"a wrong check digit", Item{GTIN: "9520000010011"}, 203, "check digit"},
		{"no code", Item{Name: "x"}, 203, "without a code"},
		{"signs that bars do not have", Own{Name: "x", Code: "T-ø5"}, 203, "signs that Code 128 does not"},
		{"words that the type does not have", KeepSealed{Name: "ひらがな"}, 203, "cannot be printed"},
		{"an empty carton", Contents{Carton: "C-07", Code: "C-07.7"}, 203, "empty carton"},
		{"a set of one", SoldAsOne{Pieces: 1}, 203, "a set of 1"},
		{"a warning without words", Warning{bag(40), prep.WarningPolicy{}}, 203, "no words"},
	} {
		_, err := c.of.Pages(c.dpi)
		var in *prep.InputError
		if !errors.As(err, &in) || !strings.Contains(in.What, c.want) || in.Do == "" {
			t.Errorf("%s: %v, want %q", c.name, err, c.want)
		}
	}
}

// TestWarningType: the warning is all bold, whole, word for word, and its type
// not smaller than the table asks for.
func TestWarningType(t *testing.T) {
	for inches, points := range map[prep.Length]int{29: 10, 30: 14, 39: 14, 40: 18, 59: 18, 60: 24, 90: 24} {
		for _, dpi := range []int{203, 300, 600} {
			pages, err := warning(inches).Pages(dpi)
			if err != nil {
				t.Fatalf("%d in at %d dpi: %v", inches, dpi, err)
			}
			var all []string
			for _, p := range pages[0].Parts {
				if x, ok := p.(Text); ok {
					all = append(all, x.S)
					if !x.Bold || x.Size*72 < points*dpi || (x.Size-1)*72 >= points*dpi {
						t.Errorf("%d in at %d dpi: a line of %d dots, bold %t; %d pt are asked for", inches, dpi, x.Size, x.Bold, points)
					}
				}
			}
			if got := strings.Join(all, " "); got != prep.DefaultWarningPolicy.Text {
				t.Errorf("%d in: the label says %q", inches, got)
			}
		}
	}
}

// TestGlossary: twenty words, each explained once and set whole, in one size.
func TestGlossary(t *testing.T) {
	seen := map[string]bool{}
	for _, e := range Glossary {
		if seen[e.Word] || e.Means == "" {
			t.Errorf("%q is there twice, or means nothing", e.Word)
		}
		seen[e.Word] = true
	}
	if len(Glossary) != 20 {
		t.Errorf("%d words", len(Glossary))
	}
	for _, dpi := range []int{203, 300, 600} {
		pages, err := Back{}.Pages(dpi)
		if err != nil {
			t.Fatal(err)
		}
		sizes := map[string]bool{}
		for _, p := range pages[0].Parts {
			x := p.(Text)
			if sizes[fmt.Sprint(x.Bold, x.Size)] = true; strings.HasSuffix(x.S, "…") {
				t.Errorf("%q is cut short at %d dpi", x.S, dpi)
			}
		}
		if len(sizes) != 2 {
			t.Errorf("sizes at %d dpi: %v", dpi, sizes)
		}
	}
}

// TestSheets: cards come onto sheets whole, in order, and each back lies behind
// its front when the sheet is turned along its long edge.
func TestSheets(t *testing.T) {
	var cards []Layout
	for i := range 9 {
		pages, err := Number{fmt.Sprint(i), "digit", fmt.Sprintf("#%d.L", i)}.Pages(600)
		if err != nil {
			t.Fatal(err)
		}
		cards = append(cards, pages...)
	}
	long, err := Test{"!TEST-aqwzmyAQWZMY-0123456789/."}.Pages(600)
	if err != nil {
		t.Fatal(err)
	}
	cards = append(cards, long...)
	backs, err := Back{}.Pages(600)
	if err != nil {
		t.Fatal(err)
	}
	for _, paper := range []Stock{A4, Letter} {
		sheets, err := Sheets(cards, paper, &backs[0])
		if err != nil || len(sheets) != 4 {
			t.Fatalf("%s: %d sheets, %v", paper.Name, len(sheets), err)
		}
		var got []string
		for _, l := range sheets {
			got = append(got, l.Says()...)
		}
		if len(got) != 10 || got[0] != "#0.L" || got[9] != "!TEST-aqwzmyAQWZMY-0123456789/." {
			t.Errorf("%s says %q", paper.Name, got)
		}
		if n := len(sheets[1].Parts); n != 8*len(backs[0].Parts) {
			t.Errorf("%s: %d parts behind eight cards", paper.Name, n)
		}
		front, back := sheets[0].Parts[0].place(), sheets[1].Parts[0].place()
		if card := cards[0].Parts[0].place(); front.Min.X-card.Min.X+cards[0].Size().X != sheets[1].Size().X-(back.Min.X-backs[0].Parts[0].place().Min.X) {
			t.Errorf("%s: the back of the first card does not lie behind it", paper.Name)
		}
	}
	if _, err := Sheets(cards, Small, nil); err == nil {
		t.Error("a card goes onto a sheet smaller than itself")
	}
}

package label

import (
	"bytes"
	"compress/zlib"
	"encoding/binary"
	"image"
	"image/png"
	"io"
	"math"
	"regexp"
	"strconv"
	"testing"

	"packwright/prep"
)

// TestPNG: one bit a dot, true resolution, and the dots that the layout says.
func TestPNG(t *testing.T) {
	for dpi, perMetre := range map[int]uint32{203: 7992, 300: 11811, 600: 23622} {
		pages, err := Item{GTIN: "9520000010010", Name: "Moss Golem no. 3"}.Pages(dpi)
		if err != nil {
			t.Fatal(err)
		}
		b, err := PNG(pages[0])
		if err != nil {
			t.Fatal(err)
		}
		if b[24] != 1 {
			t.Errorf("%d bits a dot", b[24])
		}
		i := bytes.Index(b, []byte("pHYs"))
		if i < 0 || binary.BigEndian.Uint32(b[i+4:]) != perMetre || binary.BigEndian.Uint32(b[i+8:]) != perMetre || b[i+12] != 1 {
			t.Errorf("%d dpi: the resolution is wrong", dpi)
		}
		if j := bytes.Index(b, []byte("IDAT")); i > j {
			t.Error("the resolution comes after the picture")
		}
		if _, err := png.Decode(bytes.NewReader(b)); err != nil {
			t.Errorf("%d dpi: %v", dpi, err)
		}
	}
}

// TestGoldenDots: the item label at 203 dpi is 457 × 254 dots, its first guard
// bars are at 41, 3 dots wide, and the quiet zone of 33 dots before it is white.
func TestGoldenDots(t *testing.T) {
	pages, err := Item{GTIN: "9520000010010", Name: "Moss Golem no. 3"}.Pages(203)
	if err != nil {
		t.Fatal(err)
	}
	m := Bitmap(pages[0])
	if m.Rect.Max != image.Pt(457, 254) {
		t.Fatalf("the label is %v", m.Rect.Max)
	}
	want := "000111000111" // after quiet: the left guard, 101, and the first module of the 5
	got := ""
	for x := 38; x < 50; x++ {
		got += strconv.Itoa(int(m.Pix[100*m.Stride+x]))
	}
	if got != want {
		t.Errorf("dots 38 to 49 are %s, want %s", got, want)
	}
	for x := range 41 {
		if m.Pix[100*m.Stride+x] != 0 {
			t.Errorf("dot %d of the quiet zone is black", x)
		}
	}
}

// TestSameBytes: the same label gives the same bytes.
func TestSameBytes(t *testing.T) {
	for _, s := range samples {
		pages := s.pages(t, s.dpis()[0])
		a, err := PDF(pages)
		if err != nil {
			t.Fatal(err)
		}
		again := s.pages(t, s.dpis()[0])
		b, err := PDF(again)
		if err != nil || !bytes.Equal(a, b) {
			t.Errorf("%s gives two PDFs, %v", s.name, err)
		}
		c, _ := PNG(pages[0])
		d, _ := PNG(again[0])
		if !bytes.Equal(c, d) {
			t.Errorf("%s gives two PNGs", s.name)
		}
	}
	if _, err := PDF(nil); err == nil {
		t.Error("a PDF of no pages")
	}
}

var (
	streams    = regexp.MustCompile(`(?s)stream\r?\n(.*?)\r?\nendstream`)
	scaling    = regexp.MustCompile(`([\d.]+) 0\.00000 0\.00000 ([\d.]+) 0\.00000 (-?[\d.]+) cm`)
	rectangles = regexp.MustCompile(`(-?[\d.]+) (-?[\d.]+) (-?[\d.]+) (-?[\d.]+) re f`)
	media      = regexp.MustCompile(`/MediaBox \[0 0 ([\d.]+) ([\d.]+)\]`)
)

// content gives the drawing of a PDF's first page.
func content(t *testing.T, doc []byte) string {
	t.Helper()
	for _, s := range streams.FindAllSubmatch(doc, -1) {
		r, err := zlib.NewReader(bytes.NewReader(s[1]))
		if err != nil {
			continue
		}
		if b, err := io.ReadAll(r); err == nil && bytes.Contains(b, []byte(" cm")) {
			return string(b)
		}
	}
	t.Fatal("the PDF has no page")
	return ""
}

// TestPrintPath: through a renderer that blackens every dot that a shape
// touches, and through one that asks for the middle of the dot, the linear bars of
// the PDF come out as the very dots of the PNG. Drawn without the narrowing, the
// first would make each bar wider: the test would see it.
func TestPrintPath(t *testing.T) {
	for _, dpi := range []int{203, 300, 600} {
		pages, err := Carton{SSCC: "095200000000000073", Carton: "C-07"}.Pages(dpi)
		if err != nil {
			t.Fatal(err)
		}
		l := pages[0]
		doc, err := PDF(pages)
		if err != nil {
			t.Fatal(err)
		}
		s := l.symbols()[0]
		y := float64(s.Y + s.High/2)
		exact := Bitmap(l)
		wide := 0
		for name, ink := range map[string]func(from, to float64) (int, int){
			"touch":  func(from, to float64) (int, int) { return int(math.Floor(from)), int(math.Ceil(to)) },
			"middle": func(from, to float64) (int, int) { return int(math.Round(from)), int(math.Round(to)) },
			"exact": func(from, to float64) (int, int) {
				return int(math.Floor(from - narrower - 0.01)), int(math.Ceil(to + narrower + 0.01))
			},
		} {
			row := rowOf(t, doc, l, y, ink)
			diff := 0
			for x, v := range row {
				if v != exact.Pix[int(y)*exact.Stride+x] {
					diff++
				}
			}
			if name == "exact" {
				wide = diff
			} else if diff > 0 {
				t.Errorf("%s at %d dpi: %d dots differ", name, dpi, diff)
			}
		}
		if wide == 0 {
			t.Error("bars drawn to the border come out right: the test sees nothing")
		}
	}
}

// rowOf paints one row of dots of a PDF by a rule of inking.
func rowOf(t *testing.T, doc []byte, l Layout, y float64, ink func(from, to float64) (int, int)) []byte {
	t.Helper()
	drawing := content(t, doc)
	m := scaling.FindStringSubmatch(drawing)
	box := media.FindSubmatch(doc)
	if m == nil || box == nil {
		t.Fatalf("no scale or no size in %.200s", drawing)
	}
	number := func(s string) float64 {
		f, err := strconv.ParseFloat(s, 64)
		if err != nil {
			t.Fatal(err)
		}
		return f
	}
	scale, up, high := number(m[1]), number(m[3]), number(string(box[2]))
	toDots := float64(l.DPI) / 72
	row := make([]byte, l.Size().X)
	for _, r := range rectangles.FindAllStringSubmatch(drawing, -1) {
		top := (high - (number(r[2])*scale + up)) * toDots
		if deep := -number(r[4]) * scale * toDots; y < top || y > top+deep {
			continue
		}
		from := number(r[1]) * scale * toDots
		a, b := ink(from, from+number(r[3])*scale*toDots)
		for x := max(a, 0); x < min(b, len(row)); x++ {
			row[x] = 1
		}
	}
	return row
}

// TestPageSize: a PDF's page is as large as its paper.
func TestPageSize(t *testing.T) {
	pages, err := Back{}.Pages(203)
	if err != nil {
		t.Fatal(err)
	}
	doc, err := PDF(pages)
	if err != nil {
		t.Fatal(err)
	}
	if box := media.FindSubmatch(doc); box == nil || string(box[1]) != "288.00" || string(box[2]) != "180.00" {
		t.Errorf("a card of 4 by 2.5 in has the media box %s", box[0])
	}
	if got := (&Layout{Width: 9 * prep.Inch / 4, Height: prep.Inch, DPI: 203}).Size(); got != image.Pt(457, 203) {
		t.Errorf("2.25 by 1 in at 203 dpi are %v dots", got)
	}
}

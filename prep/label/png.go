package label

import (
	"bytes"
	"encoding/binary"
	"hash/crc32"
	"image"
	"image/color"
	"image/png"
	"math"
	"slices"

	"golang.org/x/image/font"
	"golang.org/x/image/font/opentype"
	"golang.org/x/image/math/fixed"

	"packwright/prep"
)

// PNG paints a page with one bit a dot and its resolution, for printing dot for
// dot.
func PNG(l Layout) ([]byte, error) {
	var b bytes.Buffer
	enc := png.Encoder{CompressionLevel: png.BestCompression}
	if err := enc.Encode(&b, Bitmap(l)); err != nil {
		return nil, err
	}
	return resolved(b.Bytes(), l.DPI), nil
}

// Bitmap paints a page in two colours: 0 is paper, 1 is ink.
func Bitmap(l Layout) *image.Paletted {
	m := &bitmap{image.NewPaletted(image.Rectangle{Max: l.Size()}, color.Palette{color.Gray{Y: 255}, color.Gray{}})}
	for _, p := range l.Parts {
		p.paint(m)
	}
	return m.Paletted
}

// ends of the PNG signature and of the IHDR chunk, which has 13 bytes of its own
// beside length, name and check sum (ISO/IEC 15948, 5.2 and 11.2.2).
const (
	pngSignature = 8
	pngHeader    = pngSignature + 12 + 13
)

// resolved adds the chunk pHYs (ISO/IEC 15948, 11.3.5.3): dots a metre.
func resolved(b []byte, dpi int) []byte {
	perMetre := uint32(math.Round(float64(dpi) * 1e6 / float64(prep.Inch)))
	chunk := binary.BigEndian.AppendUint32(nil, 9)
	chunk = append(chunk, "pHYs"...)
	chunk = binary.BigEndian.AppendUint32(chunk, perMetre)
	chunk = binary.BigEndian.AppendUint32(chunk, perMetre)
	chunk = append(chunk, 1) // the unit is the metre
	chunk = binary.BigEndian.AppendUint32(chunk, crc32.ChecksumIEEE(chunk[4:]))
	return slices.Concat(b[:pngHeader], chunk, b[pngHeader:])
}

// bitmap is the canvas of one bit a dot.
type bitmap struct{ *image.Paletted }

func (m *bitmap) ink(x, y int) {
	if (image.Point{X: x, Y: y}).In(m.Rect) {
		m.Pix[y*m.Stride+x] = 1
	}
}

func (m *bitmap) box(r image.Rectangle) {
	for y := r.Min.Y; y < r.Max.Y; y++ {
		for x := r.Min.X; x < r.Max.X; x++ {
			m.ink(x, y)
		}
	}
}

func (m *bitmap) bar(r image.Rectangle) { m.box(r) }

// polygon inks each dot whose middle is inside, by the rule of crossings.
func (m *bitmap) polygon(g []image.Point) {
	r := Polygon(g).place()
	for y := r.Min.Y; y < r.Max.Y; y++ {
		for x := r.Min.X; x < r.Max.X; x++ {
			if inside(g, float64(x)+0.5, float64(y)+0.5) {
				m.ink(x, y)
			}
		}
	}
}

func inside(g []image.Point, x, y float64) (in bool) {
	for i := range g {
		a, b := g[i], g[(i+1)%len(g)]
		ay, by := float64(a.Y), float64(b.Y)
		if (ay > y) != (by > y) && x < float64(a.X)+(y-ay)/(by-ay)*float64(b.X-a.X) {
			in = !in
		}
	}
	return in
}

// inkFrom is how much of a dot a letter has to cover, of 255: a little less than
// half, since thin strokes would else come apart.
const inkFrom = 104

// text sets each letter on a whole dot, so that equal letters look equal.
func (m *bitmap) text(t Text) {
	of := face(t.Bold)
	f, err := opentype.NewFace(of.font, &opentype.FaceOptions{Size: float64(t.Size), DPI: 72, Hinting: font.HintingNone})
	if err != nil {
		panic(err) // only options can be wrong
	}
	em, sum := int(of.font.UnitsPerEm()), 0
	for _, r := range t.S {
		x := t.X + (2*sum*t.Size+em)/(2*em)
		sum += max(0, of.width(r))
		to, mask, from, _, ok := f.Glyph(fixed.P(x, t.Y), r)
		if !ok {
			continue
		}
		for dy := range to.Dy() {
			for dx := range to.Dx() {
				if _, _, _, a := mask.At(from.X+dx, from.Y+dy).RGBA(); a>>8 >= inkFrom {
					m.ink(to.Min.X+dx, to.Min.Y+dy)
				}
			}
		}
	}
}

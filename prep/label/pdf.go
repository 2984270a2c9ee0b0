package label

import (
	"bytes"
	"fmt"
	"image"
	"time"

	"codeberg.org/go-pdf/fpdf"

	"packwright/prep"
)

// dated is the day that every PDF carries, so that the same pages are the same
// bytes. When something was printed stands in the log.
var dated = time.Date(2000, 1, 1, 0, 0, 0, 0, time.UTC)

// PDF paints pages as one document, each page of its own size.
func PDF(pages []Layout) ([]byte, error) {
	if len(pages) == 0 {
		return nil, prep.Input("a document of no pages", "name at least one label")
	}
	doc := fpdf.NewCustom(&fpdf.InitType{UnitStr: "pt", Size: points(pages[0])})
	doc.SetCreationDate(dated)
	doc.SetModificationDate(dated)
	doc.SetCatalogSort(true)
	doc.SetProducer("packwright", true)
	doc.SetTitle(pages[0].Title, true)
	doc.SetMargins(0, 0, 0)
	doc.SetAutoPageBreak(false, 0)
	doc.AddUTF8FontFromBytes("go", "", face(false).ttf)
	doc.AddUTF8FontFromBytes("go", "B", face(true).ttf)
	for _, l := range pages {
		size := points(l)
		doc.AddPageFormat("P", size)
		// From here on a dot is the unit, and y still goes down.
		dot := 72 / float64(l.DPI)
		doc.TransformBegin()
		doc.Transform(fpdf.TransformMatrix{A: dot, D: dot, F: size.Ht * (1 - dot)})
		for _, p := range l.Parts {
			p.paint(vector{doc})
		}
		doc.TransformEnd()
	}
	var b bytes.Buffer
	if err := doc.Output(&b); err != nil {
		return nil, fmt.Errorf("paint %s: %w", pages[0].Title, err)
	}
	return b.Bytes(), nil
}

func points(l Layout) fpdf.SizeType {
	return fpdf.SizeType{Wd: l.Width.Inches() * 72, Ht: l.Height.Inches() * 72}
}

// vector is the canvas of a PDF, in dots.
type vector struct{ *fpdf.Fpdf }

// narrower is what a bar loses on each side: see the package's comment.
const narrower = 0.2

func (v vector) box(r image.Rectangle) {
	v.Rect(float64(r.Min.X), float64(r.Min.Y), float64(r.Dx()), float64(r.Dy()), "F")
}

func (v vector) bar(r image.Rectangle) {
	v.Rect(float64(r.Min.X)+narrower, float64(r.Min.Y), float64(r.Dx())-2*narrower, float64(r.Dy()), "F")
}

func (v vector) polygon(g []image.Point) {
	out := make([]fpdf.PointType, len(g))
	for i, p := range g {
		out[i] = fpdf.PointType{X: float64(p.X), Y: float64(p.Y)}
	}
	v.Polygon(out, "F")
}

func (v vector) text(t Text) {
	style := ""
	if t.Bold {
		style = "B"
	}
	v.SetFont("go", style, float64(t.Size))
	v.Text(float64(t.X), float64(t.Y), t.S)
}

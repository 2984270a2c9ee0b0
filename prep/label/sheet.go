package label

import (
	"image"

	"packwright/prep"
)

// Sheets puts cards on sheets of paper in rows, each with lines to cut along.
// With a back, every sheet is followed by one with the back behind each card, for
// printing on both sides along the long edge.
func Sheets(cards []Layout, paper Stock, back *Layout) ([]Layout, error) {
	var out []Layout
	for len(cards) > 0 {
		p := newPage("cards on a sheet", paper, cards[0].DPI)
		q := newPage("backs on a sheet", paper, cards[0].DPI)
		places := p.flow(cards)
		if len(places) == 0 {
			return nil, prep.Input("a card of "+cards[0].Width.InchString()+" by "+cards[0].Height.InchString()+" is larger than the sheet", "print cards one by one")
		}
		for i, r := range places {
			p.Put(r.Min.X, r.Min.Y, cards[i])
			p.cutLines(r)
			if back != nil {
				q.Put(p.Size().X-r.Min.X-back.Size().X, r.Min.Y, *back)
			}
		}
		pages, err := p.done()
		if err != nil {
			return nil, err
		}
		if out = append(out, pages...); back != nil {
			if pages, err = q.done(); err != nil {
				return nil, err
			}
			out = append(out, pages...)
		}
		cards = cards[len(places):]
	}
	return out, nil
}

// flow gives the places of as many cards as go onto one sheet: row by row, the
// rows in the middle of the sheet.
func (p *page) flow(cards []Layout) (places []image.Rectangle) {
	paper := p.Size()
	var x, y, row int
	wide := 0
	for _, c := range cards {
		size := c.Size()
		if x+size.X > paper.X {
			x, y, row = 0, y+row, 0
		}
		if x+size.X > paper.X || y+size.Y > paper.Y {
			break
		}
		places = append(places, image.Rectangle{Min: image.Pt(x, y), Max: image.Pt(x+size.X, y+size.Y)})
		x, row = x+size.X, max(row, size.Y)
		wide = max(wide, x)
	}
	if len(places) == 0 {
		return nil
	}
	middle := image.Pt((paper.X-wide)/2, (paper.Y-places[len(places)-1].Max.Y)/2)
	for i := range places {
		places[i] = places[i].Add(middle)
	}
	return places
}

// cutLines marks the corners of a card.
func (p *page) cutLines(r image.Rectangle) {
	n := p.u(12)
	for _, x := range []int{r.Min.X, r.Max.X - 2} {
		p.Parts = append(p.Parts, Box(image.Rect(x, r.Min.Y, x+2, r.Min.Y+n)), Box(image.Rect(x, r.Max.Y-n, x+2, r.Max.Y)))
	}
	for _, y := range []int{r.Min.Y, r.Max.Y - 2} {
		p.Parts = append(p.Parts, Box(image.Rect(r.Min.X, y, r.Min.X+n, y+2)), Box(image.Rect(r.Max.X-n, y, r.Max.X, y+2)))
	}
}

package label

import (
	"strings"

	"packwright/prep"
)

// Warning is the suffocation warning for one bag, in the size of type that the
// policy's table asks for. The wording is the policy's, with its statute.
type Warning struct {
	Bag    prep.Bag
	Policy prep.WarningPolicy
}

// warningStocks are tried from the smallest on.
var warningStocks = []Stock{Small, Wide, Middle, Tall}

// Pages gives one label on the smallest stock that holds the words in their
// size of type, all bold, in a frame.
func (x Warning) Pages(dpi int) ([]Layout, error) {
	asked := x.Policy.ForBag(x.Bag)
	if asked.Type <= 0 || strings.TrimSpace(x.Policy.Text) == "" {
		return nil, prep.Input("the policy has no words or no size of type for this bag", "write both, with their source")
	}
	for _, s := range warningStocks {
		if pages, err := x.on(s, dpi, asked.Type); pages != nil || err != nil {
			return pages, err
		}
	}
	return nil, prep.Input("the warning does not fit a "+Tall.String()+" in its size of type", "use a bag with the warning printed on it")
}

// on gives nothing when the words do not fit.
func (x Warning) on(s Stock, dpi int, size prep.Points) ([]Layout, error) {
	const frame, inner = 6, 16 // where the frame and the words begin, in units
	p := newPage("bag warning", s, dpi)
	if err := settable(x.Policy.Text); err != nil {
		return nil, err
	}
	// Not less than asked for: the size is rounded up to a whole dot.
	dots := (int(size)*p.DPI + 71) / 72
	left, step := p.u(inner), (dots*28+24)/25
	lines := wrap(x.Policy.Text, true, dots, p.Size().X-2*left)
	room := p.Size().Y - 2*p.u(frame+7)
	used := (len(lines)-1)*step + dots
	if used > room {
		return nil, p.err
	}
	p.frame(frame, 3)
	y := p.u(frame+7) + (room-used)/2 + dots*3/4
	for _, line := range lines {
		p.Parts = append(p.Parts, Text{X: left, Y: y, Size: dots, Bold: true, S: line})
		y += step
	}
	return p.done()
}

// frame draws a line around the page, so far from its edge.
func (p *page) frame(edge, thick int) {
	w, h := p.wide()-2*edge, p.high()-2*edge
	p.box(edge, edge, w, thick)
	p.box(edge, edge+h-thick, w, thick)
	p.box(edge, edge, thick, h)
	p.box(edge+w-thick, edge, thick, h)
}

package workflow

import (
	"fmt"
	"slices"
	"strings"

	"packwright/events"
	"packwright/prep"
)

// pieces says which units go into a carton or come out: by a raw code from a
// scanner, by item and number, or by their marks. Lot needs saying only where
// the place does not tell.
type pieces struct {
	Code    string     `json:"code"` // as scanned: mark, item number, element string or the floor's short code
	Item    string     `json:"item"`
	Lot     string     `json:"lot"`
	Q       int        `json:"q"` // 0: one
	Marks   prep.Marks `json:"marks"`
	Serials []string   `json:"serials"` // the maker's, AI (21)
}

func (p *pieces) check() error {
	if p.Q < 0 || len(p.Marks) > 0 && p.Q != 0 && p.Q != len(p.Marks) {
		return prep.Input(fmt.Sprintf("%d pieces cannot be meant", p.Q), "give a number over 0, or as many as the marks")
	}
	seen := slices.Clone(p.Serials)
	slices.Sort(seen)
	if len(slices.Compact(seen)) != len(p.Serials) {
		return prep.Input("a serial is listed twice", "scan each piece once")
	}
	return nil
}

// read finds out which item is meant. After it Item is set, but for a mark that
// sits on nothing.
func (d *decision) read(p *pieces) *Refusal {
	f := d.f
	if p.Code != "" && !f.decode(p) || p.Item != "" && f.Items[p.Item] == nil || p.Item == "" && len(p.Marks) == 0 {
		return refuse("E-CAR-06")
	}
	for _, m := range p.Marks {
		if !f.Printed.Has(m) {
			return refuse("E-CAR-06")
		}
		d.scope.Mark = m
		cell := f.Ledger.Find(m)
		if cell == nil {
			continue
		}
		if p.Item != "" && p.Item != cell.Item {
			return refuse("E-CAR-06")
		}
		p.Item = cell.Item
	}
	if len(p.Marks) > 0 {
		p.Q = len(p.Marks)
	}
	return nil
}

// decode reads a raw code: a mark, an element string with item number and
// perhaps the maker's serial, an item number, or the floor's short code.
func (f *Floor) decode(p *pieces) bool {
	if m, err := prep.ParseMark(p.Code); err == nil {
		p.Marks = prep.NewMarks(append(p.Marks, m)...)
		return true
	}
	if prep.IsElements(p.Code) {
		parts, err := prep.ParseElements(p.Code)
		if err != nil {
			return false
		}
		for _, x := range parts {
			switch x.AI {
			case "01":
				p.Item = f.Codes[prep.GTIN(x.Value).Norm14()]
			case "21":
				p.Serials = append(p.Serials, x.Value)
			}
		}
		return p.Item != ""
	}
	if g, err := prep.ParseGTIN(p.Code); err == nil {
		p.Item = f.Codes[g.Norm14()]
		return p.Item != ""
	}
	p.Item = p.Code
	return f.Items[p.Code] != nil
}

// serialsFor asks for the maker's serials of born-serial items, one a piece.
func (d *decision) serialsFor(p *pieces) *Refusal {
	if it := d.f.Items[p.Item]; it != nil && it.Trace == prep.TraceBorn && len(p.Serials) != max(p.Q, 1) {
		return refuse("E-CAR-15")
	}
	return nil
}

// serialKey names a maker's serial: it is unique within its item.
func serialKey(item, serial string) string { return item + "/" + serial }

// serialIn gives the carton here that holds a maker's serial, or "".
func (f *Floor) serialIn(item, serial string) string {
	for code, c := range f.Cartons {
		if c.Serials[serialKey(item, serial)] {
			return code
		}
	}
	return ""
}

// leftIn names the carton a mark left in, while that is remembered.
func (f *Floor) leftIn(m prep.Mark) string {
	for code, c := range f.Cartons {
		for _, x := range c.Gone {
			if x.Marks.Contains(m) {
				return code
			}
		}
	}
	return "goods that have left"
}

// onlyItem gives the item of all that lies in a place, or "".
func (f *Floor) onlyItem(place string) (item string) {
	for _, c := range f.Ledger.At(place) {
		if item != "" && item != c.Item {
			return ""
		}
		item = c.Item
	}
	return item
}

// cellsOf lists where units of an item lie outside cartons, those at stage
// prepped and the others, in the order of the books. from and lot narrow it.
func (f *Floor) cellsOf(item, from, lot string) (ready, other []*Cell) {
	add := func(c *Cell) {
		switch {
		case c.Item != item || lot != "" && c.Lot != lot || c.Place == "" || f.Cartons[c.Place] != nil:
		case c.Stage == events.Prepped:
			ready = append(ready, c)
		default:
			other = append(other, c)
		}
	}
	if from != "" {
		for _, c := range f.Ledger.At(from) {
			add(c)
		}
		return ready, other
	}
	for _, c := range f.Ledger.cells {
		add(c)
	}
	slices.SortFunc(ready, byKey)
	slices.SortFunc(other, byKey)
	return ready, other
}

// nearest keeps the cells at a bench, when there are any: on its table, in its
// aside tote, or in a tote that stands there.
func (f *Floor) nearest(cells []*Cell, station string) []*Cell {
	var near []*Cell
	for _, c := range cells {
		t := f.Totes[c.Place]
		if c.Place == station || c.Place == aside(station) || t != nil && t.Stand == station {
			near = append(near, c)
		}
	}
	if len(near) > 0 {
		return near
	}
	return cells
}

// markedCells finds the cells of marks, all at stage prepped.
func (d *decision) markedCells(in *placeAsk) *Refusal {
	for _, m := range in.Marks {
		c := d.f.Ledger.Find(m)
		if c == nil {
			return refuse("E-CAR-05", "this label was put on no piece")
		}
		if c.Stage != events.Prepped {
			return refuse("E-CAR-05", d.f.missing([]*Cell{c}))
		}
		i := slices.IndexFunc(in.took, func(t taken) bool { return t.cell == c })
		if i < 0 {
			i = len(in.took)
			in.took = append(in.took, taken{cell: c})
		}
		in.took[i].q++
		in.took[i].marks = append(in.took[i].marks, m)
	}
	return nil
}

// missing says what keeps units from being prepped: of the cell that is furthest.
func (f *Floor) missing(cells []*Cell) string {
	far := map[events.Stage]string{events.Received: "not triaged yet", events.Held: "on hold", events.Unmarked: "its label was cancelled"}
	for _, c := range cells {
		if c.Stage == events.Triaged {
			return f.stepMissing(c)
		}
	}
	for _, c := range cells {
		if why := far[c.Stage]; why != "" {
			return why
		}
	}
	return "none of these has come"
}

// stepMissing names the first required step that no run over a tote has recorded.
func (f *Floor) stepMissing(c *Cell) string {
	rev, run := f.RulesRev, &Run{}
	for _, r := range f.Runs {
		if r.State != RunClosed && r.Tote == c.Place && r.Lot == c.Lot && (run.Run == "" || r.Run < run.Run) {
			rev, run = r.Rev, r // of two runs over one tote always the same
		}
	}
	if recipe := f.recipe(c.Item, rev); recipe != nil {
		if s, missing := unchecked(run, recipe, 1); missing {
			return "no " + strings.ReplaceAll(s.ID, "-", " ") + " step recorded"
		}
	}
	return "no run has finished it"
}

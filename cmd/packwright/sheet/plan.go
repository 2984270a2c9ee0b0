package sheet

import (
	"fmt"

	"packwright/events"
)

// PlanLines turns a table into the lines of a plan. An empty owner means
// owner. Errors: *prep.InputError, joined.
func PlanLines(t *Table, owner string) ([]events.PlanLine, error) {
	rd, err := match(t, planColumns)
	if err != nil {
		return nil, err
	}
	seen := map[string]Cell{}
	lines := make([]events.PlanLine, 0, len(t.Rows))
	for _, r := range t.Rows {
		l := events.PlanLine{Carton: rd.filled(r, "carton"), Item: rd.filled(r, "item"), Owner: rd.cell(r, "owner").Text}
		if l.Owner == "" {
			l.Owner = owner
		}
		if l.Owner == "" {
			rd.fail(rd.cell(r, "owner"), "nobody owns this line", "fill the column owner, or give --owner")
		}
		q := rd.cell(r, "q")
		before := len(rd.errs)
		if l.Q = rd.whole(q); l.Q == 0 && len(rd.errs) == before {
			rd.fail(q, "a line of none", "leave the line out")
		}
		rd.once(seen, fmt.Sprintf("%s of %s in %s", l.Item, l.Owner, l.Carton), rd.cell(r, "item"))
		lines = append(lines, l)
	}
	if err := rd.failed(); err != nil {
		return nil, err
	}
	return lines, nil
}

// filled gives a cell that must not be empty.
func (rd *reading) filled(r Row, name string) string {
	c := rd.cell(r, name)
	if c.Text == "" {
		rd.fail(c, name+" is missing", "fill it, or take the row out")
	}
	return c.Text
}

package main

import (
	"fmt"
	"time"

	"packwright/events"
	"packwright/prep"
)

// atFlag asks for the floor as it was known at a moment.
type atFlag struct {
	At string `placeholder:"TIME" help:"As the floor knew it then: 17:41, 2031-03-04T17:41, or RFC 3339. A bare hour is of the log's last day with placements."`
}

// forms are how people write a moment, beside RFC 3339.
var forms = []struct {
	layout string
	hour   bool // of a day that is not written
}{
	{"15:04", true}, {"15:04:05", true},
	{"2006-01-02T15:04", false}, {"2006-01-02T15:04:05", false}, {"2006-01-02 15:04", false}, {"2006-01-02 15:04:05", false},
}

// parseMoment reads a moment. What is not written is taken from the last
// placement: the day of a bare hour, and the offset of the clock. Errors:
// *prep.InputError.
func parseMoment(text string, placed events.Time) (events.Time, error) {
	if t, err := events.ParseTime(text); err == nil {
		return t, nil
	}
	for _, f := range forms {
		t, err := time.ParseInLocation(f.layout, text, placed.Std().Location())
		if err != nil {
			continue
		}
		if !f.hour {
			return events.At(t), nil
		}
		if placed.IsZero() {
			return events.Time{}, prep.Input(fmt.Sprintf("%s is an hour of no day: this log has no placements", text), "write the day too, as in 2031-03-04T17:41")
		}
		day := placed.Std()
		return events.At(time.Date(day.Year(), day.Month(), day.Day(), t.Hour(), t.Minute(), t.Second(), 0, day.Location())), nil
	}
	return events.Time{}, prep.Input(fmt.Sprintf("%q is no moment", text), "write 17:41, 2031-03-04T17:41 or 2031-03-04T17:41:00Z")
}

package web

import (
	"testing"

	"packwright/audit"
	"packwright/audit/follow"
	"packwright/events"
)

// untilThen reads the log anew up to a moment.
func untilThen(t *testing.T, d *deskDay, at events.Time) (audit.Board, error) {
	f, err := follow.Until(t.Context(), d.log, at)
	if err != nil {
		return audit.Board{}, err
	}
	return f.Board(at), nil
}

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

// fold gives each carton's 18 digits, as the log has them.
func (d *deskDay) fold() (map[string]string, error) {
	out := map[string]string{}
	r := follow.New()
	err := d.log.Scan(d.t.Context(), 1, func(seq uint64, raw []byte) error {
		f, err := r.Take(seq, raw)
		for _, e := range f.Events {
			if s, ok := e.Data.(*events.CartonSealed); ok {
				out[s.Carton] = string(s.Code)
			}
		}
		return err
	})
	return out, err
}

package workflow

import (
	"fmt"

	"packwright/events"
	"packwright/prep"
)

// foundAsk founds a floor. It is the first command of every log, given by init
// from the station named Board.
type foundAsk struct {
	Floor    string `json:"floor"`
	Owner    string `json:"owner"`
	Currency string `json:"currency"`
	Epoch    string `json:"epoch"`
	Key      string `json:"key"` // public half of what signs the log's heads; empty: none are signed
}

func (in *foundAsk) check() error {
	if in.Key == "" {
		return nil
	}
	if name, err := events.KeyName(in.Key); err != nil || name != events.LogName(in.Floor) {
		return prep.Input("the key is not this floor's", "make one for "+events.LogName(in.Floor))
	}
	return nil
}

// Board is the station every floor has from its first event.
const Board = "BOARD"

var foundingRules = []rule{
	on(rule{Name: "found", Moves: []Move{{"floor", "", "founded"}}}, []gate[foundAsk]{
		{Gate{"an empty log", "E-SYS-02", ""}, func(d *decision, in *foundAsk) *Refusal {
			if d.f.ID != "" {
				return refuse("E-SYS-02")
			}
			return nil
		}},
	}, func(d *decision, in *foundAsk) {
		d.follow(&events.FloorFounded{Floor: in.Floor, Owner: in.Owner, Currency: in.Currency, Epoch: in.Epoch, Key: in.Key})
		d.follow(&events.StationJoined{Name: Board, Aside: aside(Board)})
		roles := []events.Role{events.Owner}
		if d.f.policy.Persons == 1 {
			roles = append(roles, events.Supervisor) // nobody else is there to be asked
		}
		d.follow(&events.BadgeEnrolled{Badge: in.Owner, Roles: roles, Recipes: []string{AllRecipes}})
	}),
}

func (f *Floor) floorFounded(e *events.Event, d *events.FloorFounded) error {
	if f.ID != "" {
		return fmt.Errorf("%w: a floor is founded once", events.ErrCorrupt)
	}
	f.ID, f.Owner, f.Currency, f.Epoch, f.Key = d.Floor, d.Owner, d.Currency, d.Epoch, d.Key
	return nil
}

// aside gives the code of a station's aside tote, the one home of odd pieces.
func aside(station string) string { return "A-" + station }

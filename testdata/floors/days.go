package floors

import (
	"fmt"
	"slices"
	"time"

	"packwright/workflow"
)

// PlayOn plays the day and then further ones on the same floor, each with goods
// and plans of its own and with what the day before left behind, for as long as
// more says so. The first day is the one that Play plays.
func (d *Day) PlayOn(door Door, more func() bool) {
	for d.Play(door); more(); {
		d.nextMorning()
		d.work()
	}
}

// today makes a code one of this day; the first day's are as they are.
func (d *Day) today(code string) string {
	if d.again == 0 {
		return code
	}
	return fmt.Sprintf("%s-%d", code, d.again+1)
}

// nextMorning lets everybody forget yesterday's errands and sign in again.
func (d *Day) nextMorning() {
	d.again++
	d.now = d.now.Truncate(24*time.Hour).AddDate(0, 0, 1).Add(5 * time.Hour)
	d.began, d.rounds, d.last = d.round, d.round+d.dice.Between(120, 240), d.round
	d.door.Look(d.tidyUp)
	for _, p := range d.people {
		p.errands, p.here, p.sulks = nil, p.home, map[string]int{}
		d.atOnce(d.say(p, "sign-in"))
	}
	d.atOnce(d.say(d.who("sup-1"), "check-scale", "scale", "SC-1", "ref_g", 5000, "read_g", 5001))
}

// tidyUp drops from memory what has left the floor for good.
func (d *Day) tidyUp(f *workflow.Floor) {
	d.lots = slices.DeleteFunc(d.lots, func(lot string) bool { return f.Lots[lot] == nil })
	d.truth.pieces = slices.DeleteFunc(d.truth.pieces, func(p *piece) bool {
		return p.where == away || p.where[0] == 'C' && f.Cartons[p.where] == nil
	})
}

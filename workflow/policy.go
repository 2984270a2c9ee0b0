package workflow

import (
	"packwright/events"
	"packwright/prep"
)

// Policy is how this house works: what is asked of people, never what is
// forbidden for ever. The defaults suit one to three people. It is a file, not
// an event: the log says what was decided, not why a switch stood so.
type Policy struct {
	Persons    int  // 1: four-eyes falls back to the same person after ten minutes, or the scale
	Totes      bool // false: each lot is its own tote
	Runs       bool // false: the first scan of a lot at a bench opens its run
	PairCheck  bool // scan code and label before closing an outer box all alike
	HandCount  bool // false: waived where the scale can vouch
	SecondHand bool // a count by the placer is not enough
	Scale      bool // there is one
	Balance    bool // numbered labels of a run are accounted for
	Clearances bool // badges prep only what they are cleared for
	Supplies   bool // rolls and packs are received before they are used

	SecondOneIn  int        // 0: none; k: one carton in k is counted by a second person
	SecondAbove  prep.Money // 0: none; value of a carton above which a second person counts
	SameScanMS   int        // equal class scans within this are one
	QuietMinutes int        // silence of a bench with open work before it is noted
	QuietCall    int        // minutes of silence with open work after which someone must go and look
	IdleMinutes  int        // without a word and without a run, a badge is signed out; 0: never
	ScaleHours   int        // a scale's check is good so long
	DivertLimit  prep.Money // a packer's, by unit cost times pieces; 0: none
	WriteOff     prep.Money // a supervisor's
	TakeBackLast int        // how many actions
	TakeBackMin  int        // after so many minutes no more
	Overrides    int        // more than this stands on the owner's note

	Delegated    map[string]Delegation // owner → what a supervisor may approve alone
	Reorder      map[string]Reorder    // material → when more of it is ordered
	Lifting      Lifting
	Weighing     events.Weights
	Destinations map[string]Destination
}

// Delegation is what a supervisor may change of an owner's lines alone.
type Delegation struct {
	Units   int
	Percent int // of the line; the smaller of the two counts
}

// Destination is what the other end accepts.
type Destination struct {
	MaxMass   prep.Mass
	MaxSide   prep.Length
	ShelfDays int // best-before must lie so many days ahead
	OneOwner  bool
	OneDate   bool // one best-before date a line
}

// DefaultPolicy gives the defaults.
func DefaultPolicy() *Policy {
	return &Policy{
		Persons: 3, Totes: true, Runs: true, PairCheck: true, HandCount: true, Scale: true, Balance: true, Clearances: false,
		SameScanMS: 900, QuietMinutes: 2, QuietCall: 15, IdleMinutes: 10, ScaleHours: 12, TakeBackLast: 5, TakeBackMin: 10, Overrides: 3,
		Delegated: map[string]Delegation{}, Reorder: map[string]Reorder{}, Lifting: usualLifting,
		Weighing: events.DefaultWeights,
		Destinations: map[string]Destination{
			"dest-default": {MaxMass: 22_500 * prep.Gram, MaxSide: 630 * prep.MM, ShelfDays: 90, OneOwner: true, OneDate: true},
		},
	}
}

// destination gives the limits a plan is under; an unknown name means none.
func (p *Policy) destination(name string) Destination { return p.Destinations[name] }

// weighing gives what the house takes the weights to be, where that is not the usual.
func (p *Policy) weighing() *events.Weights {
	if p.Weighing == events.DefaultWeights {
		return nil
	}
	w := p.Weighing
	return &w
}

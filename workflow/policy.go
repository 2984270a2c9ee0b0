package workflow

import "packwright/prep"

// Policy is how this house works: what is asked of people, never what is
// forbidden for ever. The defaults suit one to three people. It is a file, not
// an event: the log says what was decided, not why a switch stood so.
type Policy struct {
	Persons    int  `yaml:"persons"`     // 1: four-eyes falls back to the same person after ten minutes, or the scale
	Totes      bool `yaml:"totes"`       // false: each lot is its own tote
	Runs       bool `yaml:"runs"`        // false: the first scan of a lot at a bench opens its run
	PairCheck  bool `yaml:"pair_check"`  // scan code and label before closing an outer box all alike
	HandCount  bool `yaml:"hand_count"`  // false: waived where the scale can vouch
	SecondHand bool `yaml:"second_hand"` // a count by the placer is not enough
	Scale      bool `yaml:"scale"`       // there is one
	Balance    bool `yaml:"label_balance"`
	Clearances bool `yaml:"clearances"` // badges prep only what they are cleared for

	SecondOneIn  int        `yaml:"second_one_in"`   // 0: none; k: one carton in k is counted by a second person
	SecondAbove  prep.Money `yaml:"second_above"`    // 0: none; value of a carton above which a second person counts
	SameScanMS   int        `yaml:"same_scan_ms"`    // equal class scans within this are one
	QuietMinutes int        `yaml:"quiet_minutes"`   // silence of a bench with open work before it is noted
	QuietCall    int        `yaml:"quiet_call"`      // minutes of silence with open work after which someone must go and look
	IdleMinutes  int        `yaml:"idle_minutes"`    // without a word and without a run, a badge is signed out; 0: never
	ScaleHours   int        `yaml:"scale_hours"`     // a scale's check is good so long
	DivertLimit  prep.Money `yaml:"divert_limit"`    // a packer's, by unit cost times pieces; 0: none
	WriteOff     prep.Money `yaml:"write_off_limit"` // a supervisor's
	TakeBackLast int        `yaml:"take_back_last"`  // how many actions
	TakeBackMin  int        `yaml:"take_back_minutes"`
	Overrides    int        `yaml:"overrides_a_day"` // more than this stands on the owner's note

	Delegated    map[string]Delegation  `yaml:"delegated"` // owner → what a supervisor may approve alone
	Weighing     Weights                `yaml:"weighing"`
	Destinations map[string]Destination `yaml:"destinations"`
}

// Delegation is what a supervisor may change of an owner's lines alone.
type Delegation struct {
	Units   int `yaml:"units"`
	Percent int `yaml:"percent"` // of the line; the smaller of the two counts
}

// Weights are the parts of a carton's gross that are not goods.
type Weights struct {
	Packing   prep.Mass `yaml:"packing"`
	PackingSD prep.Mass `yaml:"packing_sd"`
	TareSD    prep.Mass `yaml:"tare_sd"`
	ScaleSD   prep.Mass `yaml:"scale_sd"`
}

// Destination is what the other end accepts.
type Destination struct {
	MaxMass   prep.Mass   `yaml:"max_mass"`
	MaxSide   prep.Length `yaml:"max_side"`
	ShelfDays int         `yaml:"shelf_days"` // best-before must lie so many days ahead
	OneOwner  bool        `yaml:"one_owner"`
	OneDate   bool        `yaml:"one_date"` // one best-before date a line
}

// DefaultPolicy gives the defaults.
func DefaultPolicy() *Policy {
	return &Policy{
		Persons: 3, Totes: true, Runs: true, PairCheck: true, HandCount: true, Scale: true, Balance: true, Clearances: false,
		SameScanMS: 900, QuietMinutes: 2, QuietCall: 15, IdleMinutes: 10, ScaleHours: 12, TakeBackLast: 5, TakeBackMin: 10, Overrides: 3,
		Delegated: map[string]Delegation{},
		Weighing:  Weights{Packing: 60 * prep.Gram, PackingSD: 5 * prep.Gram, TareSD: 4 * prep.Gram, ScaleSD: 2 * prep.Gram},
		Destinations: map[string]Destination{
			"dest-default": {MaxMass: 22_500 * prep.Gram, MaxSide: 630 * prep.MM, ShelfDays: 90, OneOwner: true, OneDate: true},
		},
	}
}

// destination gives the limits a plan is under; an unknown name means none.
func (p *Policy) destination(name string) Destination { return p.Destinations[name] }

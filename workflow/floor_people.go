package workflow

import (
	"packwright/events"
	"packwright/prep"
)

// Badge is a person's card.
type Badge struct {
	Badge   string        `json:"badge"`
	Roles   []events.Role `json:"roles"`
	Recipes []string      `json:"recipes,omitempty"`
	OwnerOf string        `json:"owner_of,omitempty"`
	Licence string        `json:"licence,omitempty"`
	Retired bool          `json:"retired,omitempty"`
	Station string        `json:"station,omitempty"` // where it is signed in
}

// Station is a bench, the board, or any other door commands come through.
type Station struct {
	Name     string                  `json:"name"`
	Aside    string                  `json:"aside"`
	Sessions []Session               `json:"sessions,omitempty"` // the bench's own, then helpers
	Heard    events.Time             `json:"heard,omitzero"`     // recorded time of the last kept command
	Quiet    bool                    `json:"quiet,omitempty"`
	SkewMS   int64                   `json:"skew_ms,omitempty"` // its clock against the writer's, as last noted
	Epochs   map[string]*KeptNumbers `json:"epochs,omitempty"`
	Recent   []Recent                `json:"recent,omitempty"`   // last commands kept, oldest first, at most recentKept
	Refused  map[Code]events.Time    `json:"refused,omitzero"`   // when a ScanRefused of this code was last written
	LastRun  string                  `json:"last_run,omitempty"` // last run closed here with labels out of balance

	room []Recent // where Recent lies once it is full
}

// recentKept is how many answered commands a station's record remembers in full.
const recentKept = 64

// recentMore is how many more have room before the others are moved.
const recentMore = 16

// Recent is a kept command: enough to answer a retry, and to take it back.
type Recent struct {
	ID      string      `json:"id"`
	Sum     string      `json:"sum"`
	Type    events.Type `json:"type"` // its first event
	Seq     events.Seq  `json:"seq"`
	At      events.Time `json:"at"`
	Session string      `json:"session,omitempty"`
	Badge   string      `json:"badge,omitempty"`
	Undo    []Undo      `json:"undo,omitempty"` // how to take it back, event by event; none: cannot be
	Taken   bool        `json:"taken,omitempty"`
}

// Undo remembers what the reverse of one event needs.
type Undo struct {
	Of      events.Type `json:"of"`
	Carton  string      `json:"carton,omitempty"`
	Run     string      `json:"run,omitempty"`
	Lot     string      `json:"lot,omitempty"`
	Item    string      `json:"item,omitempty"`
	Place   string      `json:"place,omitempty"` // where the goods were before
	Step    string      `json:"step,omitempty"`
	Q       int         `json:"q,omitempty"`
	Marks   prep.Marks  `json:"marks,omitempty"`
	Serials []string    `json:"serials,omitempty"`
}

// Session is a badge at work at a station.
type Session struct {
	ID    string `json:"id"`
	Badge string `json:"badge"`
	Helps string `json:"helps,omitempty"`
}

// Scale remembers its last check.
type Scale struct {
	Checked events.Time `json:"checked"`
	OK      bool        `json:"ok"`
	Ref     string      `json:"ref"` // place of that event
}

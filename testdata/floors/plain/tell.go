package plain

import (
	"encoding/json"
	"fmt"

	"packwright/events"
	"packwright/prep"
)

// Told is a command that the floor kept, and how it was answered.
type Told struct {
	Station string
	Badge   string
	Type    string
	Data    []byte
	Late    bool       // kept as a statement that moves nothing
	Code    string     // of the refusal that came with "call"
	Seq     events.Seq // the place of its first event
}

// ask is what any command may say.
type ask struct {
	Lot     string          `json:"lot"`
	Item    string          `json:"item"`
	Owner   string          `json:"owner"`
	Tote    string          `json:"tote"`
	From    json.RawMessage `json:"from"` // a place, or the first of a range of labels
	To      json.RawMessage `json:"to"`
	Stage   events.Stage    `json:"stage"`
	Place   string          `json:"place"`
	Hold    string          `json:"hold"`
	Verdict events.Verdict  `json:"verdict"`
	Qty     int             `json:"qty"`
	Q       int             `json:"q"`
	N       int             `json:"n"`
	Delta   int             `json:"delta"`
	Marks   prep.Marks      `json:"marks"`
	Mark    prep.Mark       `json:"mark"`

	Run       string    `json:"run"`
	Kind      string    `json:"kind"`
	MarksFrom prep.Mark `json:"marks_from"`

	Carton string        `json:"carton"`
	Code   string        `json:"code"`
	Pour   bool          `json:"pour"`
	Plan   string        `json:"plan"`
	Policy string        `json:"destination_policy"`
	Lines  []planLine    `json:"lines"`
	Total  *int          `json:"total"`
	Seal   string        `json:"seal_no"`
	Seen   string        `json:"seal_no_seen"`
	Load   string        `json:"load"`
	Seq    events.Seq    `json:"seq"`
	Change []planLine    `json:"changes"`
	Prop   string        `json:"proposal"`
	Name   string        `json:"name"`
	Badge  string        `json:"badge"`
	Roles  []events.Role `json:"roles"`
	OwnOf  string        `json:"owner_of"`
	Source string        `json:"source"`
}

type planLine struct {
	Carton string `json:"carton"`
	Item   string `json:"item"`
	Owner  string `json:"owner"`
	Q      int    `json:"q"`
	Delta  int    `json:"delta"`
}

// word reads a field that may be a place.
func word(raw json.RawMessage) (s string) {
	_ = json.Unmarshal(raw, &s)
	return s
}

// telling is one command being followed.
type telling struct {
	*Model
	ask
	Told
	done *done
}

// follow has a line for each command that moves goods or that such a line must
// know of. All others move nothing.
var follow = map[string]func(*telling) error{
	"found": (*telling).found, "enrol-badge": (*telling).enrol, "sign-in": (*telling).signIn,
	"announce": (*telling).announce, "receive": (*telling).receive, "correct-receipt": (*telling).correct,
	"split-tote": (*telling).split, "triage": (*telling).triage, "hold": (*telling).hold, "release-hold": (*telling).release,
	"divert": (*telling).divert, "write-off": (*telling).writeOff, "declare-unaccounted": (*telling).lose, "un-divert": (*telling).unDivert,
	"move-tote": (*telling).moveTote, "clear-tote": (*telling).clearTote, "register-item": (*telling).item, "revise-item": (*telling).item,
	"publish-rulebook": (*telling).rulebook,
	"open-run":         (*telling).openRun, "close-run": (*telling).closeRun, "hand-over-run": (*telling).handOverRun, "print-labels": (*telling).printLabels, "print-again": (*telling).printAgain,
	"check-step":   (*telling).mayEnd,
	"finish-units": (*telling).finishUnits, "spoil": (*telling).spoil, "build-bundle": (*telling).buildBundle,
	"void-mark": (*telling).voidMark, "remark": (*telling).remark,
	"release": (*telling).releasePlan, "propose": (*telling).propose, "approve": (*telling).approve, "decline": (*telling).decline,
	"open-carton": (*telling).openCarton, "place": (*telling).place, "take-out": (*telling).takeOut, "void-carton": (*telling).voidCarton,
	"finish-carton": (*telling).finishCarton, "enter-count": (*telling).enterCount, "accept-count": (*telling).acceptCount,
	"seal": (*telling).seal, "reopen": (*telling).reopen, "dispatch": (*telling).dispatch, "cancel-dispatch": (*telling).cancelDispatch,
	"close-load": (*telling).closeLoad, "take-back": (*telling).takeBack,
}

// Tell follows a kept command. The error says what the floor should not have
// kept, or what cannot be followed.
func (m *Model) Tell(told Told) error {
	d := &done{told: told, session: fmt.Sprint(told.Badge, m.sessions[told.Badge])}
	if told.Badge != "" || told.Type == "found" {
		m.recent[told.Station] = append(m.recent[told.Station], d)
	}
	if told.Late {
		return nil
	}
	fn := follow[told.Type]
	if fn == nil {
		return nil
	}
	t := &telling{Model: m, Told: told, done: d}
	if len(told.Data) > 0 && string(told.Data) != "null" {
		if err := json.Unmarshal(told.Data, &t.ask); err != nil {
			return fmt.Errorf("%s %s: %w", told.Type, told.Data, err)
		}
	}
	if err := fn(t); err != nil {
		return fmt.Errorf("%s %s at %s by %s: %w", told.Type, told.Data, told.Station, told.Badge, err)
	}
	return nil
}

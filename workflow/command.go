package workflow

import (
	"crypto/sha256"
	"encoding/hex"
	"strconv"
	"strings"

	json "github.com/goccy/go-json"

	"packwright/events"
	"packwright/prep"
)

// Command is what someone at a bench asks for, in the imperative.
type Command struct {
	ID      string          `json:"id"`   // station/epoch/n, numbered by the bench before the first send
	Type    string          `json:"type"` // imperative kebab-case: place, enter-count
	At      events.Time     `json:"at,omitzero"`
	Badge   string          `json:"badge,omitempty"`
	Offline bool            `json:"offline,omitempty"` // done while away, sent from the outbox
	Basis   events.Basis    `json:"basis,omitempty"`
	Matter  string          `json:"mismatch,omitempty"` // the mismatch this is done for
	Data    json.RawMessage `json:"data,omitempty"`

	// The newest head that this bench was told of, from an answer: the bench is
	// the witness that the log has not lost, or changed, what it once answered.
	Held     uint64 `json:"held,omitempty"`      // its frame
	HeldRoot string `json:"held_root,omitempty"` // the root after it; empty: frames are compared only
	HeldEra  string `json:"held_era,omitempty"`  // of the answer that told it
}

// CommandID is a command's number: n counts up in the outbox of a station; a
// new epoch begins when an outbox was lost.
type CommandID struct {
	Station string
	Epoch   string
	N       uint64
}

// ParseCommandID reads station/epoch/n. Errors: *prep.InputError.
func ParseCommandID(s string) (CommandID, error) {
	station, rest, _ := strings.Cut(s, "/")
	epoch, number, _ := strings.Cut(rest, "/")
	if station != "" && epoch != "" && len(s) <= 80 {
		if n, err := strconv.ParseUint(number, 10, 64); err == nil && n > 0 {
			return CommandID{station, epoch, n}, nil
		}
	}
	return CommandID{}, prep.Input("the command id "+strconv.Quote(s)+" is not station/epoch/n", "number commands like ST-1/1/42")
}

// Sum gives 8 hexadecimal signs of the SHA-256 of what the command asks, so that
// one id with two bodies is noticed.
func (c *Command) Sum() string {
	h := sha256.New()
	h.Write([]byte(c.Type))
	h.Write([]byte{0})
	h.Write([]byte(c.Badge))
	h.Write([]byte{0})
	h.Write(c.Data)
	return hex.EncodeToString(h.Sum(nil)[:4])
}

// Outcome is one of four.
type Outcome string

// The four outcomes.
const (
	Kept    Outcome = "kept"
	Already Outcome = "already"
	No      Outcome = "no"
	Call    Outcome = "call"
)

// Decision is what Decide gives: the outcome, why not (or why to call), and the
// events to keep. A refusal may carry one event, ScanRefused, which does not
// make the command's id known.
type Decision struct {
	Outcome Outcome
	Refusal *Refusal
	Events  []events.Event
	First   events.Seq // for already by id: where the first answer stands, when still remembered
}

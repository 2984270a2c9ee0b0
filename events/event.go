package events

import (
	"fmt"
	"slices"
	"strconv"
	"strings"
)

// Seq is an event's place in the log and its identity: frame sequence (from 1)
// and index within the frame (from 0), written 12.3.
type Seq struct {
	Frame uint64
	Index int
}

// String gives frame.index.
func (s Seq) String() string {
	return strconv.FormatUint(s.Frame, 10) + "." + strconv.Itoa(s.Index)
}

// Less orders places.
func (s Seq) Less(t Seq) bool {
	return s.Frame < t.Frame || s.Frame == t.Frame && s.Index < t.Index
}

// IsZero says that no place is meant.
func (s Seq) IsZero() bool { return s.Frame == 0 }

// ParseSeq reads frame.index.
func ParseSeq(t string) (Seq, error) {
	f, i, ok := strings.Cut(t, ".")
	frame, err := strconv.ParseUint(f, 10, 64)
	index, err2 := strconv.Atoi(i)
	if !ok || err != nil || err2 != nil || index < 0 {
		return Seq{}, fmt.Errorf("%q is not a place in the log like 12.3", t)
	}
	return Seq{frame, index}, nil
}

// MarshalText gives String.
func (s Seq) MarshalText() ([]byte, error) { return []byte(s.String()), nil }

// UnmarshalText reads what MarshalText wrote.
func (s *Seq) UnmarshalText(t []byte) (err error) {
	*s, err = ParseSeq(string(t))
	return err
}

// Basis says how a fact came to be known.
type Basis string

// The bases. Scan is the default and is left out on the wire.
const (
	Scan      Basis = "scan"
	Keyed     Basis = "keyed"
	ByScale   Basis = "scale"
	Derived   Basis = "derived" // follows from what was just decided
	Testimony Basis = "testimony"
	Import    Basis = "import"
)

// Event is one fact with its envelope.
type Event struct {
	Seq      Seq    // place; not on the wire
	Cause    string // command id: station/epoch/n
	Sum      string // first event of a command: 8 hexadecimal signs of its body's SHA-256
	At       Time   // when it happened, by the bench's clock
	Recorded Time   // the writer's clock; never goes back along the log
	Basis    Basis
	Station  string
	Badge    string
	Mismatch string // the matter this was done for, if any
	Claim    string
	PlanRev  int // revisions the decider saw
	RulesRev int
	Data     Data
}

// Type gives the wire name of the event's body.
func (e *Event) Type() Type { return e.Data.Type() }

// Types lists every event type, sorted.
func Types() []Type {
	out := make([]Type, 0, len(kinds))
	for t := range kinds {
		out = append(out, t)
	}
	slices.Sort(out)
	return out
}

// Blank gives an empty body of a type, or nil when the list has no such type.
func Blank(t Type) Data {
	k, ok := kinds[t]
	if !ok {
		return nil
	}
	return k.blank()
}

// Version gives the current schema version of a type, 0 when unknown.
func Version(t Type) int { return kinds[t].version }

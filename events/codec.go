package events

import (
	stdjson "encoding/json"
	"fmt"
	"strconv"

	json "github.com/goccy/go-json"
)

// wire is the envelope as it stands on a line.
type wire struct {
	Type     Type               `json:"type"`
	V        int                `json:"v,omitempty"`
	Cause    string             `json:"cause,omitempty"`
	Sum      string             `json:"sum,omitempty"`
	At       Time               `json:"at,omitempty"`
	Recorded Time               `json:"recorded"`
	Basis    Basis              `json:"basis,omitempty"`
	Station  string             `json:"station,omitempty"`
	Badge    string             `json:"badge,omitempty"`
	Mismatch string             `json:"mismatch,omitempty"`
	Claim    string             `json:"claim,omitempty"`
	PlanRev  int                `json:"plan_rev,omitempty"`
	RulesRev int                `json:"rules_rev,omitempty"`
	Data     stdjson.RawMessage `json:"data"`
}

// upcasts lift a body from version v to v+1, for ever.
var upcasts = map[Type]map[int]func(stdjson.RawMessage) (stdjson.RawMessage, error){
	"floor.founded": {1: func(body stdjson.RawMessage) (stdjson.RawMessage, error) { return body, nil }}, // no key
}

// causeStation gives the station that a command id names.
func causeStation(cause string) string {
	for i := 0; i < len(cause); i++ {
		if cause[i] == '/' {
			return cause[:i]
		}
	}
	return ""
}

// Encode appends the event's line to b, without a newline. The line stands alone.
func Encode(b []byte, e *Event) ([]byte, error) {
	body, err := json.Marshal(e.Data)
	if err != nil {
		return b, fmt.Errorf("encode %s: %w", e.Data.Type(), err)
	}
	b = append(b, `{"type":"`...)
	b = append(b, e.Data.Type()...)
	b = append(b, '"')
	if v := kinds[e.Data.Type()].version; v > 1 {
		b = number(b, "v", v)
	}
	b = text(b, "cause", e.Cause)
	b = text(b, "sum", e.Sum)
	if e.At != e.Recorded && !e.At.IsZero() {
		b = moment(b, "at", e.At)
	}
	b = moment(b, "recorded", e.Recorded)
	if e.Basis != Scan {
		b = text(b, "basis", string(e.Basis))
	}
	if e.Station != causeStation(e.Cause) {
		b = text(b, "station", e.Station)
	}
	b = text(b, "badge", e.Badge)
	b = text(b, "mismatch", e.Mismatch)
	b = text(b, "claim", e.Claim)
	b = number(b, "plan_rev", e.PlanRev)
	b = number(b, "rules_rev", e.RulesRev)
	b = append(b, `,"data":`...)
	b = append(b, body...)
	return append(b, '}'), nil
}

func text(b []byte, key, v string) []byte {
	if v == "" {
		return b
	}
	b = append(append(append(b, `,"`...), key...), `":`...)
	for i := 0; i < len(v); i++ {
		if v[i] < 0x20 || v[i] >= 0x7f || v[i] == '"' || v[i] == '\\' {
			q, _ := stdjson.Marshal(v)
			return append(b, q...)
		}
	}
	return append(append(append(b, '"'), v...), '"')
}

func moment(b []byte, key string, t Time) []byte {
	b = append(append(append(b, `,"`...), key...), `":"`...)
	b, _ = t.AppendText(b)
	return append(b, '"')
}

func number(b []byte, key string, n int) []byte {
	if n == 0 {
		return b
	}
	return strconv.AppendInt(append(append(append(b, `,"`...), key...), `":`...), int64(n), 10)
}

// Decode reads a line that Encode wrote, in this version or an older one.
// Errors wrap ErrCorrupt: a log with a line nobody can read is not believable.
func Decode(line []byte) (Event, error) {
	if w, ok := scanEnvelope(line); ok {
		if e, err := w.event(scanBody); err == nil {
			return e, nil
		}
	}
	return decode(line)
}

// decode reads any line, a strange one too, and says what is wrong with it.
func decode(line []byte) (Event, error) {
	var w wire
	if err := json.Unmarshal(line, &w); err != nil {
		return Event{}, fmt.Errorf("%w: event line: %v", ErrCorrupt, err)
	}
	return w.event(func(body []byte, into Data) error { return json.Unmarshal(body, into) })
}

// event has the body read and puts back what Encode leaves out.
func (w *wire) event(read func(body []byte, into Data) error) (Event, error) {
	k, ok := kinds[w.Type]
	if !ok {
		return Event{}, fmt.Errorf("%w: unknown event type %q", ErrCorrupt, w.Type)
	}
	body, err := lift(w, k.version)
	if err != nil {
		return Event{}, err
	}
	data := k.blank()
	if err := read(body, data); err != nil {
		return Event{}, fmt.Errorf("%w: body of %s: %v", ErrCorrupt, w.Type, err)
	}
	e := Event{Cause: w.Cause, Sum: w.Sum, At: w.At, Recorded: w.Recorded, Basis: w.Basis, Station: w.Station, Badge: w.Badge,
		Mismatch: w.Mismatch, Claim: w.Claim, PlanRev: w.PlanRev, RulesRev: w.RulesRev, Data: data}
	if e.At.IsZero() {
		e.At = e.Recorded
	}
	if e.Basis == "" {
		e.Basis = Scan
	}
	if e.Station == "" {
		e.Station = causeStation(e.Cause)
	}
	return e, nil
}

// lift brings a body to the current version.
func lift(w *wire, current int) (stdjson.RawMessage, error) {
	v := max(w.V, 1)
	if v > current {
		return nil, fmt.Errorf("%w: %s is of version %d; this program knows up to %d", ErrCorrupt, w.Type, v, current)
	}
	body := w.Data
	for ; v < current; v++ {
		up, ok := upcasts[w.Type][v]
		if !ok {
			return nil, fmt.Errorf("%w: no way from version %d of %s", ErrCorrupt, v, w.Type)
		}
		var err error
		if body, err = up(body); err != nil {
			return nil, fmt.Errorf("%w: lift %s from version %d: %v", ErrCorrupt, w.Type, v, err)
		}
	}
	return body, nil
}

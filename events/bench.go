package events

import "packwright/prep"

// StationJoined lets a bench talk to the floor; Aside is the code of its aside tote.
type StationJoined struct {
	Name  string `json:"name"`
	Aside string `json:"aside"`
}

// SessionStarted: a badge works at a bench. Helps names the badge it assists, if any.
type SessionStarted struct {
	Session string `json:"session"`
	Who     string `json:"who"`
	At      string `json:"at_station"`
	Helps   string `json:"helps,omitempty"`
}

// SessionEnded: out, idle, or taken-over.
type SessionEnded struct {
	Session string `json:"session"`
	Who     string `json:"who"`
	At      string `json:"at_station"`
	Why     string `json:"why"`
}

// StationQuiet: a bench that has work open was not heard of since LastSeen.
type StationQuiet struct {
	Name     string `json:"name"`
	LastSeen Time   `json:"last_seen"`
}

// StationCaughtUp: a bench has sent what it kept while away.
type StationCaughtUp struct {
	Name   string `json:"name"`
	N      int    `json:"n"`
	Oldest Time   `json:"oldest_at,omitzero"`
	Newest Time   `json:"newest_at,omitzero"`
}

// ClockSkewNoted: a bench's clock differs from the writer's. The order is the writer's anyway.
type ClockSkewNoted struct {
	Name   string `json:"name"`
	SkewMS int64  `json:"skew_ms"`
}

// ScaleChecked compares a scale with a reference weight.
type ScaleChecked struct {
	Scale string    `json:"scale"`
	Ref   prep.Mass `json:"ref_g"`
	Read  prep.Mass `json:"read_g"`
	OK    bool      `json:"ok"`
}

// ScanRefused keeps a refused carton, mark or hazard scan: at most one per station, code and minute.
type ScanRefused struct {
	Raw    string `json:"raw_digest"`
	Class  string `json:"code_class"`
	Error  string `json:"error"`
	Carton string `json:"carton,omitempty"`
}

// LateReported is a bench's statement of something done while away that no
// longer passes its gate. It moves nothing.
type LateReported struct {
	Command string `json:"command"` // its type
	Error   string `json:"error"`
	Text    string `json:"text"`
	Body    string `json:"body"` // the command's data as sent
	Carton  string `json:"carton,omitempty"`
}

// ActionTakenBack names the event that the reverse events beside it undo.
type ActionTakenBack struct {
	Seq    Seq    `json:"seq"`
	Reason string `json:"reason,omitempty"`
}

package workflow

import (
	"packwright/events"
	"packwright/prep"
)

// Plan is the shipment: which items in which carton.
type Plan struct {
	Plan       string            `json:"plan"`
	Rev        int               `json:"rev"`
	Policy     string            `json:"policy"`
	Lines      []events.PlanLine `json:"lines"` // in the order given
	Amended    events.Time       `json:"amended,omitzero"`
	AmendedSeq events.Seq        `json:"amended_seq,omitzero"`
	Dispatched int               `json:"dispatched,omitempty"` // units
	Sealed     int               `json:"sealed,omitempty"`     // units that left sealed
}

// Proposal is a change of plan that waits for answers.
type Proposal struct {
	Proposal string              `json:"proposal"`
	Plan     string              `json:"plan"`
	Changes  []events.PlanChange `json:"changes"`
	By       string              `json:"by"`
	Matter   string              `json:"mismatch,omitempty"`
	Approved map[string]string   `json:"approved,omitempty"` // owner → badge
	Last     events.Time         `json:"last,omitzero"`      // the last answer
	Answered events.Time         `json:"answered,omitzero"`  // approved in full, or declined
	Declined bool                `json:"declined,omitempty"`
}

// Matter is a mismatch until it is resolved.
type Matter struct {
	Matter   string         `json:"mismatch"`
	Kinds    []events.Kind  `json:"kinds"`  // the first, then symptoms
	Scopes   []events.Scope `json:"scopes"` // likewise
	Blocks   bool           `json:"blocks"`
	Raised   events.Time    `json:"raised"`
	TakenBy  string         `json:"taken_by,omitempty"`
	TakenAt  events.Time    `json:"taken_at,omitzero"`
	Fixed    events.Time    `json:"fixed,omitzero"`
	FixedSeq events.Seq     `json:"fixed_seq,omitzero"`
	FixedBy  string         `json:"fixed_by,omitempty"`
	Resolved events.Time    `json:"resolved,omitzero"`
	Residual prep.Mass      `json:"residual,omitempty"` // of its first weighing
}

// Override is leave to pass one gate in one scope until it expires.
type Override struct {
	Override string       `json:"override"`
	Scope    events.Scope `json:"scope"`
	Gate     string       `json:"gate"`
	By       string       `json:"by"`
	Second   string       `json:"second,omitempty"`
	Expires  events.Time  `json:"expires"`
	Granted  events.Time  `json:"granted"`
	Seq      events.Seq   `json:"seq"`
}

// Claim is a claim not closed yet.
type Claim struct {
	Claim   string `json:"claim"`
	Kind    string `json:"kind"`
	Traced  bool   `json:"traced,omitempty"`
	Decided bool   `json:"decided,omitempty"`
}

package events

import "packwright/prep"

// Kind names what does not match.
type Kind string

// The kinds of mismatch.
const (
	Short       Kind = "SHORT"
	Over        Kind = "OVER"
	Unplanned   Kind = "UNPLANNED"
	WrongCarton Kind = "WRONGCARTON"
	Twice       Kind = "TWICE"
	Unknown     Kind = "UNKNOWN"
	Unprepped   Kind = "UNPREPPED"
	Weight      Kind = "WEIGHT"
	PlanChanged Kind = "PLANCHANGED"
	EarlySeal   Kind = "EARLYSEAL"
	Late        Kind = "LATE"
	LabelBal    Kind = "LABELBAL"
	LotBal      Kind = "LOTBAL"
	MixedLot    Kind = "MIXEDLOT"
	NoShow      Kind = "NOSHOW"
	SealBroken  Kind = "SEALBROKEN"
	OverWeight  Kind = "OVERWEIGHT"
	OverSize    Kind = "OVERSIZE"
	HazStop     Kind = "HAZSTOP"
	Quiet       Kind = "QUIET"
	Clock       Kind = "CLOCK"
)

// Scope is what a matter is about; one or two fields are set.
type Scope struct {
	Carton  string    `json:"carton,omitempty"`
	Lot     string    `json:"lot,omitempty"`
	Run     string    `json:"run,omitempty"`
	Mark    prep.Mark `json:"mark,omitempty"`
	Station string    `json:"station,omitempty"`
}

// Evidence is the four numbers as they stood; a nil pointer was not known.
type Evidence struct {
	Planned  *int       `json:"planned,omitempty"`
	Scanned  *int       `json:"scanned,omitempty"`
	Counted  *int       `json:"counted,omitempty"`
	Weighed  *prep.Mass `json:"weighed_g,omitempty"`
	Residual *prep.Mass `json:"residual_g,omitempty"`
}

// MismatchRaised opens one matter. It blocks its carton, run or lot, never the floor.
type MismatchRaised struct {
	Mismatch string `json:"mismatch"`
	Kind     Kind   `json:"kind"`
	Scope    Scope  `json:"scope"`
	Evidence
	Blocks bool `json:"blocks"`
}

// MismatchSymptomAdded is another sign of the same matter, perhaps on another carton.
type MismatchSymptomAdded struct {
	Mismatch string `json:"mismatch"`
	Kind     Kind   `json:"kind"`
	Scope    Scope  `json:"scope"`
	Evidence
}

// MismatchTaken says who has it.
type MismatchTaken struct {
	Mismatch string `json:"mismatch"`
	By       string `json:"by"`
}

// MismatchNoted keeps words.
type MismatchNoted struct {
	Mismatch string `json:"mismatch"`
	Text     string `json:"text"`
}

// MismatchFixed: the goods are put right; now the after-check.
type MismatchFixed struct {
	Mismatch string   `json:"mismatch"`
	Actions  []string `json:"actions"`
}

// MismatchResolved closes the matter by a lawful resolution of its kind.
type MismatchResolved struct {
	Mismatch   string `json:"mismatch"`
	Resolution string `json:"resolution"`
	Approver   string `json:"approver"`
	AfterCheck string `json:"after_check,omitempty"` // place of the count that proves it
	Where      string `json:"where_was_it,omitempty"`
}

// MismatchReopened takes the resolution back.
type MismatchReopened struct {
	Mismatch string `json:"mismatch"`
	Reason   string `json:"reason"`
}

// OverrideGranted lets one gate pass, in one scope, until it expires.
type OverrideGranted struct {
	Override string `json:"override"`
	Scope    Scope  `json:"scope"`
	Gate     string `json:"gate"`
	Reason   string `json:"reason_code"`
	Text     string `json:"text"`
	Expires  Time   `json:"expires"`
	Second   string `json:"second,omitempty"`
}

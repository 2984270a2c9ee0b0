package events

import "packwright/prep"

// LotAnnounced says that goods are to come: one item, one owner, one source.
type LotAnnounced struct {
	Lot      string     `json:"lot"`
	Kind     string     `json:"kind"` // bought, return
	Item     string     `json:"item"`
	Owner    string     `json:"owner"`
	Source   string     `json:"source_ref,omitempty"`
	Origin   prep.Mark  `json:"origin_mark,omitempty"` // a return: the mark it left with
	Qty      int        `json:"qty"`
	UnitCost prep.Money `json:"unit_cost,omitempty"`
	Due      Time       `json:"due,omitzero"`
}

// LotReceived puts qty units of a lot at stage received into a tote. Repeatable.
type LotReceived struct {
	Lot       string `json:"lot"`
	Item      string `json:"item"`
	Tote      string `json:"tote"`
	Qty       int    `json:"qty"`
	CountedBy string `json:"counted_by,omitempty"`
	Batch     string `json:"batch,omitempty"`
	Expiry    string `json:"expiry,omitempty"` // 2033-01 or 2033-01-31
	Note      string `json:"note,omitempty"`
}

// LotShortfallNoted closes intake of a lot that came short; equal quantities close it quietly.
type LotShortfallNoted struct {
	Lot      string `json:"lot"`
	Expected int    `json:"expected"`
	Received int    `json:"received"`
}

// LotOverageNoted closes intake of a lot that came with more than announced.
type LotOverageNoted struct {
	Lot      string `json:"lot"`
	Expected int    `json:"expected"`
	Received int    `json:"received"`
}

// LotCorrected changes how many units were received, in the tote where they lie (or do not).
type LotCorrected struct {
	Lot    string `json:"lot"`
	Item   string `json:"item"`
	Stage  Stage  `json:"stage"`
	Place  string `json:"place"`
	Delta  int    `json:"delta"`
	Reason string `json:"reason"`
}

// ToteSplit moves units, at the stage they have, into another tote.
type ToteSplit struct {
	From  string     `json:"from"`
	To    string     `json:"to"`
	Lot   string     `json:"lot"`
	Item  string     `json:"item"`
	Stage Stage      `json:"stage"`
	Q     int        `json:"q"`
	Marks prep.Marks `json:"marks,omitempty"`
}

// ToteCleared says that someone looked and the tote is empty.
type ToteCleared struct {
	Tote string `json:"tote"`
}

// ToteMoved says where a tote stands now; its contents stay in it.
type ToteMoved struct {
	Tote  string `json:"tote"`
	Place string `json:"place"`
}

// Verdict is what triage decides.
type Verdict string

// The four verdicts.
const (
	ToPrep     Verdict = "prep"
	ToHold     Verdict = "hold"
	ToDivert   Verdict = "divert"
	ToWriteOff Verdict = "writeoff"
)

// Stage gives the stage a verdict leads to.
func (v Verdict) Stage() Stage {
	switch v {
	case ToPrep:
		return Triaged
	case ToHold:
		return Held
	case ToDivert:
		return Diverted
	}
	return WrittenOff
}

// UnitsTriaged moves q received units of a tote to where the verdict sends them:
// prep stays in the tote as triaged, hold goes to the aside tote To.
type UnitsTriaged struct {
	Lot     string     `json:"lot"`
	Item    string     `json:"item"`
	Tote    string     `json:"tote"`
	To      string     `json:"to,omitempty"`
	Hold    string     `json:"hold,omitempty"` // the hold's number, for verdict hold
	Q       int        `json:"q"`
	Verdict Verdict    `json:"verdict"`
	Grade   string     `json:"grade,omitempty"`   // A, B, C
	Arrival string     `json:"arrival,omitempty"` // how they came: clean, dusty, odour, pest, wet
	Reason  string     `json:"reason,omitempty"`
	Hits    []string   `json:"rule_hits,omitempty"`
	Rule    string     `json:"rule,omitempty"`   // the rule that holds or diverts them
	Hazard  bool       `json:"hazard,omitempty"` // held for safety: a licence holder releases
	Recipe  string     `json:"recipe,omitempty"`
	Channel string     `json:"channel,omitempty"` // for verdict divert
	Cost    prep.Money `json:"cost_minor,omitempty"`
}

// UnitsHeld moves units to an aside tote, until released.
type UnitsHeld struct {
	Hold   string     `json:"hold"`
	Lot    string     `json:"lot"`
	Item   string     `json:"item"`
	Stage  Stage      `json:"stage"` // the stage they had
	From   string     `json:"from"`
	To     string     `json:"to"`
	Q      int        `json:"q"`
	Marks  prep.Marks `json:"marks,omitempty"`
	Reason string     `json:"reason"`
	Rule   string     `json:"rule,omitempty"`
	Hazard bool       `json:"hazard,omitempty"`
}

// HoldReleased moves held units from the aside tote back to the stage they had.
type HoldReleased struct {
	Hold    string     `json:"hold"`
	Lot     string     `json:"lot"`
	Item    string     `json:"item"`
	Stage   Stage      `json:"stage"` // the stage they return to
	From    string     `json:"from"`
	To      string     `json:"to"`
	Q       int        `json:"q"`
	Marks   prep.Marks `json:"marks,omitempty"`
	Reason  string     `json:"reason"`
	Licence string     `json:"licence_ref,omitempty"`
}

// UnitsDiverted sends units to another channel.
type UnitsDiverted struct {
	Lot     string     `json:"lot"`
	Item    string     `json:"item"`
	Stage   Stage      `json:"stage"`
	From    string     `json:"from"`
	Q       int        `json:"q"`
	Marks   prep.Marks `json:"marks,omitempty"`
	Hold    string     `json:"hold,omitempty"` // the hold they leave, when held
	Channel string     `json:"channel"`
	Reason  string     `json:"reason"`
	Cost    prep.Money `json:"cost_minor,omitempty"`
}

// UnitsReturnedToFloor brings diverted units back to stage received, to be checked anew.
type UnitsReturnedToFloor struct {
	Lot    string `json:"lot"`
	Item   string `json:"item"`
	Tote   string `json:"tote"`
	Q      int    `json:"q"`
	Reason string `json:"reason"`
}

// UnitsWrittenOff takes units out of the books as worthless.
type UnitsWrittenOff struct {
	Lot    string     `json:"lot"`
	Item   string     `json:"item"`
	Stage  Stage      `json:"stage"`
	From   string     `json:"from"`
	Q      int        `json:"q"`
	Marks  prep.Marks `json:"marks,omitempty"`
	Hold   string     `json:"hold,omitempty"` // the hold they leave, when held
	Reason string     `json:"reason"`
	Cost   prep.Money `json:"cost_minor,omitempty"`
}

// UnitsUnaccounted says of units that nobody knows where they are.
type UnitsUnaccounted struct {
	Lot      string     `json:"lot"`
	Item     string     `json:"item"`
	Stage    Stage      `json:"stage"`
	From     string     `json:"from"`
	Q        int        `json:"q"`
	Marks    prep.Marks `json:"marks,omitempty"`
	Hold     string     `json:"hold,omitempty"` // the hold they are missing from, when held
	LastSeen string     `json:"last_seen"`
	Second   string     `json:"second,omitempty"` // the other of supervisor and owner, who agrees
}

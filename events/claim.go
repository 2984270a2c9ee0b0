package events

import "packwright/prep"

// ClaimGiven is what the other side says; empty fields were not told.
type ClaimGiven struct {
	Mark   prep.Mark `json:"mark,omitempty"`
	Item   string    `json:"item,omitempty"`
	Carton string    `json:"carton,omitempty"`
	From   Time      `json:"from,omitzero"`
	To     Time      `json:"to,omitzero"`
	Order  string    `json:"order_ref_digest,omitempty"`
}

// ClaimOpened begins a claim: damaged, short, over, wrong-item, unlabelled, unprepared or other.
type ClaimOpened struct {
	Claim  string     `json:"claim"`
	Kind   string     `json:"kind"`
	Given  ClaimGiven `json:"given"`
	Qty    int        `json:"qty"`
	Amount prep.Money `json:"amount_minor,omitempty"`
	Due    Time       `json:"due,omitzero"`
}

// ClaimTraced keeps which units the log named, at which head of the log.
type ClaimTraced struct {
	Claim string     `json:"claim"`
	Marks prep.Marks `json:"candidates,omitempty"`
	Size  int        `json:"size"`
	Query string     `json:"query"`
	Head  Seq        `json:"log_head"`
	Root  string     `json:"log_root"`
}

// ClaimDecided gives the finding: ours, carrier, destination, maker or unknown.
type ClaimDecided struct {
	Claim     string     `json:"claim"`
	Finding   string     `json:"finding"`
	Cause     string     `json:"cause_code,omitempty"`
	Money     prep.Money `json:"money_minor"`
	Statement string     `json:"statement_digest"`
}

// ClaimClosed ends a claim.
type ClaimClosed struct {
	Claim string `json:"claim"`
}

// ClaimLinked says that the claim tells again what an earlier one told. It ends
// there: the answer to the earlier one answers both.
type ClaimLinked struct {
	Claim string `json:"claim"`
	DupOf string `json:"dup_of"`
}

// ClaimEvidenceAdded keeps what came to light about a claim: words, or a file
// that is kept elsewhere and named by its SHA-256 in hexadecimal.
type ClaimEvidenceAdded struct {
	Claim  string `json:"claim"`
	Text   string `json:"text,omitempty"`
	File   string `json:"file,omitempty"` // its name there
	Digest string `json:"digest,omitempty"`
}

// ClaimSiblingsChecked keeps what was seen of a set that shares something with
// the unit complained of: Looked of the Of that could still be looked at, Bad of them.
type ClaimSiblingsChecked struct {
	Claim  string `json:"claim"`
	Axis   string `json:"axis"`
	Set    string `json:"set"` // what they share: a run, a material lot
	Of     int    `json:"of"`
	Looked int    `json:"looked_at"`
	Bad    int    `json:"bad"`
	Seed   int64  `json:"seed,omitempty"` // of the draw, if they were drawn
	Text   string `json:"text,omitempty"`
}

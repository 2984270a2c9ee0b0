package audit

import (
	"fmt"
	"maps"
	"slices"

	"packwright/events"
	"packwright/prep"
)

// claim is a complaint and how far its answer has come.
type claim struct {
	Kind      string
	Given     given
	Qty       int
	Amount    prep.Money
	Due       stamp
	State     string // opened, traced, decided, closed; or linked to an earlier one
	Opened    fact
	Traced    fact
	Marks     prep.Marks
	Size      int
	Query     string
	Head      events.Seq
	Root      string
	Decided   fact
	Finding   string
	Cause     string
	Money     prep.Money
	Statement string
	Closed    fact
	Notes     []ClaimNote
	Checks    []SiblingCheck
	DupOf     string   // the earlier claim that it repeats
	Again     []string // later ones that repeat this
	Trail     trail
}

// given is what the other side said.
type given struct {
	Mark         prep.Mark
	Item, Carton string
	From, To     stamp
	Order        string
}

func (f *Fold) claimOf(e *events.Event, key string) (*claim, error) {
	c := f.claims[key]
	if c == nil {
		return nil, fmt.Errorf("there is no claim %q", key)
	}
	c.Trail.add(e.Seq.Frame)
	return c, nil
}

func (f *Fold) claimOpened(e *events.Event, d *events.ClaimOpened) error {
	if f.claims[d.Claim] != nil || d.Claim == "" {
		return fmt.Errorf("claim %q was opened before", d.Claim)
	}
	g := d.Given
	c := &claim{Kind: d.Kind, Qty: d.Qty, Amount: d.Amount, Due: stampOf(d.Due), State: "opened", Opened: f.fact(e),
		Given: given{g.Mark, g.Item, g.Carton, stampOf(g.From), stampOf(g.To), g.Order}}
	c.Trail.add(e.Seq.Frame)
	f.claims[d.Claim] = c
	f.claimCounts(d.Claim, c)
	return nil
}

func (f *Fold) claimTraced(e *events.Event, d *events.ClaimTraced) error {
	c, err := f.claimOf(e, d.Claim)
	if err == nil {
		c.State, c.Traced = "traced", f.fact(e)
		c.Marks, c.Size, c.Query, c.Head, c.Root = d.Marks, d.Size, d.Query, d.Head, d.Root
	}
	return err
}

func (f *Fold) claimDecided(e *events.Event, d *events.ClaimDecided) error {
	c, err := f.claimOf(e, d.Claim)
	if err == nil {
		c.State, c.Decided = "decided", f.fact(e)
		c.Finding, c.Cause, c.Money, c.Statement = d.Finding, d.Cause, d.Money, d.Statement
	}
	return err
}

func (f *Fold) claimClosed(e *events.Event, d *events.ClaimClosed) error {
	c, err := f.claimOf(e, d.Claim)
	if err == nil {
		c.State, c.Closed = "closed", f.fact(e)
	}
	return err
}

// ClaimView is one claim as it stands.
type ClaimView struct {
	Claim   string            `json:"claim"`
	Kind    string            `json:"kind"`
	State   string            `json:"state"`
	Given   events.ClaimGiven `json:"given"`
	Qty     int               `json:"qty"`
	Amount  prep.Money        `json:"amount_minor,omitempty"`
	Due     events.Time       `json:"due,omitzero"`
	Opened  events.Time       `json:"opened_at"`
	Marks   prep.Marks        `json:"candidates,omitempty"`
	Size    int               `json:"size,omitempty"`
	Query   string            `json:"query,omitempty"`
	Head    events.Seq        `json:"log_head,omitzero"`
	Root    string            `json:"log_root,omitempty"`
	Finding string            `json:"finding,omitempty"`
	Cause   string            `json:"cause_code,omitempty"`
	Money   prep.Money        `json:"money_minor,omitempty"`
	// Statement is the SHA-256 of what was sent to the other side.
	Statement string         `json:"statement_digest,omitempty"`
	DecidedAt events.Time    `json:"decided_at,omitzero"`
	ClosedAt  events.Time    `json:"closed_at,omitzero"` // or linked
	DupOf     string         `json:"dup_of,omitempty"`
	Again     []string       `json:"repeated_by,omitempty"`
	Notes     []ClaimNote    `json:"notes,omitempty"`
	Checks    []SiblingCheck `json:"sibling_checks,omitempty"`
	Frames    []uint64       `json:"frames"`
}

// Claim gives one claim. Errors: *NoSuch.
func (f *Fold) Claim(key string) (ClaimView, error) {
	c := f.claims[key]
	if c == nil {
		return ClaimView{}, &NoSuch{"claim", key}
	}
	g := events.ClaimGiven{Mark: c.Given.Mark, Item: c.Given.Item, Carton: c.Given.Carton, From: c.Given.From.time(), To: c.Given.To.time(), Order: c.Given.Order}
	v := ClaimView{Claim: key, Kind: c.Kind, State: c.State, Given: g, Qty: c.Qty, Amount: c.Amount, Due: c.Due.time(), Opened: c.Opened.At.time(),
		Marks: c.Marks, Size: c.Size, Query: c.Query, Head: c.Head, Root: c.Root, Finding: c.Finding, Cause: c.Cause, Money: c.Money,
		Frames: c.Trail.frames()}
	c.kept(&v)
	return v, nil
}

// Claims lists all claims by name.
func (f *Fold) Claims() []ClaimView {
	var out []ClaimView
	for _, key := range slices.Sorted(maps.Keys(f.claims)) {
		v, _ := f.Claim(key)
		out = append(out, v)
	}
	return out
}

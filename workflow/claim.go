package workflow

import (
	"crypto/sha256"
	"encoding/hex"
	"fmt"
	"slices"
	"strconv"
	"strings"

	"packwright/events"
	"packwright/prep"
)

// What a claim may say, and what may come of it.
var (
	claimKinds    = []string{"damaged", "short", "over", "wrong-item", "unlabelled", "unprepared", "other"}
	claimFindings = []string{"ours", "carrier", "destination", "maker", "unknown"}
)

type openClaimAsk struct {
	Kind   string            `json:"kind"`
	Given  events.ClaimGiven `json:"given"`
	Qty    int               `json:"qty"`
	Amount prep.Money        `json:"amount_minor"`
	Due    events.Time       `json:"due"`
}

func (in *openClaimAsk) check() error {
	if !slices.Contains(claimKinds, in.Kind) {
		return prep.Input(fmt.Sprintf("%q is not a kind of claim", in.Kind), "choose "+strings.Join(claimKinds, ", "))
	}
	if in.Given == (events.ClaimGiven{}) {
		return prep.Input("the claim says nothing to trace by", "give a mark, an item, a carton, a time or an order")
	}
	return nil
}

// traceClaimAsk keeps what whoever read the log found: the decider does not
// read the past, it keeps at which head of the log the answer was true.
type traceClaimAsk struct {
	claimAsk
	Marks prep.Marks `json:"candidates"`
	Size  int        `json:"size"`
	Query string     `json:"query"`
	Head  events.Seq `json:"log_head"`
	Root  string     `json:"log_root"`
}

type decideClaimAsk struct {
	claimAsk
	Finding   string     `json:"finding"`
	Cause     string     `json:"cause_code"`
	Money     prep.Money `json:"money_minor"`
	Statement string     `json:"statement_digest"`
}

func (in *decideClaimAsk) check() error {
	if !slices.Contains(claimFindings, in.Finding) {
		return prep.Input(fmt.Sprintf("%q is not a finding", in.Finding), "choose "+strings.Join(claimFindings, ", "))
	}
	return digestOf("the statement", in.Statement)
}

// digestOf refuses what is neither empty nor a SHA-256 in hexadecimal.
func digestOf(what, digest string) error {
	if b, err := hex.DecodeString(digest); digest != "" && (err != nil || len(b) != sha256.Size) {
		return prep.Input(fmt.Sprintf("%q is no SHA-256", digest), "give the 64 hexadecimal signs of "+what+"'s digest")
	}
	return nil
}

// noteClaimAsk adds what came to light: words, or a file by its SHA-256.
type noteClaimAsk struct {
	claimAsk
	Text   string `json:"text"`
	File   string `json:"file"`
	Digest string `json:"digest"`
}

func (in *noteClaimAsk) check() error {
	if strings.TrimSpace(in.Text) == "" && in.Digest == "" {
		return prep.Input("there is nothing to keep", "write what came to light, or name a file")
	}
	return digestOf("the file", in.Digest)
}

// siblingsAsk tells what was seen of the units that share something with the one
// complained of.
type siblingsAsk struct {
	claimAsk
	Axis   string `json:"axis"`
	Set    string `json:"set"`
	Of     int    `json:"of"`
	Looked int    `json:"looked_at"`
	Bad    int    `json:"bad"`
	Seed   int64  `json:"seed"`
	Text   string `json:"text"`
}

func (in *siblingsAsk) check() error {
	if in.Axis == "" || in.Set == "" {
		return prep.Input("which units were looked at is not said", "name the axis and the set, as the list of siblings has them")
	}
	return nil
}

type linkClaimAsk struct {
	claimAsk
	DupOf string `json:"dup_of"`
}

type claimAsk struct {
	Claim string `json:"claim"`
	claim *Claim
}

func (in *claimAsk) about() *claimAsk { return in }

// aboutClaim is an ask that embeds claimAsk.
type aboutClaim[T any] interface {
	*T
	about() *claimAsk
}

// claimOpen is the gate of everything done to a claim.
func claimOpen[T any, P aboutClaim[T]]() gate[T] {
	return gate[T]{Gate{"a claim that is open", "E-CLM-02", ""}, func(d *decision, in *T) *Refusal {
		a := P(in).about()
		if a.claim = d.f.Claims[a.Claim]; a.claim == nil {
			return refuse("E-CLM-02", a.Claim)
		}
		return nil
	}}
}

// undecided: a decision stands, and so does the trace it rests on.
func undecided[T any, P aboutClaim[T]]() gate[T] {
	return gate[T]{Gate{"not decided yet", "E-CLM-05", ""}, func(d *decision, in *T) *Refusal {
		if P(in).about().claim.Decided {
			return refuse("E-CLM-05")
		}
		return nil
	}}
}

// wasTraced: what is said of a claim's units rests on what the log named.
func wasTraced[T any, P aboutClaim[T]]() gate[T] {
	return gate[T]{Gate{"traced against a named head of the log", "E-CLM-01", ""}, func(d *decision, in *T) *Refusal {
		if !P(in).about().claim.Traced {
			return refuse("E-CLM-01")
		}
		return nil
	}}
}

// claimNo reads the number of a claim's name, 0 where it has none.
func claimNo(code string) int {
	n, err := strconv.Atoi(strings.TrimPrefix(code, "CL-"))
	if err != nil || claimName(n) != code {
		return 0
	}
	return n
}

func claimName(n int) string { return fmt.Sprintf("CL-%02d", n) }

// claimRules answer for goods that have left.
var claimRules = []rule{
	on(rule{Name: "open-claim", Who: askers, Moves: []Move{{"claim", "", "opened"}}}, []gate[openClaimAsk]{
		{Gate{"a quantity over 0", "E-INT-05", ""}, func(d *decision, in *openClaimAsk) *Refusal {
			if in.Qty < 1 {
				return refuse("E-INT-05", in.Qty)
			}
			return nil
		}},
	}, func(d *decision, in *openClaimAsk) {
		id := claimName(d.f.Next.Claim + 1)
		d.emit(&events.ClaimOpened{Claim: id, Kind: in.Kind, Given: in.Given, Qty: in.Qty, Amount: in.Amount, Due: in.Due}).Claim = id
	}),

	on(rule{Name: "trace-claim", Who: askers, Moves: []Move{{"claim", "opened", "traced"}, {"claim", "traced", "traced"}}}, []gate[traceClaimAsk]{
		claimOpen[traceClaimAsk](), undecided[traceClaimAsk](),
		{Gate{"a set no smaller than its marks", "E-INT-05", ""}, func(d *decision, in *traceClaimAsk) *Refusal {
			if in.Size < len(in.Marks) {
				return refuse("E-INT-05", in.Size)
			}
			return nil
		}},
		{Gate{"a head of this log", "E-CLM-03", ""}, func(d *decision, in *traceClaimAsk) *Refusal {
			if in.Head.IsZero() || d.f.Seq.Less(in.Head) || in.Root == "" || in.Query == "" {
				return refuse("E-CLM-03")
			}
			return nil
		}},
	}, func(d *decision, in *traceClaimAsk) {
		d.emit(&events.ClaimTraced{Claim: in.Claim, Marks: in.Marks, Size: in.Size, Query: in.Query, Head: in.Head, Root: in.Root}).Claim = in.Claim
	}),

	on(rule{Name: "note-claim", Who: askers}, []gate[noteClaimAsk]{claimOpen[noteClaimAsk](), undecided[noteClaimAsk]()},
		func(d *decision, in *noteClaimAsk) {
			d.emit(&events.ClaimEvidenceAdded{Claim: in.Claim, Text: in.Text, File: in.File, Digest: strings.ToLower(in.Digest)}).Claim = in.Claim
		}),

	on(rule{Name: "check-siblings", Who: supervisors}, []gate[siblingsAsk]{
		claimOpen[siblingsAsk](), undecided[siblingsAsk](), wasTraced[siblingsAsk](),
		{Gate{"some were looked at, no more than there are, and no more bad than those", "E-INT-05", ""}, func(d *decision, in *siblingsAsk) *Refusal {
			switch {
			case in.Looked < 1 || in.Looked > in.Of:
				return refuse("E-INT-05", in.Looked)
			case in.Bad < 0 || in.Bad > in.Looked:
				return refuse("E-INT-05", in.Bad)
			}
			return nil
		}},
	}, func(d *decision, in *siblingsAsk) {
		d.emit(&events.ClaimSiblingsChecked{Claim: in.Claim, Axis: in.Axis, Set: in.Set, Of: in.Of, Looked: in.Looked, Bad: in.Bad,
			Seed: in.Seed, Text: in.Text}).Claim = in.Claim
	}),

	on(rule{Name: "link-claim", Who: supervisors, Moves: []Move{{"claim", "opened", "linked"}, {"claim", "traced", "linked"}}}, []gate[linkClaimAsk]{
		claimOpen[linkClaimAsk](), undecided[linkClaimAsk](),
		{Gate{"the other claim came first", "E-CLM-07", ""}, func(d *decision, in *linkClaimAsk) *Refusal {
			if n := claimNo(in.DupOf); n < 1 || n >= claimNo(in.Claim) {
				return refuse("E-CLM-07", in.DupOf)
			}
			return nil
		}},
	}, func(d *decision, in *linkClaimAsk) {
		d.emit(&events.ClaimLinked{Claim: in.Claim, DupOf: in.DupOf}).Claim = in.Claim
	}),

	on(rule{Name: "decide-claim", Who: supervisors, Moves: []Move{{"claim", "traced", "decided"}}}, []gate[decideClaimAsk]{
		claimOpen[decideClaimAsk](), undecided[decideClaimAsk](),
		wasTraced[decideClaimAsk](),
		{Gate{"a statement is written", "E-CLM-04", ""}, func(d *decision, in *decideClaimAsk) *Refusal {
			if in.Statement == "" {
				return refuse("E-CLM-04")
			}
			return nil
		}},
	}, func(d *decision, in *decideClaimAsk) {
		d.emit(&events.ClaimDecided{Claim: in.Claim, Finding: in.Finding, Cause: in.Cause, Money: in.Money, Statement: in.Statement}).Claim = in.Claim
	}),

	on(rule{Name: "close-claim", Who: supervisors, Moves: []Move{{"claim", "decided", "closed"}}}, []gate[claimAsk]{
		claimOpen[claimAsk](),
		{Gate{"decided", "E-CLM-06", ""}, func(d *decision, in *claimAsk) *Refusal {
			if !in.claim.Decided {
				return refuse("E-CLM-06")
			}
			return nil
		}},
	}, func(d *decision, in *claimAsk) {
		d.emit(&events.ClaimClosed{Claim: in.Claim}).Claim = in.Claim
	}),
}

func (f *Floor) claimOpened(e *events.Event, d *events.ClaimOpened) error {
	f.Claims[d.Claim] = &Claim{Claim: d.Claim, Kind: d.Kind}
	f.Next.Claim++
	return nil
}

func (f *Floor) claimTraced(e *events.Event, d *events.ClaimTraced) error {
	return f.onClaim(d.Claim, func(c *Claim) { c.Traced = true })
}

func (f *Floor) claimDecided(e *events.Event, d *events.ClaimDecided) error {
	return f.onClaim(d.Claim, func(c *Claim) { c.Decided = true })
}

// claimLinked: a claim that repeats another is done with.
func (f *Floor) claimLinked(e *events.Event, d *events.ClaimLinked) error {
	return f.onClaim(d.Claim, func(*Claim) { delete(f.Claims, d.Claim) })
}

// claimKnown is what follows from what is only kept for readers: the claim must be open.
func (f *Floor) claimKnown(code string) error { return f.onClaim(code, func(*Claim) {}) }

func (f *Floor) claimClosed(e *events.Event, d *events.ClaimClosed) error {
	return f.onClaim(d.Claim, func(*Claim) { delete(f.Claims, d.Claim) })
}

// onClaim changes a claim that must be open.
func (f *Floor) onClaim(code string, change func(*Claim)) error {
	c := f.Claims[code]
	if c == nil {
		return unplaced("claim", code)
	}
	change(c)
	return nil
}

package workflow

import (
	"fmt"
	"slices"
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
	return nil
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
		id := fmt.Sprintf("CL-%02d", d.f.Next.Claim+1)
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

	on(rule{Name: "decide-claim", Who: supervisors, Moves: []Move{{"claim", "traced", "decided"}}}, []gate[decideClaimAsk]{
		claimOpen[decideClaimAsk](), undecided[decideClaimAsk](),
		{Gate{"traced against a named head of the log", "E-CLM-01", ""}, func(d *decision, in *decideClaimAsk) *Refusal {
			if !in.claim.Traced {
				return refuse("E-CLM-01")
			}
			return nil
		}},
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

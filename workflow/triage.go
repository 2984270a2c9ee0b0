package workflow

import (
	"fmt"
	"slices"
	"strings"

	"packwright/events"
	"packwright/prep"
)

// triageAsk is one verdict on some units of a tote.
type triageAsk struct {
	Lot     string         `json:"lot"` // needs saying only where a tote holds several
	Tote    string         `json:"tote"`
	Q       int            `json:"q"`
	Verdict events.Verdict `json:"verdict"`
	Grade   string         `json:"grade"`   // A, B or C: the state of the retail pack
	Arrival string         `json:"arrival"` // clean, dusty, odour, pest or wet
	Reason  string         `json:"reason"`
	Channel string         `json:"channel"` // for verdict divert
	seen    prep.Attrs     // grade and arrival
	cell    *Cell
	lot     *Lot
	says    ruling
}

func (in *triageAsk) check() error {
	switch in.Verdict {
	case events.ToPrep, events.ToHold:
	case events.ToDivert, events.ToWriteOff:
		if in.Reason == "" {
			return prep.Input("the verdict has no reason", "say what is wrong with them")
		}
	default:
		return prep.Input(fmt.Sprintf("%q is not a verdict", in.Verdict), "choose prep, hold, divert or writeoff")
	}
	in.Grade = strings.ToUpper(in.Grade)
	if err := prep.SetAttr(&in.seen, "grade", in.Grade); err != nil {
		return err
	}
	return prep.SetAttr(&in.seen, "arrival", in.Arrival)
}

// ruling is what the rulebook in force says of an item as it was seen.
type ruling struct {
	recipe prep.Recipe
	stop   prep.Hit // the rule that stops it, if any: the first that holds, else the first that diverts
	hazard bool     // that rule asks about safety
	ask    string   // what must be answered first
}

// ruling gives the rulebook's word on a lot's item; without a rulebook there is a question.
func (f *Floor) ruling(item string, seen prep.Attrs) ruling {
	it, book := f.Items[item], f.Books[f.RulesRev]
	if it == nil || book == nil {
		return ruling{ask: "no rulebook yet"}
	}
	as := *it
	if seen.Grade != prep.GradeUnknown {
		as.Attrs.Grade = seen.Grade
	}
	if seen.Arrival != prep.ArrivalUnknown {
		as.Attrs.Arrival = seen.Arrival
	}
	r := ruling{}
	if as.Attrs == it.Attrs {
		r.recipe = *f.recipe(item, f.RulesRev)
	} else {
		r.recipe = book.Recipe(as)
	}
	for _, h := range r.recipe.Stop {
		if r.stop.Rule == "" || r.stop.Verdict == prep.VerdictDivert && h.Verdict != prep.VerdictDivert {
			r.stop = h
		}
		if h.Verdict != prep.VerdictDivert && aboutSafety(book, h.Rule) && !r.hazard {
			r.stop, r.hazard = h, true
		}
	}
	if len(r.recipe.Ask) > 0 {
		r.ask = r.recipe.Ask[0]
	}
	return r
}

// aboutSafety says whether a rule asks for an attribute that may hurt somebody.
func aboutSafety(b *prep.Rulebook, id string) bool {
	r, _ := b.Rule(id)
	safety := prep.SafetyAttrs()
	var asks func(prep.Condition) bool
	asks = func(c prep.Condition) bool {
		return slices.ContainsFunc(c.All, func(t prep.Test) bool { return slices.Contains(safety, t.Attr) }) ||
			slices.ContainsFunc(c.Any, asks)
	}
	return asks(r.When)
}

// hits lists the rules that fired.
func (r ruling) hits() (ids []string) {
	for _, h := range r.recipe.Hits {
		ids = append(ids, h.Rule)
	}
	return ids
}

// triageRules judge goods and take them off the road.
var triageRules = slices.Concat([]rule{
	on(rule{Name: "triage", Who: packers, Late: true, Moves: []Move{{"unit", "received", "triaged"}, {"unit", "received", "held"},
		{"unit", "received", "diverted"}, {"unit", "received", "written-off"}}}, []gate[triageAsk]{
		{Gate{"a lot that was received", "E-INT-01", ""}, triageLot},
		{Gate{"one lot, or it is said which", "E-OUT-05", ""}, triageCell},
		{Gate{"a quantity over 0", "E-INT-05", ""}, func(d *decision, in *triageAsk) *Refusal {
			if in.Q < 1 {
				return refuse("E-INT-05", in.Q)
			}
			return nil
		}},
		{Gate{"verdicts for no more than the tote holds", "E-TRI-01", ""}, func(d *decision, in *triageAsk) *Refusal {
			if in.cell == nil || in.Q > in.cell.N {
				return refuse("E-TRI-01", in.Q, d.f.Ledger.N(Key{in.Lot, events.Received, in.Tote}))
			}
			return nil
		}},
		{Gate{"what a rule stops is held", "E-TRI-02", ""}, func(d *decision, in *triageAsk) *Refusal {
			in.says = d.f.ruling(in.lot.Item, in.seen)
			if s := in.says.stop; s.Rule != "" && s.Verdict != prep.VerdictDivert && in.Verdict != events.ToHold {
				return refuse("E-TRI-02", s.Rule)
			}
			return nil
		}},
		{Gate{"what the rulebook asks about is held", "E-TRI-03", ""}, func(d *decision, in *triageAsk) *Refusal {
			if in.says.ask != "" && in.Verdict != events.ToHold {
				return refuse("E-TRI-03", brief(in.says.ask))
			}
			return nil
		}},
		{Gate{"what a rule sends elsewhere is not prepped", "E-TRI-04", ""}, func(d *decision, in *triageAsk) *Refusal {
			if in.says.stop.Rule != "" && in.Verdict == events.ToPrep {
				return refuse("E-TRI-04", in.says.stop.Rule)
			}
			return nil
		}},
		{Gate{"above the packer's limit a supervisor", "E-OUT-02", ""}, func(d *decision, in *triageAsk) *Refusal {
			if in.Verdict == events.ToDivert || in.Verdict == events.ToWriteOff {
				return d.withinPackers(d.f.worth(in.lot, in.Q))
			}
			return nil
		}},
		{Gate{"write-off above the supervisor's limit: the owner", "E-OUT-03", ""}, func(d *decision, in *triageAsk) *Refusal {
			if in.Verdict == events.ToWriteOff {
				return d.withinSupervisors(d.f.worth(in.lot, in.Q))
			}
			return nil
		}},
	}, decideTriage),
}, holdRules, outRules)

func triageLot(d *decision, in *triageAsk) *Refusal {
	in.Tote = d.f.toteFor(in.Tote, in.Lot)
	if in.Lot == "" {
		return nil // the tote says
	}
	d.scope.Lot = in.Lot
	if d.f.Lots[in.Lot] == nil {
		return refuse("E-INT-01", in.Lot)
	}
	return nil
}

func triageCell(d *decision, in *triageAsk) *Refusal {
	for _, c := range d.f.Ledger.At(in.Tote) {
		if c.Stage != events.Received || in.Lot != "" && in.Lot != c.Lot {
			continue
		}
		if in.cell != nil {
			return refuse("E-OUT-05", in.Tote)
		}
		in.cell = c
	}
	if in.cell != nil {
		in.Lot, in.lot = in.cell.Lot, d.f.Lots[in.cell.Lot]
		d.scope.Lot = in.Lot
	}
	return nil
}

func decideTriage(d *decision, in *triageAsk) {
	e := &events.UnitsTriaged{Lot: in.Lot, Item: in.lot.Item, Tote: in.Tote, Q: in.Q, Verdict: in.Verdict, Grade: in.Grade,
		Arrival: in.Arrival, Reason: in.Reason, Hits: in.says.hits(), Recipe: in.says.recipe.Name}
	switch in.Verdict {
	case events.ToHold:
		e.Hold, e.To = d.nextHold(), aside(d.id.Station)
		e.Rule, e.Hazard = in.says.stop.Rule, in.says.hazard
		if e.Reason == "" {
			e.Reason = in.says.because()
		}
	case events.ToDivert:
		e.Rule, e.Channel = in.says.stop.Rule, in.Channel
		e.Cost = d.f.worth(in.lot, in.Q)
	case events.ToWriteOff:
		e.Cost = d.f.worth(in.lot, in.Q)
	}
	d.emit(e)
}

// because is the reason of a hold that the rulebook asked for.
func (r ruling) because() string {
	if r.stop.Rule != "" {
		return r.stop.Title
	}
	return r.ask
}

// brief is the first sentence of a question, in at most eight words, for a refusal.
func brief(s string) string {
	s, _, _ = strings.Cut(s, ". ")
	words := strings.Fields(strings.TrimSuffix(s, "."))
	if len(words) > 8 {
		words = append(words[:8], "…")
	}
	return strings.Join(words, " ")
}

// worth is what q units of a lot cost, or are worth when their cost is not known.
func (f *Floor) worth(l *Lot, q int) prep.Money {
	unit := l.UnitCost
	if it := f.Items[l.Item]; unit == 0 && it != nil {
		unit = it.Value
	}
	return unit.Times(int64(q), 1)
}

// withinPackers refuses a packer who would give up more than the house leaves to one.
func (d *decision) withinPackers(worth prep.Money) *Refusal {
	if limit := d.f.policy.DivertLimit; limit > 0 && worth > limit && !d.may(events.Supervisor, events.Owner) {
		return refuse("E-OUT-02")
	}
	return nil
}

// withinSupervisors refuses a supervisor who would write off more than the house leaves to one.
func (d *decision) withinSupervisors(worth prep.Money) *Refusal {
	if limit := d.f.policy.WriteOff; limit > 0 && worth > limit && !d.may(events.Owner) {
		return refuse("E-OUT-03")
	}
	return nil
}

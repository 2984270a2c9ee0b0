package workflow

import (
	"cmp"
	"fmt"
	"strings"

	"packwright/events"
	"packwright/prep"
)

// # The supply room
//
// A lot of material is a roll, a pack or a bottle with a code of its own. What
// is on hand of it is what came in less what the recipes say the units made
// took: an expectation in exact numbers, put right by each count. A house may
// use lots that it never received; then nothing is known of them but the runs
// that used them, which is what a recall asks for.

// receiveSupplyAsk brings some of a lot of material into the house.
type receiveSupplyAsk struct {
	Material string     `json:"material"`
	MatLot   string     `json:"matlot"`
	Q        prep.Fixed `json:"q"`
	Unit     string     `json:"unit"`       // empty: the catalogue's
	Cost     prep.Money `json:"cost_minor"` // of all of it
	made     prep.Material
}

func (in *receiveSupplyAsk) check() error {
	switch {
	case !lotCode(in.MatLot):
		return prep.Input(fmt.Sprintf("%q cannot be a lot of material", in.MatLot), "give the code on it, without blanks, as in BW-18")
	case in.Q <= 0 || in.Cost < 0:
		return prep.Input("what comes in is more than nothing, and is not paid for to take it", "give q over 0 and cost_minor from 0 on")
	}
	return nil
}

type issueSupplyAsk struct {
	MatLot  string     `json:"matlot"`
	Station string     `json:"station"`
	Q       prep.Fixed `json:"q"` // 0: all that is in the store
	lot     *MatLot
}

func (in *issueSupplyAsk) check() error {
	if in.Q < 0 {
		return prep.Input("less than nothing is handed out", "count what you carry")
	}
	return nil
}

// countSupplyAsk says how much is left of a lot, store and benches together.
type countSupplyAsk struct {
	MatLot string      `json:"matlot"`
	Q      *prep.Fixed `json:"q"`
	lot    *MatLot
}

func (in *countSupplyAsk) check() error {
	if in.Q == nil || *in.Q < 0 {
		return prep.Input("a count is a number from 0 on", "count what is left and give q")
	}
	return nil
}

type blockLotAsk struct {
	MatLot   string `json:"matlot"`
	Material string `json:"material"` // of a lot that was never here, for when it comes
	Reason   string `json:"reason"`
}

func (in *blockLotAsk) check() error {
	if in.Reason == "" || !lotCode(in.MatLot) {
		return prep.Input("a block needs a lot and a reason", "say what is wrong with it")
	}
	return nil
}

// lotCode says whether a text can be the code of a lot of material: the maker's
// own, so more may stand in it than in a code of the house.
func lotCode(s string) bool {
	return s != "" && len(s) <= 40 && strings.IndexFunc(s, func(r rune) bool { return r <= ' ' || r == 0x7f }) < 0
}

// received is the gate of commands about a lot that came in.
func received[T any](lot func(*T) (string, **MatLot)) gate[T] {
	return gate[T]{Gate{"a lot of material that was received here", "E-SUP-01", ""}, func(d *decision, in *T) *Refusal {
		code, into := lot(in)
		if *into = d.f.MatLots[code]; *into == nil || !(*into).Known {
			return refuse("E-SUP-01", cmp.Or(code, "That lot"))
		}
		return nil
	}}
}

// supplyRules are what the supply room does.
var supplyRules = []rule{
	on(rule{Name: "receive-supply", Who: packers, Moves: []Move{{"supply lot", "", "here"}, {"supply lot", "finished", "here"}}}, []gate[receiveSupplyAsk]{
		{Gate{"a material of the rulebook in force", "E-SYS-07", ""}, func(d *decision, in *receiveSupplyAsk) (no *Refusal) {
			in.made, no = d.material(in.Material)
			return no
		}},
		{Gate{"a lot that names nothing else", "E-PRE-16", ""}, func(d *decision, in *receiveSupplyAsk) *Refusal {
			if d.f.MatLots[in.MatLot] == nil && d.f.named(in.MatLot) {
				return refuse("E-PRE-16", in.MatLot)
			}
			return nil
		}},
		{Gate{"a lot of no other material", "E-SUP-02", ""}, func(d *decision, in *receiveSupplyAsk) *Refusal {
			return d.f.rightMaterial(in.MatLot, in.Material)
		}},
		{Gate{"the unit that the material is kept in", "E-SUP-04", ""}, func(d *decision, in *receiveSupplyAsk) *Refusal {
			if in.Unit = cmp.Or(in.Unit, in.made.Unit); in.Unit != in.made.Unit {
				return refuse("E-SUP-04", in.Material, in.made.Unit)
			}
			return nil
		}},
	}, func(d *decision, in *receiveSupplyAsk) {
		d.emit(&events.SupplyReceived{Material: in.Material, MatLot: in.MatLot, Q: in.Q, Unit: in.Unit, Cost: in.Cost})
	}),

	on(rule{Name: "issue-supply", Who: packers, Moves: []Move{{"supply lot", "here", "issued"}}}, []gate[issueSupplyAsk]{
		received(func(in *issueSupplyAsk) (string, **MatLot) { return in.MatLot, &in.lot }),
		{notBlocked, func(d *decision, in *issueSupplyAsk) *Refusal { return d.f.notBlocked(in.MatLot) }},
		{Gate{"the station has joined", "E-SES-04", ""}, func(d *decision, in *issueSupplyAsk) *Refusal {
			if d.f.Stations[in.Station] == nil {
				return refuse("E-SES-04", cmp.Or(in.Station, "That station"))
			}
			return nil
		}},
		{Gate{"no more than is in the store", "E-SUP-05", ""}, func(d *decision, in *issueSupplyAsk) *Refusal {
			if in.Q = cmp.Or(in.Q, in.lot.Store); in.Q > in.lot.Store || in.Q <= 0 {
				return refuse("E-SUP-05", max(in.lot.Store, 0).String(), in.MatLot)
			}
			return nil
		}},
	}, func(d *decision, in *issueSupplyAsk) {
		d.emit(&events.SupplyIssued{MatLot: in.MatLot, Material: in.lot.Material, Station: in.Station, Q: in.Q})
	}),

	on(rule{Name: "count-supply", Who: packers, Moves: []Move{{"supply lot", "here", "here"}, {"supply lot", "issued", "finished"}, {"supply lot", "blocked", "finished"}}}, []gate[countSupplyAsk]{
		received(func(in *countSupplyAsk) (string, **MatLot) { return in.MatLot, &in.lot }),
	}, func(d *decision, in *countSupplyAsk) {
		d.emit(&events.SupplyCounted{MatLot: in.MatLot, Material: in.lot.Material, Q: *in.Q, By: d.badge.Badge})
	}),

	blockLotRule, substituteRule, setRateRule,
}

// blockLotRule stops a lot at once, wherever it is in use.
var blockLotRule = on(rule{Name: "block-lot", Who: supervisors, Moves: []Move{{"supply lot", "here", "blocked"}, {"supply lot", "issued", "blocked"}, {"run", "open", "paused"}}}, []gate[blockLotAsk]{
	{Gate{"a lot that is or was in use here, or its material is named", "E-SUP-01", ""}, func(d *decision, in *blockLotAsk) *Refusal {
		if m := d.f.MatLots[in.MatLot]; m != nil {
			in.Material = cmp.Or(in.Material, m.Material)
		}
		if in.Material == "" {
			return refuse("E-SUP-01", in.MatLot)
		}
		return nil
	}},
	{Gate{"a material of the rulebook in force", "E-SYS-07", ""}, func(d *decision, in *blockLotAsk) *Refusal {
		if d.f.MatLots[in.MatLot] != nil {
			return nil // perhaps of a rulebook before
		}
		_, no := d.material(in.Material)
		return no
	}},
	{Gate{"a lot of no other material", "E-SUP-02", ""}, func(d *decision, in *blockLotAsk) *Refusal {
		return d.f.rightMaterial(in.MatLot, in.Material)
	}},
}, func(d *decision, in *blockLotAsk) {
	if m := d.f.MatLots[in.MatLot]; m != nil && m.Blocked != "" {
		return
	}
	e := &events.MatLotBlocked{MatLot: in.MatLot, Material: in.Material, Reason: in.Reason, Runs: d.f.touchedBy(in.MatLot)}
	d.emit(e)
	for _, t := range e.Runs {
		if r := d.f.Runs[t.Run]; r.State == RunOpen && r.has(in.MatLot) {
			d.follow(&events.RunPaused{Run: t.Run, Reason: in.MatLot + " is blocked"})
		}
	}
})

// material finds a material of the rulebook in force.
func (d *decision) material(id string) (prep.Material, *Refusal) {
	if book := d.f.Books[d.f.RulesRev]; book != nil {
		if m, ok := book.Materials.Find(id); ok {
			return m, nil
		}
	}
	return prep.Material{}, refuse("E-SYS-07", fmt.Sprintf("Material %q", id))
}

// notBlocked is asked wherever a lot of material is taken in hand.
var notBlocked = Gate{"a roll or pack that is not blocked", "E-PRE-05", ""}

func (f *Floor) notBlocked(lot string) *Refusal {
	if m := f.MatLots[lot]; m != nil && m.Blocked != "" {
		return refuse("E-PRE-05", lot)
	}
	return nil
}

// rightMaterial refuses a lot that was received or blocked as something else.
// What only a scan at a bench has said of a lot binds nobody: it may have been
// the wrong pack.
func (f *Floor) rightMaterial(lot, material string) *Refusal {
	if m := f.MatLots[lot]; m != nil && (m.Known || m.Blocked != "") && m.Material != material {
		return refuse("E-SUP-02", lot, m.Material)
	}
	return nil
}

// takesLot gives the gates of a command that takes a roll or pack in hand.
func takesLot[T any](what func(*T) (material, lot string)) []gate[T] {
	return []gate[T]{
		{notBlocked, func(d *decision, in *T) *Refusal {
			_, lot := what(in)
			return d.f.notBlocked(lot)
		}},
		{Gate{"a lot of that material, as far as it is known", "E-SUP-02", ""}, func(d *decision, in *T) *Refusal {
			material, lot := what(in)
			return d.f.rightMaterial(lot, material)
		}},
		{Gate{"a lot that was received, in a house that keeps supplies", "E-SUP-01", ""}, func(d *decision, in *T) *Refusal {
			_, lot := what(in)
			if m := d.f.MatLots[lot]; d.f.policy.Supplies && (m == nil || !m.Known) {
				return refuse("E-SUP-01", lot)
			}
			return nil
		}},
		{Gate{"something left of it, by the books of a house that keeps supplies", "E-SUP-03", ""}, func(d *decision, in *T) *Refusal {
			_, lot := what(in)
			if d.f.policy.Supplies && d.f.MatLots[lot].OnHand() <= 0 {
				return refuse("E-SUP-03", lot)
			}
			return nil
		}},
	}
}

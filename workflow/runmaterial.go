package workflow

import (
	"fmt"
	"maps"
	"slices"

	"packwright/events"
	"packwright/prep"
)

// drawAsk binds a roll or pack to the run from here on.
type drawAsk struct {
	ofRun
	Material string `json:"material"`
	MatLot   string `json:"matlot"`
	Q        int    `json:"q"` // in the material's unit; 0: not counted
}

func (in *drawAsk) check() error {
	if in.Material == "" || in.MatLot == "" || in.Q < 0 {
		return prep.Input("what is drawn needs a material and its lot", "scan the roll or pack")
	}
	return nil
}

// swapAsk says that a roll ran out: the first AtUnit units used From, the rest use To.
type swapAsk struct {
	ofRun
	Material string `json:"material"`
	From     string `json:"from"` // empty: what is in use
	To       string `json:"to"`
	AtUnit   int    `json:"at_unit"` // 0: as many as are finished
}

func (in *swapAsk) check() error {
	if in.Material == "" || in.To == "" || in.AtUnit < 0 {
		return prep.Input("a swap needs the material and the lot that is used from here on", "scan the new roll or pack")
	}
	return nil
}

// fetching is working for what puts another roll or pack in the place of one:
// a run that was paused because its own is blocked will do, and goes on with it.
func fetching[T any, P atRun[T]](more ...gate[T]) []gate[T] {
	gates := working[T, P](more...)
	open := gates[0]
	gates[0] = gate[T]{Gate{"a run open at this bench or paused for a blocked roll, in these hands; without explicit runs: the gates of open-run", open.Code, ""}, func(d *decision, in *T) *Refusal {
		w := P(in).work()
		if r := d.find(w); r != nil && r.State == RunPaused && r.Station == d.id.Station && d.holds(r) && d.f.blockedIn(r) != "" {
			d.takes(w, r)
			return nil
		}
		return open.shut(d, in)
	}}
	return gates
}

// goesOn resumes a run that waited for another roll, once nothing in use is blocked.
func (d *decision) goesOn(r *Run, material, lot string) {
	after := Run{Materials: maps.Clone(r.Materials)}
	after.Materials[material] = lot
	if r.State == RunPaused && d.f.blockedIn(&after) == "" {
		d.follow(&events.RunResumed{Run: r.Run})
	}
}

var drawRule = on(rule{Name: "draw-material", Who: packers, Late: true, Moves: []Move{{"run", "paused", "open"}}}, fetching(append([]gate[drawAsk]{
	{Gate{"warm air and remover never in one run", "E-PRE-14", ""}, func(d *decision, in *drawAsk) *Refusal {
		book := d.f.Books[in.run.Rev]
		if m, ok := book.Materials.Find(in.Material); ok && m.Kind == prep.KindRemover && in.recipe.Heat {
			return refuse("E-PRE-14")
		}
		return nil
	}},
	{Gate{"a material of the recipe, or what takes its place", "E-SYS-07", ""}, func(d *decision, in *drawAsk) *Refusal {
		if !takes(in.recipe, in.Material) {
			return refuse("E-SYS-07", fmt.Sprintf("Material %q", in.Material))
		}
		return nil
	}},
}, takesLot(func(in *drawAsk) (string, string) { return in.Material, in.MatLot })...)...,
), func(d *decision, in *drawAsk) {
	switch now := in.run.Materials[in.Material]; now {
	case in.MatLot:
	case "":
		d.begin(&in.ofRun)
		d.emit(&events.MaterialDrawn{Run: in.run.Run, Material: in.Material, MatLot: in.MatLot, Q: in.Q})
	default: // another roll of the same: the one before is finished
		d.emit(&events.MaterialSwapped{Run: in.run.Run, Material: in.Material, From: now, To: in.MatLot, AtUnit: in.run.done()})
		d.goesOn(in.run, in.Material, in.MatLot)
	}
})

var swapRule = on(rule{Name: "swap-material", Who: packers, Late: true, Moves: []Move{{"run", "paused", "open"}}}, fetching(append([]gate[swapAsk]{
	{Gate{"the lot that ran out is in use here", "E-PRE-12", ""}, func(d *decision, in *swapAsk) *Refusal {
		now := in.run.Materials[in.Material]
		if in.From == "" {
			in.From = now
		}
		if now == "" || now != in.From && now != in.To {
			return refuse("E-PRE-12", in.Material)
		}
		return nil
	}},
	{Gate{"no more units than are finished", "E-INT-05", ""}, func(d *decision, in *swapAsk) *Refusal {
		if in.AtUnit > in.run.done() {
			return refuse("E-INT-05", in.AtUnit)
		}
		if in.AtUnit == 0 {
			in.AtUnit = in.run.done()
		}
		return nil
	}},
}, takesLot(func(in *swapAsk) (string, string) { return in.Material, in.To })...)...,
), func(d *decision, in *swapAsk) {
	if in.run.Materials[in.Material] != in.To {
		d.emit(&events.MaterialSwapped{Run: in.run.Run, Material: in.Material, From: in.From, To: in.To, AtUnit: in.AtUnit})
		d.goesOn(in.run, in.Material, in.To)
	}
})

// takes says whether a recipe uses a material.
func takes(r *prep.Recipe, material string) bool {
	return slices.ContainsFunc(r.Materials, func(m prep.MaterialNeed) bool { return m.Material == material })
}

// undrawn names the first material of a recipe that no roll or pack was scanned
// for. Labels are counted when they are printed; remover is not used on every piece.
func undrawn(r *prep.Recipe, drawn map[string]string) string {
	for _, m := range r.Materials {
		if m.Kind != prep.KindLabel && m.Kind != prep.KindRemover && drawn[m.Material] == "" {
			return m.Material
		}
	}
	return ""
}

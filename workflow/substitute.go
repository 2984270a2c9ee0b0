package workflow

import (
	"cmp"
	"fmt"

	"packwright/events"
	"packwright/prep"
)

// substituteAsk puts another material in the place of one of a run's recipe.
// The material itself in its own place ends that.
type substituteAsk struct {
	Run      string `json:"run"`
	Material string `json:"material"`
	By       string `json:"by_material"`
	MatLot   string `json:"matlot"`
	run      *Run
	book     *prep.Rulebook
}

func (in *substituteAsk) check() error {
	if in.Run == "" || in.Material == "" || in.By == "" || !lotCode(in.MatLot) {
		return prep.Input("a substitute needs the run, the material, what is used in its place and the lot of that", "scan the roll or pack")
	}
	return nil
}

// substituteGate is the override for a material that the rulebook does not list.
const substituteGate = "substitute"

// substituteRule: the supervisor decides. The rulebook says what may stand in
// for what; anything else is an override that two people give. Nobody can give
// leave for what the rules themselves cannot settle: goods that no longer go in.
var substituteRule = on(rule{Name: "substitute", Who: supervisors}, append(append([]gate[substituteAsk]{
	{Gate{"a run that is not closed", "E-PRE-08", ""}, func(d *decision, in *substituteAsk) *Refusal {
		if in.run = d.f.Runs[in.Run]; in.run == nil || in.run.State == RunClosed {
			return refuse("E-PRE-08", in.Run)
		}
		d.scope.Run, d.scope.Lot = in.Run, in.run.Lot
		return nil
	}},
	{standing, func(d *decision, in *substituteAsk) *Refusal {
		in.book = d.f.Books[in.run.Rev]
		return d.stands(&ofRun{run: in.run, recipe: d.f.recipeOf(in.run)})
	}},
	{Gate{"a material of the run's recipe, and one of its rulebook", "E-SYS-07", ""}, func(d *decision, in *substituteAsk) *Refusal {
		if in.run.Instead[in.Material] == "" && !takes(d.f.recipeOf(in.run), in.Material) {
			return refuse("E-SYS-07", fmt.Sprintf("Material %q", in.Material))
		}
		if _, ok := in.book.Materials.Find(in.By); !ok {
			return refuse("E-SYS-07", fmt.Sprintf("Material %q", in.By))
		}
		return nil
	}},
	{Gate{"like for like", "E-SUP-07", ""}, func(d *decision, in *substituteAsk) *Refusal {
		was, _ := in.book.Materials.Find(in.Material)
		if by, _ := in.book.Materials.Find(in.By); by.Kind != was.Kind {
			return refuse("E-SUP-07", by.Kind, was.Kind)
		}
		return nil
	}},
}, takesLot(func(in *substituteAsk) (string, string) { return in.By, in.MatLot })...),
	gate[substituteAsk]{Gate{"what the rules can settle with it: the goods go in", "E-SUP-08", ""}, func(d *decision, in *substituteAsk) *Refusal {
		if r := d.f.recipeWith(in.run, in.with()); !r.Open() {
			return refuse("E-SUP-08", in.By)
		}
		return nil
	}},
	gate[substituteAsk]{Gate{"a substitute that the rulebook lists", "E-SUP-06", substituteGate}, func(d *decision, in *substituteAsk) *Refusal {
		if in.By != in.Material && !in.book.Materials.MaySubstitute(in.Material, in.By) {
			return refuse("E-SUP-06", in.By, in.Material)
		}
		return nil
	}},
), func(d *decision, in *substituteAsk) {
	was := cmp.Or(in.run.Instead[in.Material], in.Material)
	from := in.run.Materials[was]
	if was == in.By && from == in.MatLot {
		return
	}
	e := &events.SupplySubstituted{Run: in.Run, Material: in.Material, By: in.By, From: from, MatLot: in.MatLot, AtUnit: in.run.done(), Allowed: in.allowed(d)}
	if was != in.Material {
		e.Was = was
	}
	d.emit(e)
})

// with is what the run uses in the place of what, once this is so.
func (in *substituteAsk) with() map[string]string {
	out := map[string]string{in.Material: in.By}
	for of, by := range in.run.Instead {
		if of != in.Material {
			out[of] = by
		}
	}
	return out
}

// allowed says by whose word: the recipe's own, the rulebook's list, or an override's.
func (in *substituteAsk) allowed(d *decision) string {
	switch {
	case in.By == in.Material:
		return "recipe"
	case in.book.Materials.MaySubstitute(in.Material, in.By):
		return "rulebook"
	}
	return d.used.Override
}

// setRateAsk says what something costs from a moment on.
type setRateAsk struct {
	Kind  events.RateKind `json:"kind"`
	Key   string          `json:"key"`
	Minor *prep.Money     `json:"minor"`
	Per   string          `json:"per"`  // empty: an hour, or the material's unit
	From  events.Time     `json:"from"` // left out: now
}

// tariffPer is what a tariff can be for.
var tariffPer = []string{"unit", "carton", "lot", "day"}

func (in *setRateAsk) check() error {
	switch {
	case in.Minor == nil || *in.Minor < 0 || in.Key == "":
		return prep.Input("a rate is for something, and from 0 on", "give kind, key and minor")
	case in.Kind == events.LabourRate:
		if in.Per = cmp.Or(in.Per, "hour"); in.Per != "hour" {
			return prep.Input("work is paid by the hour here", "give the rate of an hour")
		}
	case in.Kind == events.TariffRate:
		for _, p := range tariffPer {
			if p == in.Per {
				return nil
			}
		}
		return prep.Input(fmt.Sprintf("a tariff is not per %q", in.Per), "choose unit, carton, lot or day")
	case in.Kind != events.MaterialRate:
		return prep.Input(fmt.Sprintf("there is no rate of kind %q", in.Kind), "choose labour, material or tariff")
	}
	return nil
}

var setRateRule = on(rule{Name: "set-rate", Who: owners, Moves: []Move{{"rate", "", "in force"}, {"rate", "in force", "in force"}}}, []gate[setRateAsk]{
	{Gate{"of a material: one of the rulebook in force", "E-SYS-07", ""}, func(d *decision, in *setRateAsk) *Refusal {
		if in.Kind != events.MaterialRate {
			return nil
		}
		m, no := d.material(in.Key)
		in.Per = cmp.Or(in.Per, m.Unit)
		return no
	}},
	{Gate{"of a material: for the unit that it is kept in", "E-SUP-04", ""}, func(d *decision, in *setRateAsk) *Refusal {
		if in.Kind != events.MaterialRate {
			return nil
		}
		if m, _ := d.material(in.Key); m.Unit != in.Per {
			return refuse("E-SUP-04", in.Key, m.Unit)
		}
		return nil
	}},
}, func(d *decision, in *setRateAsk) {
	if in.From.IsZero() {
		in.From = d.now
	}
	old, set := d.f.Rates[string(in.Kind)+"/"+in.Key]
	if set && old.Minor == *in.Minor && old.Per == in.Per && !in.From.Before(old.From) {
		return
	}
	d.emit(&events.RateSet{Kind: in.Kind, Key: in.Key, Minor: *in.Minor, Per: in.Per, From: in.From})
})

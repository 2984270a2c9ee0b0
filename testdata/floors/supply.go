package floors

import (
	"fmt"
	"maps"
	"slices"

	"packwright/prep"
	"packwright/workflow"
)

// roll names the roll or pack of a material that is in use: the first that is not blocked.
func roll(f *workflow.Floor, material string) string {
	for n := 1; ; n++ {
		code := fmt.Sprintf("%s/%d", material, n)
		if m := f.MatLots[code]; m == nil || m.Blocked == "" {
			return code
		}
	}
}

// supplies is what the supply room does: in, out to benches, counted, blocked.
func (d *Day) supplies(p *person, f *workflow.Floor) *act {
	materials := []string{"wrap-small", "wrap-large", "bag-8x12", "box-8x6x4"}
	lots := slices.Sorted(maps.Keys(f.MatLots))
	switch x := d.mind.Below(10); {
	case len(lots) == 0 || x < 3:
		material := pick(d.mind, materials)
		return d.say(p, "receive-supply", "material", material, "matlot", roll(f, material), "q", d.mind.Between(5, 40), "cost_minor", 300)
	case x < 6:
		return d.say(p, "issue-supply", "matlot", pick(d.mind, lots), "station", pick(d.mind, d.names), "q", d.mind.Between(0, 9))
	case x < 8:
		return d.say(p, "count-supply", "matlot", pick(d.mind, lots), "q", d.mind.Between(0, 30))
	case d.erring(700):
		return d.say(p, "block-lot", "matlot", pick(d.mind, lots), "reason", "film tears")
	}
	return nil
}

// instead lets a run use what lies at hand in the place of what ran out.
func (d *Day) instead(p *person, f *workflow.Floor) *act {
	for _, code := range slices.Sorted(maps.Keys(f.Runs)) {
		r := f.Runs[code]
		if r.State == workflow.RunClosed || r.Materials["wrap-small"] == "" || d.sulking(p, "substitute "+code) || !d.mind.Percent(60) {
			continue
		}
		by := pick(d.mind, []string{"wrap-large", "wrap-large", "box-8x6x4"})
		return d.say(p, "substitute", "run", code, "material", "wrap-small", "by_material", by, "matlot", roll(f, by))
	}
	return nil
}

// goOn ends a pause: with another roll where the one in use is blocked.
func (d *Day) goOn(p *person, f *workflow.Floor, r *workflow.Run) *act {
	for _, material := range slices.Sorted(maps.Keys(r.Materials)) {
		if m := f.MatLots[r.Materials[material]]; m != nil && m.Blocked != "" && d.mind.Percent(80) {
			return d.say(p, "draw-material", "run", r.Run, "material", material, "matlot", roll(f, material))
		}
	}
	return d.say(p, "resume-run", "run", r.Run)
}

// draw scans a roll or pack of each material; now and then one runs out.
func (d *Day) draw(p *person, f *workflow.Floor, r *workflow.Run, recipe *prep.Recipe) *act {
	for _, m := range recipe.Materials {
		if m.Kind == prep.KindLabel || d.sulking(p, "draw-material "+r.Run) {
			continue
		}
		material := m.Material
		if by := r.Instead[material]; by != "" {
			material = by
		}
		now := r.Materials[material]
		switch {
		case now == "":
			return d.say(p, "draw-material", "run", r.Run, "material", material, "matlot", roll(f, material))
		case r.Made > 0 && d.mind.Mille(30):
			return d.say(p, "swap-material", "run", r.Run, "material", material, "to", now+"x", "at_unit", r.Made)
		}
	}
	return nil
}

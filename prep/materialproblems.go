package prep

import "slices"

// largestSide is the longest side that the catalogue takes, in µm: 10 m.
const largestSide = 10_000_000

var units = []string{"each", "sheet", "m", "ml"}

// problems lists what is wrong with the catalogue.
func (c Catalogue) problems() []problem {
	var out []problem
	for _, m := range c.Materials {
		at := path("materials", m.ID)
		out = append(out, idProblem(at, m.ID)...)
		if !slices.Contains(materialKinds, m.Kind) {
			out = append(out, problem{path(at, "kind"), quoted(m.Kind) + " is not a kind of material", suggest(m.Kind, materialKinds)})
		}
		if !slices.Contains(units, m.Unit) {
			out = append(out, problem{path(at, "unit"), quoted(m.Unit) + " is not a unit", suggest(m.Unit, units)})
		}
		if m.Price < 0 {
			out = append(out, problem{path(at, "price_minor"), "a price below zero", "write what one " + m.Unit + " costs, in minor units"})
		}
		out = append(out, m.sizeProblems(at)...)
		for _, s := range m.Substitutes {
			other, ok := c.Find(s)
			switch {
			case !ok:
				out = append(out, problem{path(at, "substitutes", s), "there is no material " + quoted(s), suggest(s, c.ids())})
			case other.Kind != m.Kind:
				out = append(out, problem{path(at, "substitutes", s), s + " is a " + other.Kind + ", not a " + m.Kind, "substitute like for like"})
			}
		}
	}
	return append(out, twice("materials", c.ids())...)
}

func (m Material) sizeProblems(at string) []problem {
	wants := map[string]bool{
		KindBag:  m.Width > 0 && m.Length > 0 && m.Film > 0,
		KindBox:  m.Inner[0] > 0 && m.Inner[1] > 0 && m.Inner[2] > 0,
		KindWrap: m.Thickness > 0,
	}
	hints := map[string]string{
		KindBag:  "write width, length and film",
		KindBox:  "write inner: and three inside measures",
		KindWrap: "write thickness: of one layer",
	}
	if ok, asked := wants[m.Kind]; asked && !ok {
		return []problem{{at, m.ID + " has no size", hints[m.Kind]}}
	}
	for _, l := range []Length{m.Inner[0], m.Inner[1], m.Inner[2], m.Width, m.Length, m.Gusset, m.Film, m.Thickness} {
		if l < 0 || l > largestSide {
			return []problem{{at, m.ID + " has an impossible size", "check its measures"}}
		}
	}
	return nil
}

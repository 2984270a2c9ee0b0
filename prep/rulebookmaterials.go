package prep

func (b *Rulebook) readMaterials(n node) {
	for _, p := range n.pairs() {
		m := Material{ID: p.key, Unit: "each"}
		at := path("materials", p.key)
		n.mark(at, p.at)
		p.value.fields("a material", []field{
			{"name", &m.Name},
			{"kind", marked(&m.Kind, path(at, "kind"))},
			{"price_minor", marked(&m.Price, path(at, "price_minor"))},
			{"unit", marked(&m.Unit, path(at, "unit"))},
			{"inner", &m.Inner},
			{"width", &m.Width},
			{"length", &m.Length},
			{"gusset", &m.Gusset},
			{"film", &m.Film},
			{"thickness", &m.Thickness},
			{"adhesive", &m.Adhesive},
			{"printed_warning", &m.PrintedWarning},
			{"printed_keep_closed", &m.PrintedKeepClosed},
			{"substitutes", named(&m.Substitutes, path(at, "substitutes"))},
			{"source", &m.Source},
		})
		b.Materials.Materials = append(b.Materials.Materials, m)
	}
}

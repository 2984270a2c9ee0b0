package prep

// RecipeWith works out an item's recipe with other materials in the place of
// some: instead says what is used for what. All rules are asked again, so that
// a roomier box brings its filling with it, a thicker wrap is measured with its
// box, and a bag without the printed words brings their label. Where the goods
// no longer go in, the recipe asks, and work may not begin.
//
// Whether one material may take another's place is for the rulebook to say, see
// [Catalogue.MaySubstitute]; here is only what follows when it does. A material
// that the catalogue does not have, or of another kind, takes no place.
func (b *Rulebook) RecipeWith(it Item, instead map[string]string) Recipe {
	c := b.made
	if c == nil {
		c = b.ready()
	}
	w := b.making(c, knownOf(it))
	w.item, w.instead = it, instead
	w.decide()
	return w.write()
}

// used gives what is really used for a material: itself, or what takes its place.
func (w *making) used(m *Material) *Material {
	if m == nil || w.instead == nil {
		return m
	}
	if by := w.book.Materials.find(w.instead[m.ID]); by != nil && by.Kind == m.Kind {
		return by
	}
	return m
}

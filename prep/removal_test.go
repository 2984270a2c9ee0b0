package prep

import (
	"slices"
	"testing"
)

// TestRemovalTable holds the table against what the trade says of it.
func TestRemovalTable(t *testing.T) {
	for s := SurfaceCard; int(s) < len(facts[factSurface].words); s++ {
		if _, ok := removalTable[s]; !ok {
			t.Errorf("no row for %s", facts[factSurface].words[s])
		}
		if first := Leaves(s, ColdPeel); first != First && first != OnlyWay {
			t.Errorf("%s does not begin with a cold peel: %s", facts[factSurface].words[s], first)
		}
		if Leaves(s, Spray).Usable() {
			t.Errorf("spraying %s is allowed", facts[factSurface].words[s])
		}
	}
	never := map[Means][]Surface{
		WarmAir: {SurfaceSoftCase, SurfaceSoftFilm, SurfaceShrink, SurfaceFoilPrint, SurfaceFabric},
		Remover: {SurfaceCard, SurfaceSoftFilm, SurfaceShrink, SurfaceFoilPrint, SurfaceFabric},
		Scraper: {SurfaceCard, SurfaceSoftCase, SurfaceSoftFilm, SurfaceShrink, SurfaceFoilPrint, SurfaceFabric},
	}
	for means, surfaces := range never {
		for s := SurfaceCard; int(s) < len(facts[factSurface].words); s++ {
			if Leaves(s, means).Usable() == slices.Contains(surfaces, s) {
				t.Errorf("%s on %s: %s", means, facts[factSurface].words[s], Leaves(s, means))
			}
		}
	}
	if Leaves(SurfaceRigidPlastic, WarmAir) != Trained {
		t.Error("warm air on rigid plastic is for trained hands only")
	}
	for _, m := range append(removalMeans, UsesBag) {
		if Leaves(SurfaceUnknown, m).Usable() {
			t.Errorf("an unknown surface bears %s", m)
		}
	}
	for i, m := range removalMeans {
		if bitOf(m)&removalSet == 0 {
			t.Errorf("column %d, %s, is not among the ways of removal", i, m)
		}
	}
}

// TestSofteningLeavesRoom: the project's own limit stays below the lowest
// published softening figures of blister and window plastics, in °C: PVC 57
// and polystyrene 68 (heat deflection, ACS Omega 2022, PMC9088909, table 1),
// PET 73 (glass transition, lower published value).
func TestSofteningLeavesRoom(t *testing.T) {
	for plastic, softens := range map[string]int{"PVC": 57, "PS": 68, "PET": 73} {
		if MaxSurfaceC >= softens {
			t.Errorf("%d °C at the surface softens %s at %d °C", MaxSurfaceC, plastic, softens)
		}
	}
}

// TestEverySurfaceInTheShippedRulebook: for each surface and sticker there is
// a way off, never warm air with remover, and nothing that the surface refuses.
func TestEverySurfaceInTheShippedRulebook(t *testing.T) {
	b := DefaultRulebook()
	for s := SurfaceCard; int(s) < len(facts[factSurface].words); s++ {
		for _, sticker := range []Sticker{StickerPaper, StickerMultiLayer, StickerSecurity} {
			for _, near := range []YesNo{No, Yes, YesNoUnknown} {
				r := b.Recipe(with(func(it *Item) { it.Attrs.Surface, it.Attrs.Sticker, it.Attrs.WindowNear = s, sticker, near }))
				if !r.Open() || len(r.RemovalMethods) == 0 || r.RemovalMethods[0].Means != ColdPeel || r.Heat && r.Solvent {
					t.Errorf("%s, sticker %d: %+v", facts[factSurface].words[s], sticker, r)
				}
				if near != No && (r.Heat || r.Solvent) {
					t.Errorf("%s: a window beside the sticker bears neither warm air nor remover", facts[factSurface].words[s])
				}
				if r.Solvent != (r.DryWait == 180) {
					t.Errorf("%s: remover %v, wait %d s", facts[factSurface].words[s], r.Solvent, r.DryWait)
				}
			}
		}
	}
	unknown := b.Recipe(with(func(it *Item) { it.Attrs.Surface, it.Attrs.Sticker = SurfaceUnknown, StickerPaper }))
	if unknown.Open() {
		t.Error("a sticker comes off a surface that nobody named")
	}
}

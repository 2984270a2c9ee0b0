package prep

// Means is what a step works with: a way of taking a sticker off, or an
// enclosure. Rules allow and forbid means; a prohibition always wins.
type Means string

// The ways to take a sticker off, then the enclosures that a recipe may use.
const (
	ColdPeel Means = "cold-peel"
	WarmAir  Means = "warm-air"
	Remover  Means = "remover" // on a rag, never on the item
	Spray    Means = "spray"   // remover sprayed on the item
	Scraper  Means = "scraper"

	UsesBag   Means = "bag"
	UsesBox   Means = "outer-box"
	UsesTape  Means = "tape"
	UsesBlade Means = "blade"
)

// removalMeans are the columns of the removal table, best first: the order
// in which a bench tries them.
var removalMeans = []Means{ColdPeel, WarmAir, Remover, Scraper, Spray}

var allMeans = []Means{ColdPeel, WarmAir, Remover, Spray, Scraper, UsesBag, UsesBox, UsesTape, UsesBlade}

// apart are the means that may never meet in one run at one bench: vapour of
// a remover and a hot nozzle. A rulebook may add pairs; it cannot remove this one.
var apart = [][2]Means{{WarmAir, Remover}, {WarmAir, Spray}}

// Leave says whether and how a means may be used on a surface.
type Leave uint8

// The leaves, from the strictest to the freest.
const (
	Never    Leave = iota // no rulebook may allow it
	NotHere               // not used; a rulebook may not allow it either
	Trained               // only the lowest setting, only by somebody trained: a rulebook must say so
	TestSpot              // only after a trial where it does not show
	Little                // sparingly
	Low                   // low and short
	Allowed               // yes
	First                 // the way to begin
	OnlyWay               // the only way
)

var leaveWords = []string{"never", "no", "trained hands only, lowest setting", "after a test spot", "a little", "low and short", "yes", "first", "only way"}

func (l Leave) String() string { return wordAt(leaveWords, int(l)) }

// Usable tells whether a rulebook may allow it at all.
func (l Leave) Usable() bool { return l >= Trained }

// removalTable is surface against means. It is common practice of clearance
// work, kept as a floor of prohibitions: a rulebook may forbid more, and may
// allow only what is usable here. An unknown surface allows nothing.
//
// Plastics soften from about 57 °C (PVC) and 68 °C (polystyrene) under load
// (heat-deflection figures as reviewed in ACS Omega 2022, PMC9088909, table 1);
// the limit of 50 °C at the surface (MaxSurfaceC) is this project's own margin.
var removalTable = map[Surface][5]Leave{
	//                    cold peel  warm air  remover   scraper   spray
	SurfaceCard:         {First, Low, NotHere, NotHere, Never},
	SurfaceRigidPlastic: {First, Trained, Allowed, Allowed, Never},
	SurfaceSoftCase:     {First, Never, Little, NotHere, Never},
	SurfaceSoftFilm:     {First, Never, NotHere, NotHere, Never},
	SurfaceShrink:       {OnlyWay, Never, Never, NotHere, Never},
	SurfaceFoilPrint:    {OnlyWay, Never, Never, NotHere, Never},
	SurfaceGlass:        {First, Allowed, Allowed, Allowed, NotHere},
	SurfaceMetal:        {First, Allowed, Allowed, Allowed, NotHere},
	SurfacePrintedMetal: {First, Low, TestSpot, Allowed, Never},
	SurfaceFabric:       {OnlyWay, Never, NotHere, NotHere, Never},
}

// MaxSurfaceC is the warmest a surface may get under warm air, in °C: this
// project's own conservative limit, for the floor's own trial.
const MaxSurfaceC = 50

// Leaves tells whether and how a means may be used on a surface; Never for
// what is not in the table.
func Leaves(s Surface, m Means) Leave {
	row, ok := removalTable[s]
	if !ok {
		return Never
	}
	for i, column := range removalMeans {
		if column == m {
			return row[i]
		}
	}
	return Never
}

// usableOn is the set of removal means that a surface bears; none when it is unknown.
func usableOn(s Surface) (set meansSet) {
	for _, m := range removalMeans {
		if Leaves(s, m).Usable() {
			set |= bitOf(m)
		}
	}
	return set
}

// scraperNote says which tool, where the leave alone does not.
func scraperNote(s Surface, m Means) string {
	switch {
	case m == Scraper && (s == SurfaceRigidPlastic || s == SurfacePrintedMetal):
		return "plastic scraper only"
	case m == ColdPeel && s == SurfaceFabric:
		return "by hand"
	}
	return ""
}

// Removal is one way that a recipe allows to take the sticker off.
type Removal struct {
	Means Means  `json:"means"`
	How   string `json:"how"`
	Rule  string `json:"rule"` // the rule that allows it
}

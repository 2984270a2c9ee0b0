package workflow

import (
	"cmp"
	"fmt"
	"slices"
	"strconv"
	"strings"

	"packwright/events"
	"packwright/prep"
)

// openRunAsk takes the triaged pieces of one tote in hand. Item is what is made
// of them, when that is a bundle.
type openRunAsk struct {
	Run     string `json:"run"` // empty: the next number
	Tote    string `json:"tote"`
	Lot     string `json:"lot"` // enough in a house where each lot is its own tote
	Item    string `json:"item"`
	Q       int    `json:"q"`           // 0: all that is free
	Clear   string `json:"bench_clear"` // yes or no: somebody looked
	ClearBy string `json:"clear_by"`    // who looked
	Lead    string `json:"lead"`        // who stands by
	unasked bool   // a first scan opens it: nobody is asked about the bench
	unclear bool   // only leave lets it open
	lot     *Lot
	free    int  // pieces of the tote that no run has in hand
	others  int  // triaged pieces of other lots there
	busy    *Run // another run with pieces of this tote in hand
	closes  *events.RunClosed
	says    ruling
}

func (in *openRunAsk) check() error {
	switch {
	case in.Run != "" && !plainWord(in.Run):
		return prep.Input(fmt.Sprintf("%q cannot be a run", in.Run), "use letters, digits and hyphens, as in R-14")
	case in.Clear != "" && in.Clear != "yes" && in.Clear != "no":
		return prep.Input(fmt.Sprintf("bench_clear %q is neither yes nor no", in.Clear), "look at the bench, then say yes or no")
	}
	return nil
}

// openGates are the gates of open-run, and of the first scan of a lot at a
// bench in a house without explicit runs.
var openGates = []gate[openRunAsk]{
	{Gate{"a tote of this floor", "E-SYS-07", ""}, func(d *decision, in *openRunAsk) *Refusal {
		in.Tote = d.f.toteFor(in.Tote, in.Lot)
		if in.Tote == "" || len(d.f.Ledger.At(in.Tote)) == 0 {
			return refuse("E-SYS-07", "Tote "+in.Tote)
		}
		return nil
	}},
	{Gate{"all of it triaged", "E-PRE-01", ""}, triagedTote},
	{Gate{"one lot in the tote", "E-INT-02", ""}, func(d *decision, in *openRunAsk) *Refusal {
		if in.others > 0 {
			return refuse("E-INT-02", in.Tote, in.others)
		}
		return d.f.toteTakes(in.Tote, in.Lot, events.Triaged)
	}},
	{Gate{"no other run open at this bench", "E-PRE-09", ""}, benchFree},
	{Gate{"pieces that no other run has in hand", "E-CAR-03", ""}, freePieces},
	{Gate{"a quantity that is there", "E-INT-05", ""}, func(d *decision, in *openRunAsk) *Refusal {
		if in.Q == 0 {
			in.Q = in.free
		}
		if in.Q < 1 || in.Q > in.free {
			return refuse("E-INT-05", in.Q)
		}
		return nil
	}},
	{Gate{"labels of the run before in balance", "E-PRE-07", benchClear}, labelsFound},
	{Gate{"a clear bench: nothing of the run before", "E-PRE-04", benchClear}, func(d *decision, in *openRunAsk) *Refusal {
		if in.unasked || in.Clear == "yes" && !d.otherGoodsHere(cmp.Or(in.Item, in.lot.Item)) {
			return nil
		}
		in.unclear = true
		return refuse("E-PRE-04")
	}},
	{Gate{"what is made: the lot's item, or a set of the same owner", "E-BND-02", ""}, setOfOwner},
	{Gate{"no rule holds the item", "E-TRI-02", ""}, func(d *decision, in *openRunAsk) *Refusal {
		in.says = d.f.ruling(in.Item, prep.Attrs{})
		if s := in.says.stop; s.Rule != "" && s.Verdict != prep.VerdictDivert {
			return refuse("E-TRI-02", s.Rule)
		}
		return nil
	}},
	{Gate{"no question of the rulebook is open, and its recipe is not blocked", "E-TRI-03", ""}, func(d *decision, in *openRunAsk) *Refusal {
		ask := in.says.ask
		if d.f.blocked(d.f.RulesRev, in.says.recipe.Name) {
			ask = fmt.Sprintf("revision %d is blocked", d.f.RulesRev)
		}
		if ask != "" {
			return refuse("E-TRI-03", ask)
		}
		return nil
	}},
	{Gate{"no rule sends the item elsewhere", "E-TRI-04", ""}, func(d *decision, in *openRunAsk) *Refusal {
		if s := in.says.stop; s.Rule != "" {
			return refuse("E-TRI-04", s.Rule)
		}
		return nil
	}},
	{Gate{"badges named are of this floor", "E-SES-03", ""}, func(d *decision, in *openRunAsk) *Refusal {
		for _, who := range []string{in.ClearBy, in.Lead} {
			if b := d.f.Badges[who]; who != "" && (b == nil || b.Retired) {
				return refuse("E-SES-03", who)
			}
		}
		return nil
	}},
	{Gate{"a badge cleared for the recipe, or a lead beside it", "E-PRE-06", "recipe-clearance"}, func(d *decision, in *openRunAsk) *Refusal {
		lead, no := d.cleared(d.badge, in.says.recipe.Name, in.Lead)
		in.Lead = lead
		return no
	}},
	{Gate{"a name that names nothing else", "E-PRE-16", ""}, func(d *decision, in *openRunAsk) *Refusal {
		if in.Run == "" {
			in.Run = d.f.nextRun()
		}
		if d.f.named(in.Run) {
			return refuse("E-PRE-16", in.Run)
		}
		return nil
	}},
}

// benchClear is the override that lets a run open at a bench that is not clear.
const benchClear = "bench-clear"

var openRunRule = on(rule{Name: "open-run", Who: packers, Moves: []Move{{"run", "", "open"}}}, openGates, func(d *decision, in *openRunAsk) {
	d.emit(d.opened(in))
})

// opened is the fact that follows from a run's gates being open.
func (d *decision) opened(in *openRunAsk) *events.RunOpened {
	e := &events.RunOpened{Run: in.Run, Tote: in.Tote, Lot: in.Lot, Item: in.Item, Q: in.Q, Recipe: in.says.recipe.Name,
		RulesRev: d.f.RulesRev, Clear: "yes", ClearBy: in.ClearBy, Lead: in.Lead}
	switch {
	case in.unasked:
		e.Clear = "unasked"
	case in.unclear && d.overridden(benchClear):
		e.Clear, e.ClearBy = "override", d.used.By
	}
	return e
}

func triagedTote(d *decision, in *openRunAsk) *Refusal {
	for _, c := range d.f.Ledger.At(in.Tote) {
		if in.Lot != "" && c.Lot != in.Lot {
			continue
		}
		switch c.Stage {
		case events.Triaged:
			if in.lot != nil {
				in.others += c.Qty()
				continue
			}
			in.lot, in.free = d.f.Lots[c.Lot], c.N
		case events.Received:
			if d.f.policy.Totes {
				return refuse("E-PRE-01")
			}
		}
	}
	if in.lot == nil {
		return refuse("E-PRE-01")
	}
	in.Lot = in.lot.Lot
	d.scope.Lot, d.scope.Run = in.Lot, cmp.Or(in.Run, d.f.nextRun())
	return nil
}

// freePieces takes off what open runs of the tote have in hand.
func freePieces(d *decision, in *openRunAsk) *Refusal {
	for _, r := range d.f.Runs {
		if r.State == RunClosed || in.closes != nil && r.Run == in.closes.Run {
			continue
		}
		if r.Tote == in.Tote && r.Lot == in.Lot && r.inHand() > 0 {
			in.free -= r.inHand()
			if in.busy == nil || r.Run > in.busy.Run {
				in.busy = r
			}
		}
	}
	if in.free < 1 && in.busy != nil {
		return refuse("E-CAR-03", in.busy.Run, in.busy.Station)
	}
	return nil
}

// benchFree asks that no run is open here. In a house without explicit runs the
// one before is closed by the first scan of the next, when it can be.
func benchFree(d *decision, in *openRunAsk) *Refusal {
	r := d.f.runAt(d.id.Station)
	if r == nil {
		return nil
	}
	if !in.unasked || !d.holds(r) {
		return refuse("E-PRE-09", r.Run)
	}
	return d.closeable(&closeRunAsk{ofRun: ofRun{run: r, recipe: d.f.recipeOf(r)}, Returned: r.inHand()}, &in.closes)
}

// labelsFound asks that no label of the last run here is still looked for.
func labelsFound(d *decision, in *openRunAsk) *Refusal {
	last := d.f.Runs[d.station.LastRun]
	if last == nil || last.unbalanced() == 0 || !d.f.missingLabels(last.Run) {
		return nil
	}
	in.unclear = true
	return refuse("E-PRE-07", len(last.Marks), len(last.Marks)-last.unbalanced())
}

// missingLabels says whether labels of a run are an open matter.
func (f *Floor) missingLabels(run string) bool {
	for _, m := range f.Matters {
		if m.Kinds[0] == events.LabelBal && m.Scopes[0].Run == run && m.Resolved.IsZero() {
			return true
		}
	}
	return false
}

// otherGoodsHere says whether pieces of another item stand on the bench itself.
func (d *decision) otherGoodsHere(item string) bool {
	return slices.ContainsFunc(d.f.Ledger.At(d.id.Station), func(c *Cell) bool { return c.Item != item })
}

func setOfOwner(d *decision, in *openRunAsk) *Refusal {
	if in.Item == "" || in.Item == in.lot.Item {
		in.Item = in.lot.Item
		return nil
	}
	it := d.f.Items[in.Item]
	if it == nil || it.Pieces() < 2 || in.Q < it.Pieces() || it.Owner != "" && it.Owner != in.lot.Owner {
		return refuse("E-BND-02", in.Item)
	}
	return nil
}

// cleared asks that a badge may prep by a recipe, alone or with a lead beside
// it: named, or signed in at the same bench. It gives the lead, if it took one.
func (d *decision) cleared(b *Badge, recipe, lead string) (string, *Refusal) {
	if !d.f.policy.Clearances || knows(b, recipe) {
		return lead, nil
	}
	who := []string{lead}
	if s := d.f.Stations[b.Station]; s != nil && lead == "" {
		for _, x := range s.Sessions {
			who = append(who, x.Badge)
		}
	}
	for _, l := range who {
		if l := d.f.Badges[l]; l != nil && l != b && !l.Retired && knows(l, recipe) &&
			slices.ContainsFunc(l.Roles, func(r events.Role) bool { return slices.Contains(leads, r) }) {
			return l.Badge, nil
		}
	}
	return lead, refuse("E-PRE-06", recipe)
}

// leads may stand by while a badge preps what it is not cleared for.
var leads = []events.Role{events.Lead, events.Supervisor, events.Owner}

// knows says whether a badge is cleared for a recipe.
func knows(b *Badge, recipe string) bool {
	return slices.Contains(b.Recipes, recipe) || slices.Contains(b.Recipes, AllRecipes)
}

// nextRun gives the next run's name.
func (f *Floor) nextRun() string {
	for n := f.Next.Run + 1; ; n++ {
		if id := fmt.Sprintf("R-%02d", n); !f.named(id) {
			return id
		}
	}
}

// runNumber gives n of R-n, else 0.
func runNumber(run string) int {
	digits, ok := strings.CutPrefix(run, "R-")
	n, err := strconv.Atoi(digits)
	if !ok || err != nil || n < 0 {
		return 0
	}
	return n
}

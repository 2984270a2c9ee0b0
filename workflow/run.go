package workflow

import (
	"cmp"
	"slices"

	"packwright/events"
	"packwright/prep"
)

// # Runs
//
// A run is one tote, one item, one recipe, one bench, one badge. Its pieces stay
// in the tote until they are finished; what the run has in hand of them is what
// it took less what is made, spoiled or consumed. In a house without explicit
// runs the first scan of a lot at a bench opens its run, through the same gates
// but for the question about the bench, and the last piece or the next lot closes it.

// ofRun is what the commands of a bench are about: a run named, or the one open
// here, perhaps told by its tote or lot.
type ofRun struct {
	Run    string `json:"run"`
	Tote   string `json:"tote"`
	Lot    string `json:"lot"`
	run    *Run
	recipe *prep.Recipe
	opens  *openRunAsk // this scan opens it
}

func (w *ofRun) work() *ofRun { return w }

// atRun is an ask that embeds ofRun.
type atRun[T any] interface {
	*T
	work() *ofRun
}

// inHands is the gate of every command of a run, with further gates after it.
func inHands[T any, P atRun[T]](more ...gate[T]) []gate[T] {
	return append([]gate[T]{
		{Gate{"a run open at this bench, in these hands; without explicit runs: the gates of open-run", "E-PRE-08", ""}, func(d *decision, in *T) *Refusal {
			return d.inHands(P(in).work())
		}},
	}, more...)
}

// working is inHands for what goes on with prep.
func working[T any, P atRun[T]](more ...gate[T]) []gate[T] {
	return inHands[T, P](append([]gate[T]{{standing, func(d *decision, in *T) *Refusal { return d.stands(P(in).work()) }}}, more...)...)
}

var standing = Gate{"the rules of the run still stand, also for the item as it is known now", "E-PRE-15", ""}

// stands refuses to go on under rules that no longer are: published at once,
// blocked, or of an item that is now known otherwise.
func (d *decision) stands(w *ofRun) *Refusal {
	if w.run.Stopped || w.recipe == nil || !w.recipe.Open() || d.f.blocked(w.run.Rev, w.run.Recipe) {
		return refuse("E-PRE-15")
	}
	return nil
}

func (d *decision) inHands(w *ofRun) *Refusal {
	r := d.find(w)
	if r == nil && !d.f.policy.Runs && w.Run == "" && (w.Tote != "" || w.Lot != "") {
		return d.opens(w)
	}
	if r != nil && r.State == RunPaused && r.Station == d.id.Station && d.holds(r) {
		if no := d.f.unblocked(r); no != nil { // it waits for another roll
			d.takes(w, r)
			return no
		}
	}
	if r == nil || r.State != RunOpen || r.Station != d.id.Station || !d.holds(r) {
		return d.notOpen(w, r)
	}
	d.takes(w, r)
	return nil
}

// notOpen is the refusal of a command about a run that is not in hand here.
func (d *decision) notOpen(w *ofRun, r *Run) *Refusal {
	name := cmp.Or(w.Run, w.Tote, w.Lot)
	if r != nil {
		name = r.Run
		d.scope.Run, d.scope.Lot = r.Run, r.Lot
	}
	return refuse("E-PRE-08", cmp.Or(name, "R-?"))
}

// takes notes the run a command is about.
func (d *decision) takes(w *ofRun, r *Run) {
	w.run, w.recipe = r, d.f.recipeOf(r)
	d.scope.Run, d.scope.Lot = r.Run, r.Lot
}

// find gives the run a command names, or the one at this bench when its tote and lot fit.
func (d *decision) find(w *ofRun) *Run {
	if w.Run != "" {
		return d.f.Runs[w.Run]
	}
	r := d.f.runAt(d.id.Station)
	if r == nil || w.Tote != "" && w.Tote != r.Tote || w.Lot != "" && w.Lot != r.Lot {
		return nil
	}
	return r
}

// opens judges whether this scan may open the lot's run, as open-run would be judged.
func (d *decision) opens(w *ofRun) *Refusal {
	in := &openRunAsk{Tote: w.Tote, Lot: w.Lot, unasked: true}
	for _, g := range openGates {
		if no := g.shut(d, in); no != nil && (g.Override == "" || no.Code != g.Code || !d.overridden(g.Override)) {
			return no
		}
	}
	w.opens = in
	d.takes(w, d.f.newRun(d.opened(in), d.id.Station, d.badge.Badge, d.c.At))
	return nil
}

// begin writes down what a first scan began, before what it says.
func (d *decision) begin(w *ofRun) {
	if w.opens == nil {
		return
	}
	if w.opens.closes != nil {
		d.emit(w.opens.closes).Basis = events.Derived
	}
	d.emit(d.opened(w.opens)).Basis = events.Derived
}

// newRun is a run at its first moment.
func (f *Floor) newRun(e *events.RunOpened, station, badge string, at events.Time) *Run {
	r := &Run{Run: e.Run, Tote: e.Tote, Lot: e.Lot, Item: e.Item, Q: e.Q, Station: station, Badge: badge, Recipe: e.Recipe,
		Rev: e.RulesRev, State: RunOpen, Opened: at}
	if l, it := f.Lots[e.Lot], f.Items[e.Item]; l != nil && it != nil {
		r.Every = l.Leaked
		if l.Item != e.Item {
			r.Set = it.Pieces()
		}
	}
	return r
}

// holds says whether the run is in the hands of this badge, or of one it helps.
func (d *decision) holds(r *Run) bool {
	if d.badge.Badge == r.Badge {
		return true
	}
	return slices.ContainsFunc(d.station.Sessions, func(x Session) bool {
		return x.Badge == d.badge.Badge && x.Helps == r.Badge
	})
}

// runAt gives the run that is not closed at a station, or nil.
func (f *Floor) runAt(station string) *Run {
	for _, r := range f.Runs {
		if r.Station == station && r.State != RunClosed {
			return r
		}
	}
	return nil
}

// inHand counts the pieces taken and not yet made, consumed or spoiled.
func (r *Run) inHand() int { return r.Q - r.Used - r.Spoiled }

// done counts the units ever finished, those spoiled after included.
func (r *Run) done() int { return r.Made + r.Lost }

// unbalanced counts the numbered labels not accounted for.
func (r *Run) unbalanced() int {
	return len(r.Marks) - len(r.UsedMarks) - len(r.Torn) - r.LabelsBack
}

// source is the cell that units are finished from: the tote, or for a bundle
// where the sets built stand.
func (r *Run) source() Key {
	if r.Set > 0 {
		return Key{r.Bundle, events.Triaged, r.Stand}
	}
	return Key{r.Lot, events.Triaged, r.Tote}
}

// left counts the units this run can still finish now.
func (f *Floor) left(r *Run) int {
	n := f.Ledger.N(r.source())
	if r.Set > 0 {
		return n
	}
	return min(n, r.inHand())
}

// marked says whether the units a run makes get marks.
func (f *Floor) marked(r *Run) bool {
	it := f.Items[r.Item]
	return it != nil && it.Trace == prep.TraceMark
}

// runRules are what a bench does with goods.
var runRules = []rule{openRunRule, pauseRule, resumeRule, handOverRunRule, drawRule, swapRule, checkStepRule,
	finishUnitsRule, spoilRule, buildRule, closeRunRule}

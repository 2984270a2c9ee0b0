package workflow

import (
	"slices"

	"packwright/events"
	"packwright/prep"
)

// Shows is what a bench that is not blind may show beside the last sentence. A
// plan is never in it: hands know what is in, not what should be.
type Shows struct {
	Hand   Hand      `json:"hand"`
	Wants  string    `json:"wants,omitempty"` // the second scan that is waited for, in words
	Next   []string  `json:"next,omitempty"`  // action cards that fit now, the likeliest first
	Typed  string    `json:"typed,omitempty"` // digits so far
	Matter string    `json:"mismatch,omitempty"`
	Run    *RunShown `json:"run,omitempty"`
	Carton string    `json:"carton,omitempty"`
	State  string    `json:"state,omitempty"` // of the carton
	Tally  int       `json:"tally,omitempty"` // pieces in it
	From   string    `json:"from,omitempty"`  // the tote that pieces come from
	Load   string    `json:"load,omitempty"`
	Loaded int       `json:"loaded,omitempty"`
	Waits  []Waiting `json:"waits,omitempty"`     // at this bench, when the hands are free
	Kept   *LastKept `json:"last_kept,omitempty"` // the last placement here
}

// Waiting is work that lies at a bench: what to scan for it.
type Waiting struct {
	Scan  string `json:"scan"`
	What  string `json:"what"`
	State string `json:"state"`
}

// LastKept is what the log holds as the last placement of a bench: after a power
// cut hands look whether it is true.
type LastKept struct {
	Piece  string      `json:"piece"` // a mark, or the item's code
	Carton string      `json:"carton"`
	At     events.Time `json:"at"`
	In     int         `json:"in"` // pieces in that carton by the log
}

// RunShown is the run at a bench.
type RunShown struct {
	Run      string         `json:"run"`
	Tote     string         `json:"tote"`
	Item     string         `json:"item"`
	Name     string         `json:"name"`
	Paused   bool           `json:"paused,omitempty"`
	Cautions []prep.Caution `json:"cautions,omitempty"` // the heaviest first
	Steps    []StepShown    `json:"steps"`
	Surface  string         `json:"surface,omitempty"` // what a sticker sits on
	May      []MayShown     `json:"may,omitempty"`     // means to take it off
	Fetch    string         `json:"fetch,omitempty"`   // the material to be drawn next
	Left     int            `json:"left"`              // units to do
	Made     int            `json:"made"`
	Spoiled  int            `json:"spoiled"`
	Labels   []LabelShown   `json:"labels,omitempty"`
}

// StepShown is one step: done for now, or the one that comes next.
type StepShown struct {
	prep.Step
	Done bool   `json:"done"`
	Now  bool   `json:"now"`
	How  string `json:"how,omitempty"` // how the step that comes next is confirmed
}

// MayShown is one means of removal on this surface.
type MayShown struct {
	Means prep.Means `json:"means"`
	May   bool       `json:"may"`
	How   string     `json:"how"`
}

// LabelShown are the labels of one kind: printed, used on units, spoiled.
type LabelShown struct {
	Kind    events.LabelKind `json:"kind"`
	Printed int              `json:"printed"`
	Used    int              `json:"used"`
	Spoiled int              `json:"spoiled"`
}

// Left is how many are not used yet.
func (l LabelShown) Left() int { return max(l.Printed-l.Used-l.Spoiled, 0) }

// Shows gives what this bench shows. It must not be asked of a blind bench: it
// panics there, for a number shown once cannot be taken back.
func (b *Bench) Shows(f *Floor) Shows {
	if f.Blind(b.Station, b.Counting()) {
		panic("bench: asked to show numbers while it counts")
	}
	s := Shows{Hand: b.Hand, Typed: b.Number, Matter: b.Matter}
	if b.Want != nil {
		s.Wants = b.Want.Text
	}
	switch c := f.Cartons[b.Carton]; {
	case b.Hand == HandRun:
		if s.Run = f.showRun(f.runAt(b.Station)); s.Run == nil {
			s.Hand = HandFree
		}
	case (b.Hand == HandCarton || b.Hand == HandCount) && (c == nil || c.Bench != b.Station || !slices.Contains(inHand, c.State)):
		s.Hand = HandFree
	case b.Hand == HandCarton, b.Hand == HandCount:
		s.Carton, s.State, s.Tally, s.From = c.Carton, string(c.State), f.Ledger.QtyAt(c.Carton), b.Tote
	case b.Hand == HandLoad && f.Loads[b.Load] != nil:
		s.Load, s.Loaded = b.Load, len(f.Loads[b.Load].Cartons)
	}
	if s.Hand == HandFree {
		s.Waits = f.waitsAt(b.Station)
	}
	s.Kept = f.lastPlaced(b.Station)
	s.Next = b.cardsNow(f, &s)
	return s
}

// waitsAt lists what lies at a station, runs first.
func (f *Floor) waitsAt(station string) (out []Waiting) {
	if r := f.runAt(station); r != nil {
		out = append(out, Waiting{r.Tote, f.nameOf(r.Item) + ", " + r.Run, string(r.State)})
	}
	for _, c := range f.cartonsAt(station) {
		out = append(out, Waiting{c, "carton", string(f.Cartons[c].State)})
	}
	return out
}

func (f *Floor) nameOf(item string) string {
	if it := f.Items[item]; it != nil {
		return it.Name
	}
	return item
}

// lastPlaced gives the newest placement of a station that stands, or nil.
func (f *Floor) lastPlaced(station string) *LastKept {
	s := f.Stations[station]
	if s == nil {
		return nil
	}
	for _, r := range slices.Backward(s.Recent) {
		if r.Type != "unit.placed" || r.Taken || len(r.Undo) == 0 {
			continue
		}
		u := r.Undo[0]
		k := &LastKept{Piece: f.nameOf(u.Item), Carton: u.Carton, At: r.At, In: f.Ledger.QtyAt(u.Carton)}
		if len(u.Marks) > 0 {
			k.Piece = u.Marks[0].Display()
		}
		return k
	}
	return nil
}

// showRun tells a run as a bench shows it.
func (f *Floor) showRun(r *Run) *RunShown {
	if r == nil {
		return nil
	}
	recipe := f.recipeOf(r)
	if recipe == nil {
		return nil
	}
	out := &RunShown{Run: r.Run, Tote: r.Tote, Item: r.Item, Name: f.nameOf(r.Item), Paused: r.State == RunPaused, Cautions: slices.Clone(recipe.Cautions),
		Fetch: undrawn(recipe, r.Materials), Left: f.left(r), Made: r.Made, Spoiled: r.Spoiled}
	slices.SortStableFunc(out.Cautions, func(a, b prep.Caution) int { return int(b.Signal) - int(a.Signal) })
	next, any := unchecked(r, recipe, 1)
	for _, s := range recipe.Steps {
		shown := StepShown{Step: s, Done: r.Checked[s.ID].reaches(s, r.done()+1), Now: any && out.Fetch == "" && s.ID == next.ID}
		if shown.Now {
			shown.How = asks(s)
		}
		out.Steps = append(out.Steps, shown)
	}
	out.May, out.Surface = f.removal(r.Item, recipe)
	out.Labels = labelsOf(r, recipe)
	return out
}

// removal lists the means of removal: those that the recipe allows, in its
// order, then those that it does not.
func (f *Floor) removal(item string, recipe *prep.Recipe) (out []MayShown, surface string) {
	it := f.Items[item]
	if it == nil || len(recipe.RemovalMethods) == 0 {
		return nil, ""
	}
	allowed := map[prep.Means]bool{}
	for _, m := range recipe.RemovalMethods {
		allowed[m.Means] = true
		out = append(out, MayShown{m.Means, true, m.How})
	}
	for _, m := range []prep.Means{prep.ColdPeel, prep.WarmAir, prep.Remover, prep.Spray, prep.Scraper} {
		if allowed[m] {
			continue
		}
		how := prep.Leaves(it.Attrs.Surface, m)
		if how.Usable() {
			how = prep.NotHere // the surface would bear it; this rulebook does not allow it
		}
		out = append(out, MayShown{m, false, how.String()})
	}
	return out, it.Attrs.Surface.String()
}

// labelsOf counts the labels of a run by kind.
func labelsOf(r *Run, recipe *prep.Recipe) (out []LabelShown) {
	for _, k := range kinds(recipe) {
		per := 0
		for _, l := range recipe.Labels {
			if kindOf(l.ID) == k {
				per += l.Count
			}
		}
		out = append(out, LabelShown{k, r.Printed[k], r.done() * per, r.Torns[k]})
	}
	return out
}

// cardsNow are the action cards that fit what is in hand.
func (b *Bench) cardsNow(f *Floor, s *Shows) []string {
	if b.Want != nil {
		return append(slices.Clone(wantCards[b.Want.Do]), "CANCEL")
	}
	switch {
	case s.Hand == HandRun && s.Run.Left == 0 && s.Run.Fetch == "":
		return []string{"FINISH-RUN", "DONE", "SPOILED", "TAKE-BACK", "HELP"}
	case s.Hand == HandRun && slices.ContainsFunc(s.Run.Steps, func(x StepShown) bool { return x.Now }):
		return []string{"DONE", "SPOILED", "TAKE-BACK", "HELP", "PAUSE"}
	}
	return handCards[s.Hand]
}

// handCards are the cards that fit by what is in hand, wantCards by the scan
// that is waited for.
var (
	handCards = map[Hand][]string{
		HandFree:   {"HOLD", "TAKE-BACK", "HELP", "SIGN-OUT"},
		HandRun:    {"READY", "SPOILED", "OUT-OF", "RE-PRINT", "FINISH-RUN", "TAKE-BACK", "HOLD", "PAUSE", "HAND-OVER", "HELP"},
		HandCarton: {"TAKE-BACK", "FINISH-CARTON", "POUR", "TAKE-OUT", "HOLD", "HAND-OVER", "HELP"},
		HandCount:  {"TAKE-OUT", "TAKE-BACK", "HAND-OVER", "HELP"},
		HandLoad:   {"CANCEL", "HELP"},
	}
	wantCards = map[string][]string{
		"torn": {"ENTER"}, "number": {"DONE"}, "cause": {"TEAR", "HEAT", "STAIN", "CRUSH", "DROP", "OTHER"}, "clear": {"DONE"},
		"next-roll": {"PAUSE"}, "triage": {"PREP", "HOLD", "DIVERT"},
	}
)

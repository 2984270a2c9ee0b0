package audit

import (
	"cmp"
	"maps"
	"slices"
	"time"

	"packwright/prep"
)

// Backtest is what another rulebook would have done to the units that the log
// knows. It speaks of recipes and prices; that a dearer recipe would have
// spared a complaint it does not say, only how many of the complained-of units
// would have been treated otherwise. Items are as they are known now.
type Backtest struct {
	Rev        int              `json:"rev"`
	Digest     string           `json:"digest"`
	Units      int              `json:"units"`
	Changed    int              `json:"changed"`
	Stopped    int              `json:"stopped"`         // of the changed: would be held or diverted
	Materials  prep.Money       `json:"materials_minor"` // more (or less) for the changed that go on
	PerHour    prep.Money       `json:"per_hour_minor,omitempty"`
	Labour     prep.Money       `json:"labour_minor"`  // likewise, where both times are known
	Timed      int              `json:"labour_units"`  // for how many of the changed they are
	Items      []BacktestItem   `json:"items"`         // that change
	Complaints []BacktestClaim  `json:"complaints"`    // all claims
	Complained map[string]int   `json:"complained_of"` // units: inside, outside, unsure
	Unknown    int              `json:"units_unknown"` // whose item or rulebook the log no longer tells
	notes      map[runID]string // run → inside, outside
}

// BacktestItem is units of one item, prepped by one revision, that would have
// had another recipe.
type BacktestItem struct {
	Item     string      `json:"item"`
	Rev      int         `json:"rev"` // by which they were prepped
	Units    int         `json:"units"`
	Verdict  string      `json:"verdict"` // of the other rulebook
	FromCost prep.Money  `json:"from_materials_minor"`
	ToCost   prep.Money  `json:"to_materials_minor"`
	From     *LabourTime `json:"from_labour,omitempty"`
	To       *LabourTime `json:"to_labour,omitempty"` // of runs that were worked so, if there were any
	Lines    []string    `json:"lines"`               // "- put the old", "+ put the new"
}

// LabourTime is how long one unit took in runs of a recipe: the median of the runs.
type LabourTime struct {
	Seconds int `json:"seconds"`
	Runs    int `json:"runs"`
}

// BacktestClaim says whether the units of a complaint are among the changed:
// "inside", "outside", or "unsure" when only some of those it may be about are.
type BacktestClaim struct {
	Claim string `json:"claim"`
	Kind  string `json:"kind"`
	Qty   int    `json:"qty"`
	Is    string `json:"is"`
}

// Backtest runs another rulebook over all units ever made ready. perHour is the
// price of an hour's work; 0: time is told and not priced.
func (f *Fold) Backtest(b *prep.Rulebook, perHour prep.Money) Backtest {
	out := Backtest{Rev: b.Rev, Digest: b.Digest(), PerHour: perHour, Items: []BacktestItem{}, Complaints: []BacktestClaim{},
		Complained: map[string]int{"inside": 0, "outside": 0, "unsure": 0}, notes: map[runID]string{}}
	type kind struct {
		item string
		rev  int
	}
	runs := map[kind][]runID{}
	for id, r := range f.runs.all() {
		if r.Made > 0 {
			k := kind{f.names.text(r.Item), r.Rev}
			runs[k] = append(runs[k], id)
		}
	}
	keys := slices.SortedFunc(maps.Keys(runs), func(a, b kind) int { return cmp.Or(cmp.Compare(a.item, b.item), cmp.Compare(a.rev, b.rev)) })
	times := f.labourTimes()
	for _, k := range keys {
		made := 0
		for _, id := range runs[k] {
			made += f.runs.row(id).Made
		}
		out.Units += made
		old, it, ok := f.bookAt(k.rev), prep.Item{}, false
		if it, ok = f.items[k.item]; !ok || old == nil {
			out.Unknown += made
			continue
		}
		is := "outside"
		if changes := prep.Diff(&old.Rulebook, b, []prep.Item{it}); len(changes) > 0 {
			is = "inside"
			out.add(changes[0], k.rev, made, times)
		}
		for _, id := range runs[k] {
			out.notes[id] = is
		}
	}
	f.sortClaims(&out)
	return out
}

// add sums up units whose recipe changes.
func (b *Backtest) add(c prep.Change, rev, units int, times map[string]*LabourTime) {
	x := BacktestItem{Item: c.Item, Rev: rev, Units: units, Verdict: c.To.Verdict(), FromCost: c.FromCost, ToCost: c.ToCost,
		From: times[c.From.Digest()], To: times[c.To.Digest()], Lines: c.Lines}
	b.Changed += units
	if x.Verdict != prep.VerdictPrep {
		b.Stopped += units
	} else {
		b.Materials += (c.ToCost - c.FromCost).Times(int64(units), 1)
		if x.From != nil && x.To != nil {
			more := time.Duration(x.To.Seconds-x.From.Seconds) * time.Second * time.Duration(units)
			b.Labour += prep.LabourCost(more, b.PerHour)
			b.Timed += units
		}
	}
	b.Items = append(b.Items, x)
}

// labourTimes gives, by the digest of the recipe, how long a unit took: from a
// run's opening to its last finished unit, pauses taken off. A run that nobody
// closed has no known pauses and is left out.
func (f *Fold) labourTimes() map[string]*LabourTime {
	each := map[string][]int{}
	for _, r := range f.runs.all() {
		b, it, ok := f.bookAt(r.Rev), prep.Item{}, false
		if it, ok = f.items[f.names.text(r.Item)]; !ok || b == nil || r.Made == 0 || r.Closed.Ref == 0 || len(r.Batches) == 0 {
			continue
		}
		last := r.Batches[len(r.Batches)-1].Last
		if worked := last.since(r.Opened.At) - time.Duration(r.IdleS)*time.Second; worked > 0 {
			key := b.Rulebook.Recipe(it).Digest()
			each[key] = append(each[key], int(worked/time.Second)/r.Made)
		}
	}
	out := map[string]*LabourTime{}
	for key, list := range each {
		slices.Sort(list)
		out[key] = &LabourTime{Seconds: list[len(list)/2], Runs: len(list)}
	}
	return out
}

// sortClaims lays every claim against the runs that change.
func (f *Fold) sortClaims(b *Backtest) {
	for _, key := range slices.Sorted(maps.Keys(f.claims)) {
		c := f.claims[key]
		seen := map[string]bool{}
		for _, id := range f.accused(c) {
			if is, ok := b.notes[id]; ok {
				seen[is] = true
			}
		}
		x := BacktestClaim{Claim: key, Kind: c.Kind, Qty: c.Qty, Is: "unsure"}
		if len(seen) == 1 {
			for is := range seen {
				x.Is = is
			}
		}
		b.Complained[x.Is] += max(c.Qty, 1)
		b.Complaints = append(b.Complaints, x)
	}
}

// accused lists the runs that a complaint may be about: those of its mark, else
// of the marks it was traced to, else all of its item.
func (f *Fold) accused(c *claim) (out []runID) {
	marks := c.Marks
	if c.Given.Mark != 0 {
		marks = prep.Marks{c.Given.Mark}
	}
	for _, m := range marks {
		if u := f.bound(m); u != nil {
			out = append(out, f.runsOf(m, u)...)
		}
	}
	if len(out) > 0 {
		return out
	}
	for id, r := range f.runs.all() {
		if c.Given.Item != "" && f.names.text(r.Item) == c.Given.Item {
			out = append(out, id)
		}
	}
	return out
}

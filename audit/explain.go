package audit

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"time"

	"packwright/prep"
)

// Cause is a way in which a carton may differ from its plan.
type Cause string

// The causes that a weight can speak of.
const (
	AsPlanned  Cause = "as planned"
	OneMissing Cause = "one missing"
	OneTooMany Cause = "one too many"
	Exchanged  Cause = "exchanged"
	TwoMissing Cause = "two missing"
)

// Priors say how often each cause is met, against 1 for a carton as planned;
// each is for one item, or one pair of items. They are a floor's experience and
// no law of nature: a guess of ours until a floor counts its own.
type Priors struct {
	Missing    prep.Fixed `json:"missing"`
	TooMany    prep.Fixed `json:"too_many"`
	Exchange   prep.Fixed `json:"exchange"`
	TwoMissing prep.Fixed `json:"two_missing"`
	Swap       prep.Fixed `json:"swap"`     // one exchange that two cartons share
	Miscount   prep.Fixed `json:"miscount"` // a count that is wrong of itself
	// Window is how near in time two runs at one bench must lie for their units
	// to be taken for one another, in seconds.
	Window int `json:"window_s"`
}

// DefaultPriors hold until a floor says otherwise.
var DefaultPriors = Priors{Missing: 20_000, TooMany: 10_000, Exchange: 10_000, TwoMissing: 2_000, Swap: 10_000, Miscount: 10_000,
	Window: int(30 * time.Minute / time.Second)}

// Exchange is a unit of In, made near those of Out, that may lie in the carton
// in place of one of them.
type Exchange struct {
	In  MassLine
	Out string
}

// Case is what is known of one carton: the reading, the units by the plan, what
// could have been exchanged in from outside, the scans and the blind count.
type Case struct {
	Weight  Weight
	Units   []MassLine
	From    []Exchange
	Scanned int
	Counted *int // nil: not counted
}

// Explanation is one cause with its chance, by the weight alone and with the
// count beside it.
type Explanation struct {
	Cause   Cause      `json:"cause"`
	Item    string     `json:"item,omitempty"`
	Instead string     `json:"in_place_of,omitempty"`
	Change  int        `json:"change"` // of the number of units
	Effect  prep.Mass  `json:"effect_g"`
	Alone   prep.Fixed `json:"by_weight"`
	Both    prep.Fixed `json:"with_count"` // equal to Alone while there is no count
	// RuledOut: the count gives another number.
	RuledOut bool   `json:"ruled_out_by_count,omitempty"`
	Text     string `json:"text"`
}

// Explained is one carton's causes, likeliest first, and what decided.
type Explained struct {
	Carton string        `json:"carton"`
	Ranked []Explanation `json:"ranked"` // those with a chance worth naming
	Fits   bool          `json:"fits"`   // the first lies within three deviations of the reading
	Says   string        `json:"says"`   // which evidence decided
	Power  string        `json:"power"`  // what this scale can see in this carton
}

// guess is one hypothesis while it is weighed: logs, so that nothing underflows.
type guess struct {
	Explanation
	like  float64 // log of the normal density, without its constant
	alone float64 // log of prior × density
	both  float64 // the same after the count; -Inf: ruled out
}

// worthNaming is the least chance that is listed.
const worthNaming = 0.005

// sure is the chance from which a cause is called decided.
const sure = 0.95

// Explain weighs every cause: prior × Normal(residual; effect, σ), normalised,
// with the deviation of the plan's units for all. Then the count speaks: it drops
// what would give another number than was counted, except that all may be as
// planned and the count itself wrong. A carton whose reading or masses are not
// known has no ranking.
func (p Priors) Explain(c Case) Explained {
	e := Explained{Power: c.Weight.Power()}
	if !c.Weight.Known || c.Weight.SD <= 0 {
		e.Says = "no explanation: " + c.Weight.Words()
		return e
	}
	all := p.weigh(c)
	for i, h := range all {
		if i == 0 || h.Alone.Float() >= worthNaming || h.Both.Float() >= worthNaming {
			e.Ranked = append(e.Ranked, h.Explanation)
		}
	}
	e.Fits = math.Sqrt(-2*all[0].like) <= 3
	e.Says = e.decided(c)
	return e
}

// weigh gives every cause with its chances, likeliest first.
func (p Priors) weigh(c Case) []guess {
	all := p.guesses(c)
	for i := range all {
		h := &all[i]
		z := (c.Weight.Residual - h.Effect).Grams() / c.Weight.SD.Grams()
		h.like = -z * z / 2
		h.alone += h.like
		h.both = h.alone
		if c.Counted != nil && h.Change != *c.Counted-c.Scanned {
			h.both = math.Inf(-1)
			if h.RuledOut = h.Cause != AsPlanned; !h.RuledOut {
				h.Text += ", and the count wrong"
				h.both = h.alone + math.Log(p.Miscount.Float())
			}
		}
	}
	alone := sumLogs(all, func(h guess) float64 { return h.alone })
	both := sumLogs(all, func(h guess) float64 { return h.both })
	for i := range all {
		h := &all[i]
		h.Alone, h.Both = prep.FixedOf(math.Exp(h.alone-alone)), prep.FixedOf(math.Exp(h.both-both))
	}
	slices.SortStableFunc(all, func(a, b guess) int {
		return cmp.Or(cmp.Compare(b.both, a.both), cmp.Compare(b.alone, a.alone))
	})
	return all
}

// guesses lists the causes with the logs of their priors.
func (p Priors) guesses(c Case) []guess {
	out := []guess{{Explanation: Explanation{Cause: AsPlanned, Text: "all as planned"}}}
	add := func(x Explanation, prior prep.Fixed) {
		if prior > 0 {
			out = append(out, guess{Explanation: x, alone: math.Log(prior.Float())})
		}
	}
	for _, u := range c.Units {
		if u.N < 1 || u.Mean <= 0 {
			continue
		}
		add(Explanation{Cause: OneMissing, Item: u.Item, Change: -1, Effect: -u.Mean, Text: "one " + u.Item + " missing"}, p.Missing)
		add(Explanation{Cause: OneTooMany, Item: u.Item, Change: 1, Effect: u.Mean, Text: "one " + u.Item + " too many"}, p.TooMany)
		if u.N > 1 {
			add(Explanation{Cause: TwoMissing, Item: u.Item, Change: -2, Effect: -2 * u.Mean, Text: "two " + u.Item + " missing"}, p.TwoMissing)
		}
		for _, in := range c.exchangedFor(u.Item) {
			add(Explanation{Cause: Exchanged, Item: in.Item, Instead: u.Item, Effect: in.Mean - u.Mean,
				Text: "one " + in.Item + " in place of one " + u.Item}, p.Exchange)
		}
	}
	return out
}

// exchangedFor lists the items of which a unit may lie in place of one of out:
// the carton's others, and those made near it.
func (c Case) exchangedFor(out string) []MassLine {
	var list []MassLine
	take := func(m MassLine) {
		if m.Item != out && m.Mean > 0 && !slices.ContainsFunc(list, func(o MassLine) bool { return o.Item == m.Item }) {
			list = append(list, m)
		}
	}
	for _, u := range c.Units {
		take(u)
	}
	for _, x := range c.From {
		if x.Out == out {
			take(x.In)
		}
	}
	return list
}

func sumLogs(list []guess, of func(guess) float64) float64 {
	top := math.Inf(-1)
	for _, h := range list {
		top = max(top, of(h))
	}
	sum := 0.0
	for _, h := range list {
		sum += math.Exp(of(h) - top)
	}
	return top + math.Log(sum)
}

// decided says which evidence made the first explanation the first.
func (e Explained) decided(c Case) string {
	top := e.Ranked[0]
	switch counted := c.Counted != nil; {
	case !e.Fits:
		return "none of these fits the weight: check the scale, the tare and the plan"
	case !counted && top.Alone.Float() >= sure:
		return "the weight alone says so; not counted yet"
	case !counted:
		return "the weight alone does not decide; count it"
	case top.Both.Float() < sure:
		return "weight and count together do not decide: another person counts"
	case top.Alone.Float() >= sure && top.Change == *c.Counted-c.Scanned:
		return fmt.Sprintf("the weight decides; the count of %d does not speak against it", *c.Counted)
	case top.Change != *c.Counted-c.Scanned:
		return fmt.Sprintf("the weight decides, against the count of %d: count again", *c.Counted)
	}
	return fmt.Sprintf("the count decides, %d of %d scanned: by the weight alone it was %s", *c.Counted, c.Scanned, chance(top.Alone))
}

// chance writes a probability to two digits; what would be 0.00 is ruled out.
func chance(p prep.Fixed) string {
	if p.Float() < worthNaming {
		return "ruled out"
	}
	return fmt.Sprintf("%.2f", p.Float())
}

// Power says what the scale can see in this carton, whatever it read.
func (w Weight) Power() string {
	switch {
	case !w.Known || w.SD <= 0:
		return "nothing: no expected weight"
	case !w.Vouches:
		return fmt.Sprintf("this scale cannot vouch for this carton; count by hand: one of %s missing goes unseen in %s of cases, a good carton alarms in %s",
			grams(w.Lightest), percent(w.Miss), percent(w.FalseAlarm))
	}
	return fmt.Sprintf("one of %s missing would be seen: it goes unseen in %s, a good carton alarms in %s of cases", grams(w.Lightest), rarely(w.Miss), percent(w.FalseAlarm))
}

// rarely writes a chance of less than 0.1 %.
func rarely(p prep.Fixed) string {
	for _, c := range []struct {
		under prep.Fixed
		text  string
	}{{1, "under 1 of 1,000,000 cases"}, {10, "under 1 of 100,000 cases"}, {100, "under 1 of 10,000 cases"}} {
		if p < c.under {
			return c.text
		}
	}
	return percent(p) + " of cases"
}

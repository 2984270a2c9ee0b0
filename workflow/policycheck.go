package workflow

import (
	"errors"
	"maps"
	"slices"

	"packwright/prep"
)

// problem is one thing that cannot be so.
type problem struct {
	bad            bool
	path, what, do string
}

// problems says what no house could work by.
func (p *Policy) problems(fail func(path, what, do string)) {
	for _, x := range []problem{
		{p.Persons < 1, "persons", "a floor of nobody", "write how many people work here"},
		{p.Persons == 1 && p.SecondHand, "second_hand", "one person has no second hand", "write second_hand: no, or count more persons"},
		{!p.Scale && !p.HandCount, "hand_count", "neither a count nor a scale would vouch for a carton", "write hand_count: yes, or scale: yes"},
		{p.Scale && p.ScaleHours < 1, "scale_hours", "a scale's check that is never good", "write hours, such as 12"},
		{p.SameScanMS < 0 || p.SameScanMS > 5000, "same_scan_ms", "equal scans are one for too long", "write 0 to 5000"},
		{p.QuietMinutes < 1, "quiet_minutes", "a bench would be quiet at once", "write minutes, such as 2"},
		{p.QuietCall != 0 && p.QuietCall < p.QuietMinutes, "quiet_call", "someone would be called before the bench is quiet", "write more than quiet_minutes, or 0"},
		{p.TakeBackLast > recentKept/2, "take_back_last", "so many actions are not remembered", "write at most 32"},
		{p.TakeBackMin > 60, "take_back_minutes", "too long after the act", "write at most 60"},
		{p.SecondOneIn == 1 && !p.SecondHand, "second_one_in", "one carton in one is every carton", "write second_hand: yes"},
	} {
		if x.bad {
			fail(x.path, x.what, x.do)
		}
	}
	for _, name := range slices.Sorted(maps.Keys(p.Delegated)) {
		if d := p.Delegated[name]; d.Units == 0 || d.Percent < 0 || d.Percent > 100 {
			fail("delegated/"+name, "what is delegated is a number of units, and up to 100 percent of a line", "write units and percent")
		}
	}
	for _, name := range slices.Sorted(maps.Keys(p.Reorder)) {
		if what := p.Reorder[name].problem(); what != "" {
			fail("reorder/"+name, what, "write at, or per_day, sd, days and z")
		}
	}
	if _, err := p.Lifting.lift(prep.Kilogram).In(prep.LiftMetric); p.Lifting.HandsOut != 0 && err != nil {
		fail("lifting", err.Error(), "measure it at the bench")
	}
	for _, name := range slices.Sorted(maps.Keys(p.Destinations)) {
		if d := p.Destinations[name]; d.MaxMass < 0 || d.MaxSide < 0 {
			fail("destinations/"+name, "a limit below nothing", "leave it out for no limit")
		}
	}
}

// Validate says what of the policy cannot be so; all errors come at once, each
// a *prep.InputError.
func (p *Policy) Validate() error {
	var errs []error
	p.problems(func(path, what, do string) { errs = append(errs, prep.Input(path+": "+what, do)) })
	return errors.Join(errs...)
}

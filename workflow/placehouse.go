package workflow

import (
	"slices"
	"time"

	"packwright/events"
)

// runsOf lists the runs that units may come from: of a mark its own; of units in
// a tote those of the tote; elsewhere all of the lot.
func (f *Floor) runsOf(t taken) (runs []string) {
	for _, m := range t.marks {
		if u := f.Units[m]; u != nil && u.Run != "" && !slices.Contains(runs, u.Run) {
			runs = append(runs, u.Run)
		}
	}
	if len(t.marks) > 0 {
		return runs
	}
	if tote := f.Totes[t.cell.Place]; tote != nil {
		for _, code := range tote.Runs {
			if f.Runs[code].makes(t.cell.Lot) {
				runs = append(runs, code)
			}
		}
		if len(runs) > 0 {
			return runs
		}
	}
	for code, r := range f.Runs {
		if r.makes(t.cell.Lot) {
			runs = append(runs, code)
		}
	}
	slices.Sort(runs)
	return runs
}

// makes says whether units of a lot can come from a run.
func (r *Run) makes(lot string) bool {
	return r != nil && (r.Bundle == lot || r.Bundle == "" && r.Lot == lot)
}

// runOf names the run of units when the log knows that it is one.
func (f *Floor) runOf(t taken) string {
	if runs := f.runsOf(t); len(runs) == 1 {
		return runs[0]
	}
	return ""
}

// blockedFor gives the block that may touch the units: where several runs lie
// together, one of them is enough.
func (f *Floor) blockedFor(t taken) *BlockedRules {
	for i := range f.Blocked {
		b := &f.Blocked[i]
		for _, m := range t.marks {
			if u := f.Units[m]; u != nil && u.Rev == b.Rev && (b.Recipe == "" || b.Recipe == u.Recipe) {
				return b
			}
		}
		if len(t.marks) > 0 {
			continue
		}
		for _, code := range f.runsOf(t) {
			if r := f.Runs[code]; r != nil && r.Rev == b.Rev && (b.Recipe == "" || b.Recipe == r.Recipe) {
				return b
			}
		}
	}
	return nil
}

// ownGoods: a line of the plan says whose goods they are, and where the
// destination wants one owner, nothing of another's is in the carton.
func ownGoods(d *decision, in *placeAsk) *Refusal {
	one := d.f.destinationOf(in.carton).OneOwner
	for _, t := range in.took {
		owner := d.f.Lots[t.cell.Lot].Owner
		if one && in.carton.Owner != "" && in.carton.Owner != owner {
			return refuse("E-CAR-08")
		}
		i := slices.IndexFunc(d.f.linesOf(in.carton), func(l events.PlanLine) bool { return l.Item == in.Item && l.Owner == owner })
		if i < 0 {
			return refuse("E-CAR-08")
		}
		if d.f.scannedOf(in.carton, in.Item, owner)+t.q > d.f.linesOf(in.carton)[i].Q {
			return refuse("E-CAR-02", in.Carton)
		}
	}
	return nil
}

// scannedOf counts an owner's units of an item in a carton.
func (f *Floor) scannedOf(c *Carton, item, owner string) (n int) {
	for _, x := range f.Ledger.At(c.Carton) {
		if x.Item == item && x.Stage != events.Unmarked && f.Lots[x.Lot].Owner == owner {
			n += x.Qty()
		}
	}
	return n
}

// freshEnough: best-before dates must lie far enough ahead.
func freshEnough(d *decision, in *placeAsk) *Refusal {
	need := d.f.destinationOf(in.carton).ShelfDays
	for _, t := range in.took {
		if days, dated := daysLeft(d.f.Lots[t.cell.Lot].Expiry, d.now); dated && days < need {
			return refuse("E-CAR-09", days, need)
		}
	}
	return nil
}

// oneDate: units of one item in one carton share a best-before date.
func oneDate(d *decision, in *placeAsk) *Refusal {
	if !d.f.destinationOf(in.carton).OneDate {
		return nil
	}
	dates := map[string]bool{}
	for _, x := range d.f.Ledger.At(in.Carton) {
		if x.Item == in.Item {
			dates[d.f.Lots[x.Lot].Expiry] = true
		}
	}
	for _, t := range in.took {
		dates[d.f.Lots[t.cell.Lot].Expiry] = true
	}
	if len(dates) > 1 {
		return refuse("E-CAR-14", in.Carton)
	}
	return nil
}

// daysLeft counts the days from a moment's date to a best-before date. A month
// without a day lasts to its end.
func daysLeft(expiry string, now events.Time) (days int, dated bool) {
	if expiry == "" {
		return 0, false
	}
	until, err := time.Parse("2006-01-02", expiry)
	if err != nil {
		month, err := time.Parse("2006-01", expiry)
		if err != nil {
			return 0, false
		}
		until = month.AddDate(0, 1, -1)
	}
	y, m, d := now.Std().Date()
	return int(until.Sub(time.Date(y, m, d, 0, 0, 0, 0, time.UTC)).Hours() / 24), true
}

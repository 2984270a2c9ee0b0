package demo

import (
	"fmt"
	"time"

	"packwright/prep"
	"packwright/workflow"
)

// run is a line of the day's work order.
type run struct {
	no      int
	w       who
	lot     int // 1 for L-01
	item    string
	q       int // pieces taken in hand
	start   string
	cadence int // seconds a piece
	rev     int
	mark    int // first of its marks; 0: anonymous units
}

var workOrder = []run{
	{1, tobi, 4, "PUZ", 30, "09:40", 75, 4, 0},
	{2, tobi, 5, "GLD", 24, "10:25", 90, 4, 0},
	{3, tobi, 6, "DSC", 18, "11:05", 60, 5, 0},
	{4, tobi, 3, "TRY", 30, "12:15", 50, 5, 0},
	{5, tobi, 7, "PLU", 20, "12:45", 45, 5, 0},
	{6, ife, 1, "MG3", 14, "09:40", 110, 4, 1},
	{7, ife, 2, "MG3", 9, "10:10", 110, 4, 15},
	{8, ife, 13, "MG4", 24, "10:30", 110, 5, 24},
	{9, ife, 8, "MUG", 12, "11:20", 150, 5, 48},
	{10, sunniva, 10, "KNF", 12, "09:40", 100, 4, 60},
	{11, sunniva, 9, "WSH", 17, "10:05", 70, 4, 0},
	{12, sunniva, 11, "BND", 24, "10:30", 95, 5, 0},
}

func (r run) name() string       { return fmt.Sprintf("R-%02d", r.no) }
func (r run) tote() string       { return toteNo(r.lot - 1) }
func (r run) out() string        { return fmt.Sprintf("T-%02d", 20+r.no) }
func (r run) at(k int) time.Time { return clock(r.start).Add(seconds(k * r.cadence)) }

// made is how many pieces leave the run's hands: a bundle is of two.
func (r run) made() int {
	if r.item == "BND" {
		return r.q / 2
	}
	return r.q
}

// runs works through the order. One puzzle tears; one roll of wrap runs out;
// one bench was not clear, and a label of the run before went astray.
func (x *day) runs() {
	books := map[int]*prep.Rulebook{4: book("rulebook-r4.yaml", Rules4), 5: book("rulebook-r5.yaml", Rules5)}
	items := map[string]prep.Item{}
	for _, it := range catalogue() {
		items[it.Item] = it
	}
	x.do(clock("10:29:55"), maren, "override", d{"scope": d{"station": "ST-2"}, "gate": "bench-clear", "reason_code": "box-waiting",
		"text": "one closed box waits for its label", "minutes": 5})
	for _, r := range workOrder {
		x.run(r, books[r.rev].Recipe(items[r.item]))
	}
}

func book(name string, src []byte) *prep.Rulebook {
	b, err := prep.ParseRulebook(name, src)
	if err != nil {
		panic(err)
	}
	return b
}

func (x *day) run(r run, recipe prep.Recipe) {
	clear := "yes"
	if r.no == 8 {
		clear = "no"
	}
	x.do(r.at(0), r.w, "open-run", d{"run": r.name(), "tote": r.tote(), "q": r.q, "item": r.item, "bench_clear": clear})
	x.draw(r, recipe)
	x.print(r, recipe)
	if r.item == "BND" {
		x.do(r.at(r.made()).Add(-seconds(30)), r.w, "build-bundle", d{"run": r.name(), "q": r.made()})
	}
	x.checkOnce(r, recipe)
	if r.mark > 0 {
		x.finishEach(r, recipe)
	} else {
		x.finishAll(r)
	}
	x.do(r.at(r.made()).Add(seconds(20)), r.w, "close-run", d{"run": r.name()})
}

// matLots names the roll or pack in use in the morning. Roll BW-18 ends in R-08.
var matLots = map[string]string{"bubble-small": "BW-18", "bubble-large": "BW-40"}

func (x *day) draw(r run, recipe prep.Recipe) {
	for i, m := range recipe.Materials {
		if m.Kind == prep.KindLabel {
			continue
		}
		from, ok := matLots[m.Material]
		switch {
		case !ok:
			from = m.Material + "/7"
		case from == "BW-18" && r.no > 8:
			from = "BW-19"
		}
		x.do(r.at(0).Add(seconds(2+i)), r.w, "draw-material", d{"run": r.name(), "material": m.Material, "matlot": from})
	}
	if r.no == 8 { // the roll ends after ten boxes
		x.do(r.at(10).Add(seconds(15)), r.w, "swap-material", d{"run": r.name(), "material": "bubble-small", "from": "BW-18", "to": "BW-19", "at_unit": 10})
	}
}

// print prints item labels, and the label that carries the marks where there are marks.
func (x *day) print(r run, recipe prep.Recipe) {
	n := r.made()
	kinds := map[string]string{"keep-sealed": "keep-sealed", "sold-as-set": "sold-as-one", "item-label": "item"}
	carrier := "item"
	for _, l := range recipe.Labels {
		if l.ID == "keep-sealed" {
			carrier = "keep-sealed"
		}
	}
	for i, l := range recipe.Labels {
		kind, ok := kinds[l.ID]
		if !ok {
			continue
		}
		data := d{"run": r.name(), "kind": kind, "n": n, "printer": "LP-" + r.w.station[3:]}
		if r.mark > 0 && kind == carrier {
			data["marks_from"] = prep.Mark(r.mark).String()
		}
		x.do(r.at(0).Add(seconds(8+i)), r.w, "print-labels", data)
	}
	if r.mark > 0 {
		x.do(r.at(0).Add(seconds(12)), r.w, "labels-live", d{"run": r.name(), "from": prep.Mark(r.mark).String(), "to": prep.Mark(r.mark + n - 1).String()})
	}
}

// checkOnce confirms the steps that are confirmed for the run as a whole.
// Timers are confirmed when their time is over.
func (x *day) checkOnce(r run, recipe prep.Recipe) {
	t := r.at(0).Add(seconds(14))
	end := r.at(r.made()).Add(-seconds(3))
	for _, s := range recipe.Required() {
		switch {
		case s.ID == workflow.PairCheck:
			continue // the two scans of each finish
		case s.Phase == prep.PhaseVerify && s.Means == prep.WarmAir:
			// the hot tool goes back into its holder when the last piece is done
			x.do(r.at(r.made()).Add(seconds(10)), r.w, "check-step", d{"run": r.name(), "step": s.ID, "ok": true})
		case s.Each && r.mark > 0:
			continue // with each unit, see finishEach
		case r.mark == 0 && (s.Each || s.Phase >= prep.PhaseClean):
			data := d{"run": r.name(), "step": s.ID, "ok": true, "n": r.made()}
			x.value(data, s, r.item)
			when := end
			switch { // what waits or is timed begins when the work before it is done
			case s.Phase == prep.PhaseClean:
				when = end.Add(-seconds(260))
			case s.Check != prep.CheckTimer:
				when = end.Add(-seconds(67))
			}
			x.do(when, r.w, "check-step", data)
		default:
			data := d{"run": r.name(), "step": s.ID, "ok": true}
			x.value(data, s, r.item)
			x.do(t, r.w, "check-step", data)
			t = t.Add(seconds(1))
		}
	}
}

// value gives the reading that a step asks for.
func (x *day) value(data d, s prep.Step, item string) {
	switch s.Check {
	case prep.CheckScan:
		data["value"] = item
		return
	case prep.CheckValue:
	default:
		return
	}
	data["value"] = map[string]string{"read-date": "2033-01", "read-bag-warning": "printed", "gather-parts": "2"}[s.ID]
	if data["value"] == "" {
		data["value"] = "seen"
	}
}

// finishEach finishes marked units one by one: the label's scan is the finish.
func (x *day) finishEach(r run, recipe prep.Recipe) {
	for k := 1; k <= r.made(); k++ {
		m := prep.Mark(r.mark + k - 1).String()
		for _, s := range recipe.Required() {
			if s.Each && s.ID != workflow.PairCheck {
				data := d{"run": r.name(), "step": s.ID, "ok": true, "mark": m}
				x.value(data, s, r.item)
				x.do(r.at(k).Add(-seconds(4)), r.w, "check-step", data)
			}
		}
		data := d{"run": r.name(), "marks": []string{m}, "to": r.out()}
		if recipe.PairCheck {
			data["pair_checked"] = true
			data["item"] = r.item
		}
		x.do(r.at(k), r.w, "finish-units", data)
	}
}

// finishAll finishes a tote of anonymous units at once, with one time for all.
func (x *day) finishAll(r run) {
	q := r.made()
	if r.no == 1 { // unit 17 tears
		x.do(r.at(17), r.w, "spoil", d{"run": r.name(), "q": 1, "cause": "tear", "step": "peel-card", "verdict": "divert"})
		x.do(r.at(17).Add(seconds(5)), r.w, "spoil-labels", d{"run": r.name(), "kind": "item", "n": 1})
		q--
	}
	x.do(r.at(r.made()), r.w, "finish-units", d{"run": r.name(), "q": q, "to": r.out()})
}

package audit_test

import (
	"bytes"
	"fmt"
	"runtime"
	"testing"

	"packwright/audit"
	"packwright/audit/follow"
	"packwright/events"
	"packwright/events/memlog"
	"packwright/prep"
)

// busyFloor writes a log of so many cartons of twelve units, half of them marked,
// from receipt to truck, with perFrame events a frame (several commands, as under
// load). About 3.4 events a unit.
func busyFloor(t testing.TB, cartons, perFrame int) *floor {
	f := newFloor(t)
	f.do("BOARD", "odile", &events.ItemRegistered{Item: prep.Item{Item: "MG3", Name: "figure", Trace: prep.TraceMark, UnitG: 412 * prep.Gram, UnitSD: 3 * prep.Gram}})
	f.do("BOARD", "odile", &events.ItemRegistered{Item: prep.Item{Item: "PLU", Name: "plush", Trace: prep.TraceClass, UnitG: 310 * prep.Gram, UnitSD: 9 * prep.Gram}})
	var wait []events.Event
	flush := func() {
		if len(wait) > 0 {
			f.write(wait...)
			wait = nil
		}
	}
	put := func(bench int, d events.Data) {
		station := fmt.Sprintf("ST-%d", bench)
		f.next[station]++
		f.now = f.now.Add(seconds(1))
		wait = append(wait, events.Event{Cause: fmt.Sprintf("%s/1/%d", station, f.next[station]), At: f.now, Recorded: f.now, Basis: events.Scan, Station: station,
			Badge: "tobi", PlanRev: 1, RulesRev: 4, Data: d})
		if len(wait) >= perFrame {
			flush()
		}
	}
	mark := prep.Mark(0)
	for c := range cartons {
		lot, run, tote, carton, load := fmt.Sprintf("L-%d", c), fmt.Sprintf("R-%d", c), fmt.Sprintf("T-%d", c%200), fmt.Sprintf("C-%d", c), fmt.Sprintf("LD-%d", c/40)
		item, b := "PLU", c%16
		if c%2 == 0 {
			item = "MG3"
		}
		put(b, &events.LotAnnounced{Lot: lot, Kind: "bought", Item: item, Owner: "house", Qty: 12})
		put(b, &events.LotReceived{Lot: lot, Item: item, Tote: tote, Qty: 12})
		put(b, &events.UnitsTriaged{Lot: lot, Item: item, Tote: tote, Q: 12, Verdict: events.ToPrep})
		put(b, &events.RunOpened{Run: run, Tote: tote, Lot: lot, Item: item, Q: 12, Recipe: "window figure", RulesRev: 4, Clear: "yes"})
		put(b, &events.MaterialDrawn{Run: run, Material: "wrap", MatLot: fmt.Sprintf("BW-%d", c/10)})
		if item == "MG3" {
			put(b, &events.LabelsPrinted{Run: run, Kind: events.KeepSealed, N: 12, From: mark + 1, To: mark + 12})
			for k := range prep.Mark(12) {
				put(b, &events.UnitsPrepped{Run: run, Lot: lot, Item: item, From: tote, To: tote, Q: 1, Marks: marks(mark + 1 + k), Recipe: "window figure", Pair: true})
			}
		} else {
			put(b, &events.UnitsPrepped{Run: run, Lot: lot, Item: item, From: tote, To: tote, Q: 12, Recipe: "window figure"})
		}
		put(b, &events.RunClosed{Run: run, In: 12, Made: 12, Used: 12})
		put(b, &events.PlanReleased{Plan: "PL-" + carton, Rev: 1, Lines: []events.PlanLine{{Carton: carton, Item: item, Q: 12, Owner: "house"}}})
		put(b, &events.CartonOpened{Carton: carton, Plan: "PL-" + carton, Rev: 1, Tare: 520 * prep.Gram})
		for k := range prep.Mark(12) {
			d := &events.UnitPlaced{Carton: carton, Item: item, Lot: lot, Run: run, From: tote, Q: 1}
			if item == "MG3" {
				d.Marks = marks(mark + 1 + k)
			}
			put(b, d)
		}
		if item == "MG3" {
			mark += 12
		}
		lines := []events.CountLine{{Item: item, Q: 12}}
		put(b, &events.CartonFinished{Carton: carton})
		put(b, &events.CartonWeighed{Carton: carton, Gross: 5 * prep.Kilogram, Scale: "SC-1", Stable: true})
		put(b, &events.CountEntered{Carton: carton, By: "tobi", ByPlacer: true, Method: "hand", Lines: lines, Total: 12, Attempt: 1})
		put(b, &events.CountAccepted{Carton: carton, Rev: 1, Lines: lines, CountBy: "tobi"})
		put(b, &events.CartonSealed{Carton: carton, Seal: fmt.Sprintf("%06d", c), Code: "095200000000000011", Gross: 5 * prep.Kilogram})
		if c%40 == 0 {
			put(b, &events.LoadOpened{Load: load, Due: f.now})
		}
		put(b, &events.CartonDispatched{Carton: carton, Load: load, Seal: fmt.Sprintf("%06d", c)})
		put(b, &events.PlanClosed{Plan: "PL-" + carton, Rev: 1})
	}
	flush()
	return f
}

// BenchmarkApply is the fold alone: events already decoded, a whole log a round.
func BenchmarkApply(b *testing.B) {
	f := busyFloor(b, 400, 32)
	b.ReportAllocs()
	for b.Loop() {
		fold := audit.New()
		for i := range f.list {
			if err := fold.Apply(&f.list[i]); err != nil {
				b.Fatal(err)
			}
		}
	}
	b.ReportMetric(float64(b.Elapsed().Nanoseconds())/float64(b.N)/float64(len(f.list)), "ns/event")
}

// BenchmarkApplyPlaced is the commonest event alone: one marked unit into a carton
// and out again.
func BenchmarkApplyPlaced(b *testing.B) {
	f := figures(b)
	f.do("ST-1", "tobi", &events.CartonOpened{Carton: "C-01"})
	fold := audit.New()
	for i := range f.list {
		if err := fold.Apply(&f.list[i]); err != nil {
			b.Fatal(err)
		}
	}
	in := events.Event{Cause: "ST-1/1/9", At: f.now, Recorded: f.now, Station: "ST-1", Badge: "tobi",
		Data: &events.UnitPlaced{Carton: "C-01", Item: "MG3", Lot: "L-01", Run: "R-01", From: "T-2", Q: 1, Marks: marks(3)}}
	out := in
	out.Data = &events.UnitTakenOut{Carton: "C-01", Item: "MG3", Lot: "L-01", To: "T-2", Q: 1, Marks: marks(3)}
	seq := uint64(1000)
	b.ReportAllocs()
	var placing int64
	for b.Loop() {
		seq++
		in.Seq.Frame = seq
		if err := fold.Apply(&in); err != nil {
			b.Fatal(err)
		}
		seq++
		out.Seq.Frame = seq
		if err := fold.Apply(&out); err != nil {
			b.Fatal(err)
		}
		placing += 2
	}
	b.ReportMetric(float64(b.Elapsed().Nanoseconds())/float64(placing), "ns/event")
}

// BenchmarkReplay reads raw frames: header, tree, decode, apply, cells compared.
func BenchmarkReplay(b *testing.B) {
	for _, perFrame := range []int{1, 32} {
		f := busyFloor(b, 400, perFrame)
		log := memlog.New(f.frames...)
		b.Run(fmt.Sprintf("%d-a-frame", perFrame), func(b *testing.B) {
			for b.Loop() {
				if err := follow.New().CatchUp(b.Context(), log); err != nil {
					b.Fatal(err)
				}
			}
			b.ReportMetric(float64(len(f.list))*float64(b.N)/b.Elapsed().Seconds(), "events/s")
		})
	}
}

// BenchmarkVerify is the same with the laws looking on.
func BenchmarkVerify(b *testing.B) {
	f := busyFloor(b, 400, 32)
	log := memlog.New(f.frames...)
	for b.Loop() {
		if v, err := follow.Verify(b.Context(), log, nil); err != nil || !v.OK() {
			b.Fatal(err, v.Breaches)
		}
	}
	b.ReportMetric(float64(len(f.list))*float64(b.N)/b.Elapsed().Seconds(), "events/s")
}

// BenchmarkQuestions asks of a floor with a long past.
func BenchmarkQuestions(b *testing.B) {
	f := busyFloor(b, 2000, 32)
	fold := f.read()
	for _, q := range []struct {
		name string
		ask  func() error
	}{
		{"trace", func() error { _, err := fold.TraceMark(9999); return err }},
		{"siblings", func() error { _, err := fold.SiblingsOf(9999, 1e12); return err }},
		{"set", func() error { _, err := fold.TraceUnits(audit.Ask{Item: "PLU", Carton: "C-1001"}); return err }},
		{"board", func() error { fold.Board(fold.Now()); return nil }},
		{"where", func() error { _, err := fold.Where("M-9999"); return err }},
		{"reconcile", func() error { fold.Reconcile(); return nil }},
	} {
		b.Run(q.name, func(b *testing.B) {
			for b.Loop() {
				if err := q.ask(); err != nil {
					b.Fatal(err)
				}
			}
		})
	}
}

// BenchmarkSnapshot saves and loads a floor with a long past, and says what it holds.
func BenchmarkSnapshot(b *testing.B) {
	f := busyFloor(b, 2000, 32)
	before := heap()
	fold := f.read()
	units := float64(heap()-before) / float64(len(f.list))
	data := save(b, fold)
	b.Run("save", func(b *testing.B) {
		for b.Loop() {
			save(b, fold)
		}
	})
	b.Run("load", func(b *testing.B) {
		b.SetBytes(int64(len(data)))
		for b.Loop() {
			if _, err := audit.Load(bytes.NewReader(data)); err != nil {
				b.Fatal(err)
			}
		}
		b.ReportMetric(float64(len(data))/float64(len(f.list)), "file-B/event")
		b.ReportMetric(units, "heap-B/event")
	})
}

func heap() uint64 {
	var m runtime.MemStats
	runtime.GC()
	runtime.ReadMemStats(&m)
	return m.HeapAlloc
}

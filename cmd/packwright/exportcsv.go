package main

import (
	"encoding/csv"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"strconv"
	"strings"

	"packwright/audit"
	"packwright/cmd/packwright/sheet"
	"packwright/events"
	"packwright/events/proof"
	"packwright/prep"
)

type exportCSV struct {
	Dir string `arg:"" type:"path" help:"The directory to write cartons.csv, lots.csv, units.csv and events.csv into."`
	atFlag
}

// table is one file of the export: its columns are fixed, new ones come last.
type table struct {
	name    string
	columns []string
	rows    func(view, func(...string) error) error
}

var tables = []table{
	{"cartons.csv", []string{"carton", "plan", "plan_rev", "state", "item", "owner", "planned", "scanned", "counted", "gross_g", "expected_g", "sd_g", "z", "seal", "sealed_at", "load", "dispatched_at", "blockers"}, cartonRows},
	{"lots.csv", append([]string{"lot", "item", "owner", "kind", "announced", "received", "balanced"}, stageColumns()...), lotRows},
	{"units.csv", []string{"lot", "item", "owner", "stage", "place", "q", "mark", "runs"}, unitRows},
}

// eventColumns are those of events.csv, which is read from the frames.
var eventColumns = []string{"seq", "type", "at", "recorded", "basis", "station", "badge", "cause", "mismatch", "claim", "plan_rev", "rules_rev", "words", "data"}

// stageColumns say how many units of a lot stand at each stage.
func stageColumns() []string {
	var out []string
	for _, s := range events.Stages {
		out = append(out, "at_"+string(s))
	}
	return out
}

// Run writes all tables as of one moment. Each file is written whole or not at all.
func (c *exportCSV) Run(d *desk) (err error) {
	if err := os.MkdirAll(c.Dir, 0o755); err != nil {
		return err
	}
	a, err := d.readHere("packwright export csv")
	if err != nil {
		return err
	}
	defer func() { err = errors.Join(err, a.log.Close()) }()
	wrote := map[string]int{}
	err = a.look(d.ctx, c.At, func(v view) error {
		for _, t := range tables {
			if wrote[t.name], err = d.writeTable(filepath.Join(c.Dir, t.name), t.columns, func(row func(...string) error) error { return t.rows(v, row) }); err != nil {
				return err
			}
		}
		wrote["events.csv"], err = d.writeTable(filepath.Join(c.Dir, "events.csv"), eventColumns, func(row func(...string) error) error {
			return eventRows(d, a.log, v.Last(), row)
		})
		return err
	})
	if err != nil {
		return err
	}
	return d.show(map[string]any{"dir": c.Dir, "rows": wrote}, func(w io.Writer) {
		for _, name := range []string{"cartons.csv", "lots.csv", "units.csv", "events.csv"} {
			fmt.Fprintf(w, "%s\t%d rows\n", filepath.Join(c.Dir, name), wrote[name])
		}
	})
}

// writeTable writes one file with comma, quotes where needed, and \r\n, as RFC
// 4180 has it. What people typed may begin like a formula: no spreadsheet runs it.
func (d *desk) writeTable(name string, columns []string, rows func(func(...string) error) error) (n int, err error) {
	err = d.writeTo(name, func(w io.Writer) error {
		out := csv.NewWriter(w)
		out.UseCRLF = true
		err := out.Write(columns)
		if err == nil {
			err = rows(func(row ...string) error {
				n++
				for i, cell := range row {
					row[i] = sheet.Guard(cell)
				}
				return out.Write(row)
			})
		}
		out.Flush()
		return errors.Join(err, out.Error())
	})
	return n, err
}

func cartonRows(v view, row func(...string) error) error {
	for _, c := range v.Cartons() {
		head := []string{c.Carton, c.Plan, number(c.PlanRev), string(c.State)}
		tail := []string{"", "", "", "", c.Seal, c.SealedAt.String(), c.Load, c.SentAt.String(), strings.Join(c.Blockers, " ")}
		if w := c.Weight; w != nil {
			tail[0] = grams(w.Gross)
			if w.Known {
				tail[1], tail[2], tail[3] = grams(w.Mean), grams(w.SD), fmt.Sprintf("%.3f", w.Z.Float())
			}
		}
		lines := c.Lines
		if len(lines) == 0 {
			lines = []audit.ContentLine{{}}
		}
		for _, l := range lines {
			counted := ""
			if l.Counted != nil {
				counted = strconv.Itoa(*l.Counted)
			}
			line := []string{l.Item, l.Owner, strconv.Itoa(l.Planned), strconv.Itoa(l.Scanned), counted}
			if err := row(append(append(append([]string(nil), head...), line...), tail...)...); err != nil {
				return err
			}
		}
	}
	return nil
}

// grams writes a mass without its unit.
func grams(m prep.Mass) string { return strconv.FormatFloat(m.Grams(), 'f', -1, 64) }

// number writes a whole number, nothing for 0.
func number(n int) string {
	if n == 0 {
		return ""
	}
	return strconv.Itoa(n)
}

func lotRows(v view, row func(...string) error) error {
	for _, b := range v.Balances() {
		cells := []string{b.Lot, b.Item, b.Owner, b.Kind, strconv.Itoa(b.Announced), strconv.Itoa(b.Received), strconv.FormatBool(b.Balanced)}
		for _, s := range events.Stages {
			cells = append(cells, strconv.Itoa(b.At[s]))
		}
		if err := row(cells...); err != nil {
			return err
		}
	}
	return nil
}

// unitRows writes a row for each marked unit, and one for each set of units that
// nothing tells apart.
func unitRows(v view, row func(...string) error) error {
	for _, b := range v.Balances() {
		t, err := v.TraceUnits(audit.Ask{Lot: b.Lot})
		if err != nil {
			return err
		}
		for _, s := range t.Sets {
			if err := setRows(s, row); err != nil {
				return err
			}
		}
	}
	return nil
}

func setRows(s audit.SetTrace, row func(...string) error) error {
	var runs []string
	for _, r := range s.Runs {
		runs = append(runs, r.Run)
	}
	cells := func(q int, mark string) []string {
		return []string{s.Lot, s.Item, s.Owner, string(s.Stage), s.Place, strconv.Itoa(q), mark, strings.Join(runs, " ")}
	}
	if len(s.Marks) == 0 {
		return row(cells(s.Q, "")...)
	}
	for _, m := range s.Marks {
		if err := row(cells(1, m.String())...); err != nil {
			return err
		}
	}
	return nil
}

// eventRows writes the events up to a place in the log.
func eventRows(d *desk, log events.Log, last events.Seq, row func(...string) error) error {
	chain := proof.Chain{}
	err := log.Scan(d.ctx, 1, func(seq uint64, frame []byte) error {
		_, lines, err := chain.Take(seq, frame)
		if err != nil {
			return err
		}
		evs, err := events.DecodeLines(seq, lines)
		if err != nil {
			return err
		}
		for i := range evs {
			if last.Less(evs[i].Seq) {
				return errFull
			}
			if err := eventRow(&evs[i], row); err != nil {
				return err
			}
		}
		return nil
	})
	if errors.Is(err, errFull) {
		return nil
	}
	return err
}

func eventRow(e *events.Event, row func(...string) error) error {
	body, err := json.Marshal(e.Data)
	if err != nil {
		return err
	}
	return row(e.Seq.String(), string(e.Type()), e.At.String(), e.Recorded.String(), string(e.Basis), e.Station, e.Badge, e.Cause,
		e.Mismatch, e.Claim, number(e.PlanRev), number(e.RulesRev), audit.Tell(e), string(body))
}

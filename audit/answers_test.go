package audit_test

import (
	"encoding/json"
	"io"
	"reflect"
	"regexp"
	"slices"
	"strings"
	"testing"

	"packwright/audit"
	"packwright/events"
)

// TestAnswersHaveStableNames: every field of every answer has a JSON name of its
// own, in small letters: scripts read them.
func TestAnswersHaveStableNames(t *testing.T) {
	small := regexp.MustCompile(`^[a-z][a-z0-9_]*$`)
	seen := map[reflect.Type]bool{}
	var walk func(reflect.Type, string)
	walk = func(typ reflect.Type, path string) {
		for typ.Kind() == reflect.Pointer || typ.Kind() == reflect.Slice || typ.Kind() == reflect.Map {
			typ = typ.Elem()
		}
		if typ.Kind() != reflect.Struct || seen[typ] || !strings.HasSuffix(typ.PkgPath(), "/audit") {
			return
		}
		seen[typ] = true
		for i := range typ.NumField() {
			f := typ.Field(i)
			name, _, _ := strings.Cut(f.Tag.Get("json"), ",")
			if !f.Anonymous && !small.MatchString(name) {
				t.Errorf("%s.%s.%s has the JSON name %q", path, typ.Name(), f.Name, name)
			}
			walk(f.Type, path+"."+typ.Name())
		}
	}
	for _, v := range []any{audit.Contents{}, audit.Reconciliation{}, audit.Board{}, audit.Why{}, audit.Options{}, audit.Where{}, audit.Trace{}, audit.Siblings{},
		audit.Irregular{}, audit.Sample{}, audit.ClaimView{}, audit.Verdict{}, audit.Scale{}, audit.Shortage{}, audit.UnitWeight{}, audit.Priors{}, audit.Interval{}} {
		walk(reflect.TypeOf(v), "")
	}
	if len(seen) < 30 {
		t.Errorf("only %d answers were looked at", len(seen))
	}
}

// TestAnswersFullAndEmpty: every answer can be written down, as words and as JSON,
// of a whole day, of a morning, and of nothing at all.
func TestAnswersFullAndEmpty(t *testing.T) {
	f := lanternDay(t)
	for name, fold := range map[string]*audit.Fold{"nothing": audit.New(), "the morning": f.until("08:31:00"), "noon": f.until("14:41:30"), "17:41": f.until("17:41:00"), "the day": f.read()} {
		type texter interface{ Text(io.Writer) error }
		var answers []texter
		keep := func(v texter, err error) {
			if err == nil {
				answers = append(answers, v)
			}
		}
		answers = append(answers, fold.Reconcile(), fold.Board(fold.Now()), fold.Irregular(), fold.Sample(3, 1))
		for _, key := range []string{"C-07", "X-01", "X-02", "M-0019", "M-0023", "MG3", "L-04", "R-01", "T-04", "C-02"} {
			w, err := fold.Why(key)
			keep(w, err)
			p, err := fold.Where(key)
			keep(p, err)
			o, err := fold.Options(key, []events.Role{events.Packer})
			keep(o, err)
		}
		for _, c := range fold.Cartons() {
			answers = append(answers, c)
		}
		tr, err := fold.TraceMark(72)
		keep(tr, err)
		tr, err = fold.TraceUnits(audit.Ask{Item: "PLU"})
		keep(tr, err)
		if list, err := fold.SiblingsOf(19, 0); err == nil {
			var b strings.Builder
			if err := audit.SiblingsText(&b, "M-0019", list); err != nil || !strings.Contains(b.String(), "BW-18") {
				t.Errorf("%s: %s, %v", name, b.String(), err)
			}
		}
		for _, a := range answers {
			var b strings.Builder
			if err := a.Text(&b); err != nil || b.Len() == 0 || strings.Contains(b.String(), "%!") || strings.Contains(b.String(), "NaN") {
				t.Errorf("%s: %T says %q, %v", name, a, b.String(), err)
			}
			if raw, err := json.Marshal(a); err != nil || !json.Valid(raw) {
				t.Errorf("%s: %T: %v", name, a, err)
			}
		}
	}
}

// TestReading: the four numbers read together, one row for each way they can lie.
func TestReading(t *testing.T) {
	num := func(n int) *int { return &n }
	known := audit.Expected{Known: true}
	fits, low, high := &audit.Weight{Expected: known, Vouches: true}, &audit.Weight{Expected: known, Vouches: true, Alarm: true, Residual: -300}, &audit.Weight{Expected: known, Vouches: true, Alarm: true, Residual: 300}
	blind := &audit.Weight{Expected: known}
	for _, c := range []struct {
		planned, scanned int
		counted          *int
		weight           *audit.Weight
		says             string
	}{
		{12, 12, num(12), fits, "good"},
		{12, 12, num(11), low, "physically short"},
		{12, 12, num(13), high, "one more than scanned"},
		{12, 11, num(11), low, "scans and plan differ"},
		{12, 12, num(12), low, "counts agree and the weight does not"},
		{12, 12, num(12), high, "counts agree and the weight does not"},
		{12, 12, num(11), fits, "the weight sides with the scans"},
		{12, 12, num(11), blind, "scans and count differ, and the scale cannot see"},
		{12, 12, num(11), nil, "scans and count differ, and no weight"},
		{12, 12, num(13), low, "count and weight point to different sides"},
		{12, 12, nil, fits, "not counted yet"},
		{12, 12, nil, low, "not counted yet; the weight"},
		{12, 0, nil, nil, "nothing is in it yet"},
	} {
		v := audit.Contents{State: audit.Counting, Planned: c.planned, Scanned: c.scanned, Counted: c.counted, Weight: c.weight}
		if got := v.Reading(); !strings.HasPrefix(got, c.says) {
			t.Errorf("planned %d, scanned %d, counted %v: %q, want %q", c.planned, c.scanned, c.counted, got, c.says)
		}
	}
}

// TestOptions: what may be done about a matter, and by whom.
func TestOptions(t *testing.T) {
	fold := lanternDay(t).until("17:41:00")
	for _, c := range []struct {
		who         []events.Role
		may, mayNot string
		second      events.Role // who else must agree to a write-off, beside the client
	}{
		{[]events.Role{events.Packer}, "find-and-add", "amend-plan", events.Owner},
		{[]events.Role{events.Supervisor}, "write-off-and-amend", "send-short", events.Owner},
		{[]events.Role{events.Owner}, "write-off-and-amend", "nothing", events.Supervisor},
		{[]events.Role{events.Auditor}, "", "recount", events.Owner},
	} {
		o, err := fold.Options("X-02", c.who)
		if err != nil || o.State != "taken" || o.By != "maren" || !o.Leave || len(o.Cartons) != 1 {
			t.Fatalf("%+v, %v", o, err)
		}
		found := map[string]bool{}
		for _, v := range o.Options {
			found[v.Name] = v.May
			want := []events.Role{events.Client}
			if v.Both {
				want = append(want, c.second)
			}
			if v.Check == events.AmendedPlan && !slices.Equal(v.Waits, want) {
				t.Errorf("%v: %s waits for %v", c.who, v.Name, v.Waits)
			}
			if v.Takes.Minutes < 1 || v.Takes.Basis == "" {
				t.Errorf("%s takes %+v", v.Name, v.Takes)
			}
			if !slices.ContainsFunc(events.WaysOut(o.Kinds...), func(r events.Resolution) bool { return r.Name == v.Name }) {
				t.Errorf("%s settles none of %v", v.Name, o.Kinds)
			}
		}
		if c.may != "" && !found[c.may] || found[c.mayNot] {
			t.Errorf("%v may %v", c.who, found)
		}
	}
	if _, err := fold.Options("X-99", nil); err == nil {
		t.Error("options of nothing")
	}
	// A client who asks need not wait for the client.
	o, err := fold.Options("X-02", []events.Role{events.Supervisor, events.Client})
	if err != nil || len(o.Options[2].Waits) != 0 {
		t.Errorf("%+v, %v", o.Options, err)
	}
}

// TestWhere: where something is and where it goes next.
func TestWhere(t *testing.T) {
	fold := lanternDay(t).until("13:51:00") // C-02 is being filled: M-0013..M-0017 are in
	for key, want := range map[string]string{
		"M-0013": "M-0013 is in C-02",
		"M-0020": "M-0020 lies in T-02, prepped; C-02 (open at ST-3) wants 6",
		"T-02":   "T-02 holds 6 units",
		"C-02":   "C-02 is open at ST-3",
		"GLD":    "C-09 (planned) wants 14, C-10 (planned) wants 10",
		"R-07":   "run R-07, MG3, 9 of 9 made at ST-2",
		"L-08":   "C-12 (planned) wants 12",
	} {
		w, err := fold.Where(key)
		if err != nil || w.Says != want {
			t.Errorf("%s: %q, %v; want %q", key, w.Says, err, want)
		}
	}
	end := lanternDay(t).read()
	for key, want := range map[string]string{"M-0013": "M-0013 left in C-02", "M-0023": "M-0023 is cancelled, replaced by M-0073", "MG3": "no carton asks for it now"} {
		if w, err := end.Where(key); err != nil || w.Says != want {
			t.Errorf("%s: %q, %v; want %q", key, w.Says, err, want)
		}
	}
	for _, key := range []string{"nothing", "M-9999"} {
		if _, err := end.Where(key); err == nil {
			t.Errorf("%s is somewhere", key)
		}
	}
}

// TestBoardEstimates: no estimate without enough to base it on, and its basis said.
func TestBoardEstimates(t *testing.T) {
	f := lanternDay(t)
	for _, c := range f.until("13:31:00").Board(at(t, "13:31")).Cartons {
		if c.Finish != nil {
			t.Errorf("%s: %+v before five cartons were sealed", c.Carton, c.Finish)
		}
	}
	found := false
	for _, c := range f.until("15:11:00").Board(at(t, "15:11")).Cartons {
		if c.Carton == "C-10" {
			found = true
			// 5 placed, 11 to go at 12 s; then 190 s from finish to seal: 322 s.
			if c.Finish == nil || c.Finish.Minutes != 6 || !strings.HasPrefix(c.Finish.Basis, "11 to place at 12 s, then 190 s") {
				t.Errorf("%+v", c.Finish)
			}
		}
	}
	if !found {
		t.Error("C-10 is not on the board")
	}
}

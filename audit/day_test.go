package audit_test

import (
	"encoding/json"
	"sort"
	"testing"

	"packwright/events"
	"packwright/prep"
)

// The day of these tests: an invented floor, Lantern Yard, on 2031-03-04. Its
// last closed box of run R-07 was left unlabelled, and two labels changed places;
// a torn plush was taken out of C-07 without a scan; C-05 was opened again.

type dayRun struct {
	run, station, badge, lot, item string
	q                              int
	start                          string
	cadence, rules                 int
	mark                           prep.Mark
	recipe                         string
}

var dayRuns = []dayRun{
	{"R-01", "ST-1", "tobi", "L-04", "PUZ", 30, "09:40", 75, 4, 0, "sticker on card"},
	{"R-02", "ST-1", "tobi", "L-05", "GLD", 24, "10:25", 90, 4, 0, "sticker on plastic"},
	{"R-03", "ST-1", "tobi", "L-06", "DSC", 18, "11:05", 60, 5, 0, "soft case"},
	{"R-04", "ST-1", "tobi", "L-03", "TRY", 30, "12:15", 50, 5, 0, "open tray"},
	{"R-05", "ST-1", "tobi", "L-07", "PLU", 20, "12:45", 45, 5, 0, "soft goods"},
	{"R-06", "ST-2", "ife", "L-01", "MG3", 14, "09:40", 110, 4, 1, "window figure"},
	{"R-07", "ST-2", "ife", "L-02", "MG3", 9, "10:10", 110, 4, 15, "window figure"},
	{"R-08", "ST-2", "ife", "L-13", "MG4", 24, "10:30", 110, 5, 24, "window figure"},
	{"R-09", "ST-2", "ife", "L-08", "MUG", 12, "11:20", 150, 5, 48, "glass set"},
	{"R-10", "ST-3", "sunniva", "L-10", "KNF", 12, "09:40", 100, 4, 60, "sharp"},
	{"R-11", "ST-3", "sunniva", "L-09", "WSH", 17, "10:05", 70, 4, 0, "liquid"},
	{"R-12", "ST-3", "sunniva", "L-11/B", "BND", 12, "10:30", 95, 5, 0, "bundle"},
}

type dayLine struct {
	item, lot string
	q         int
	mark      prep.Mark
}

type dayCarton struct {
	carton, station, badge, open string
	tare                         int
	first                        int // first reading, g
	seal, load                   string
	lines                        []dayLine
}

var dayCartons = []dayCarton{
	{"C-01", "ST-3", "sunniva", "13:30", 520, 5530, "000401", "17:54:00", []dayLine{{"MG3", "L-01", 12, 1}}},
	{"C-02", "ST-3", "sunniva", "13:50", 520, 5165, "000412", "17:54:20", []dayLine{{"MG3", "", 11, 13}}},
	{"C-03", "ST-2", "ife", "13:30", 520, 6049, "000413", "17:54:40", []dayLine{{"MG4", "L-13", 12, 24}}},
	{"C-04", "ST-2", "ife", "13:50", 520, 6091, "000403", "17:55:00", []dayLine{{"MG4", "L-13", 12, 36}}},
	{"C-05", "ST-3", "sunniva", "14:10", 610, 6006, "000404", "17:55:20", []dayLine{{"TRY", "L-03", 15, 0}}},
	{"C-06", "ST-3", "sunniva", "14:30", 610, 5991, "000407", "17:55:40", []dayLine{{"TRY", "L-03", 15, 0}}},
	{"C-07", "ST-3", "sunniva", "17:25", 610, 11827, "000415", "17:56:00", []dayLine{{"PUZ", "L-04", 15, 0}, {"PLU", "L-07", 6, 0}}},
	{"C-08", "ST-3", "sunniva", "16:30", 610, 11503, "000414", "17:56:20", []dayLine{{"PUZ", "L-04", 14, 0}, {"PLU", "L-07", 6, 0}}},
	{"C-09", "ST-1", "tobi", "14:40", 430, 3013, "000408", "17:56:40", []dayLine{{"GLD", "L-05", 14, 0}}},
	{"C-10", "ST-1", "tobi", "15:10", 430, 2993, "000411", "17:57:00", []dayLine{{"GLD", "L-05", 10, 0}, {"DSC", "L-06", 6, 0}}},
	{"C-11", "ST-2", "ife", "14:45", 430, 3710, "000409", "17:57:20", []dayLine{{"DSC", "L-06", 12, 0}, {"KNF", "L-10", 12, 60}}},
	{"C-12", "ST-2", "ife", "14:15", 610, 11515, "000406", "17:57:40", []dayLine{{"MUG", "L-08", 12, 48}}},
	{"C-13", "ST-1", "tobi", "13:40", 520, 6572, "000402", "17:58:00", []dayLine{{"WSH", "L-09", 17, 0}}},
	{"C-14", "ST-1", "tobi", "14:10", 520, 4200, "000405", "17:58:20", []dayLine{{"PLU", "L-07", 8, 0}, {"BND", "L-11/B", 12, 0}}},
}

// dayItems: prepped mean and deviation in tenths of a gram.
var dayItems = []struct {
	item, name string
	g, sd      int
}{{"MG3", "Moss Golem figure no. 3", 4120, 30}, {"MG4", "Moss Golem figure no. 4", 4600, 30}, {"TRY", "tide-lantern playset", 3550, 50},
	{"PUZ", "Cork Harbour puzzle", 6400, 60}, {"GLD", "paper glider kit", 1800, 20}, {"DSC", "Night-tram music", 1180, 15},
	{"PLU", "wool otter plush", 3100, 90}, {"MUG", "enamel-and-glass mug set", 9050, 80}, {"WSH", "cedar hand wash", 3520, 40},
	{"KNF", "craft knife set", 1500, 15}, {"BND", "seed-paper card pack of 2", 960, 10}, {"SPC", "seed-paper cards", 480, 5}, {"RAD", "pocket radio", 2400, 20}}

var dayLots = []struct {
	lot, item, owner string
	announced, came  int
}{{"L-01", "MG3", "house", 14, 14}, {"L-02", "MG3", "house", 10, 10}, {"L-03", "TRY", "house", 30, 30}, {"L-04", "PUZ", "quill", 30, 30},
	{"L-05", "GLD", "house", 27, 24}, {"L-06", "DSC", "house", 18, 18}, {"L-07", "PLU", "quill", 20, 20}, {"L-08", "MUG", "house", 12, 12},
	{"L-09", "WSH", "house", 18, 18}, {"L-10", "KNF", "house", 12, 12}, {"L-11", "SPC", "quill", 24, 24}, {"L-12", "RAD", "quill", 4, 4},
	{"L-13", "MG4", "house", 24, 24}}

// script is a day's commands before they are put in order of time.
type script struct {
	t     testing.TB
	steps []dayStep
}

type dayStep struct {
	when, told     events.Time
	station, badge string
	list           []events.Data
	after          func(*floor)
}

func (s *script) on(when events.Time, station, badge string, list ...events.Data) *dayStep {
	s.steps = append(s.steps, dayStep{when: when, station: station, badge: badge, list: list})
	return &s.steps[len(s.steps)-1]
}

func (s *script) clock(c string, station, badge string, list ...events.Data) *dayStep {
	return s.on(at(s.t, c), station, badge, list...)
}

// lanternDay plays the whole day.
func lanternDay(t testing.TB) *floor {
	t.Helper()
	s := &script{t: t}
	s.morning()
	s.intake()
	for _, r := range dayRuns {
		s.run(r)
	}
	s.materials()
	for _, c := range dayCartons {
		s.pack(c)
	}
	s.swappedPair()
	s.shortCarton()
	s.openedAgain()
	s.leaving()
	sort.SliceStable(s.steps, func(i, j int) bool { return s.steps[i].when.Before(s.steps[j].when) })
	f := newFloor(t)
	for _, st := range s.steps {
		f.now = events.Max(f.now, st.when)
		when := f.now
		if !st.told.IsZero() {
			when = st.told
		}
		f.told(st.station, st.badge, when, st.list...)
		if st.after != nil {
			st.after(f)
		}
	}
	return f
}

func (s *script) morning() {
	for _, b := range []struct {
		badge string
		roles []events.Role
		owner string
	}{{"maren", []events.Role{events.Packer, events.Lead, events.Supervisor}, ""}, {"tobi", []events.Role{events.Packer}, ""},
		{"ife", []events.Role{events.Packer}, ""}, {"sunniva", []events.Role{events.Packer}, ""}, {"quinn", []events.Role{events.Client}, "quill"}} {
		s.clock("07:30", "BOARD", "odile", &events.BadgeEnrolled{Badge: b.badge, Roles: b.roles, OwnerOf: b.owner})
	}
	for _, n := range []string{"ST-1", "ST-2", "ST-3"} {
		s.clock("07:32", "BOARD", "odile", &events.StationJoined{Name: n, Aside: "A-" + n})
	}
	for _, it := range dayItems {
		item := prep.Item{Item: it.item, Name: it.name, Trace: prep.TraceClass, UnitG: prep.Mass(it.g) * 100, UnitSD: prep.Mass(it.sd) * 100}
		if it.item == "MG3" || it.item == "MG4" {
			window(s.t, &item)
		}
		s.clock("07:40", "BOARD", "odile", &events.ItemRegistered{Item: item})
	}
	for _, r := range []struct {
		at          string
		rev, layers int
	}{{"07:50", 4, 1}, {"10:29", 5, 2}} {
		book := rules(s.t, r.rev, r.layers)
		s.clock(r.at, "BOARD", "odile", &events.RulebookPublished{Rev: r.rev, Digest: book.Digest(), Rulebook: book, Effective: "new-runs"}).after =
			func(f *floor) { f.rules = r.rev }
	}
	for st, who := range map[string]string{"ST-1": "tobi", "ST-2": "ife", "ST-3": "sunniva", "BOARD": "maren"} {
		s.clock("07:56", st, who, &events.SessionStarted{Session: "S-" + st, Who: who, At: st})
		s.clock("18:05", st, who, &events.SessionEnded{Session: "S-" + st, Who: who, At: st, Why: "out"})
	}
	s.clock("07:58", "BOARD", "maren", &events.ScaleChecked{Scale: "SC-1", Ref: 5 * prep.Kilogram, Read: 5001 * prep.Gram, OK: true})
}

func window(t testing.TB, it *prep.Item) {
	for k, v := range map[string]string{"outer": "window", "collectible": "yes", "sticker": "none", "fragile": "no", "liquid": "no", "sharp": "no", "battery": "no",
		"hazard_pictogram": "no", "aerosol": "no", "magnet": "no", "grade": "a", "surface_under_sticker": "card", "retail_barcodes_visible": "yes"} {
		if err := prep.SetAttr(&it.Attrs, k, v); err != nil {
			t.Fatal(err)
		}
	}
	it.Trace, it.Dims = prep.TraceMark, prep.Dims{158750, 114300, 88900}
}

// rules is a small rulebook that wraps window figures in so many layers.
func rules(t testing.TB, rev, layers int) prep.Rulebook {
	b := prep.Rulebook{Rev: rev, Otherwise: "label only", Names: []prep.Naming{{Name: "window figure", Rules: []string{"P-08"}}},
		Steps: []prep.StepWord{{ID: "wrap", Phase: prep.PhaseProtect, Say: "Wrap all faces", Check: prep.CheckDone}},
		Rules: []prep.Rule{{ID: "P-08", Title: "Window box", When: prep.Condition{All: []prep.Test{{Attr: "outer", Is: []string{"window"}}}},
			Must: []string{"wrap"}, Materials: []prep.Use{{Material: "wrap-3-16", Layers: layers}}}},
		Materials: prep.Catalogue{Materials: []prep.Material{{ID: "wrap-3-16", Name: "wrap", Kind: prep.KindWrap, Unit: "sheet", Thickness: 4762}}}}
	raw, err := json.Marshal(b)
	if err != nil {
		t.Fatal(err)
	}
	var out prep.Rulebook
	if err := json.Unmarshal(raw, &out); err != nil {
		t.Fatal(err)
	}
	return out
}

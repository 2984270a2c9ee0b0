package audit

import (
	"fmt"
	"io"
	"maps"
	"slices"
	"strings"

	"packwright/events"
	"packwright/prep"
)

// Irregular is all that was let pass, told late, refused, missed or out of
// order. Nothing in it is a reproach: each is an ordinary event of a floor, and
// an auditor wants to see them together.
type Irregular struct {
	At        events.Time    `json:"at"`
	Overrides []OverrideView `json:"overrides,omitempty"`
	Testimony []ToldView     `json:"testimony,omitempty"`
	Late      []LateView     `json:"late_reports,omitempty"`
	Offline   []AwayView     `json:"offline,omitempty"`
	Skews     []SkewView     `json:"clock_skews,omitempty"`
	Gaps      []GapView      `json:"command_numbers,omitempty"`
	Scales    []ScaleView    `json:"scales_off,omitempty"`
	Refused   map[string]int `json:"refused_scans,omitempty"` // by code
	TakenBack []TakenView    `json:"taken_back,omitempty"`
	Opened    []SealView     `json:"seals_broken,omitempty"`
	Placers   []string       `json:"counted_by_placer,omitempty"` // cartons whose certificate rests on the placer's own count
	Unsettled []string       `json:"open_matters,omitempty"`
	Restored  []SeamView     `json:"log_restored,omitempty"`
}

// OverrideView is one gate let pass.
type OverrideView struct {
	Override string       `json:"override"`
	Gate     string       `json:"gate"`
	By       string       `json:"by"`
	Second   string       `json:"second,omitempty"`
	Scope    events.Scope `json:"scope"`
	Reason   string       `json:"reason_code"`
	Text     string       `json:"text"`
	At       events.Time  `json:"at"`
	Expires  events.Time  `json:"expires"`
	Place    events.Seq   `json:"seq"`
}

// ToldView is one fact that rests on somebody's word.
type ToldView struct {
	Type     events.Type `json:"type"`
	By       string      `json:"by"`
	At       events.Time `json:"at"`       // when it is said to have happened
	Recorded events.Time `json:"recorded"` // when it was told
	Minutes  int         `json:"minutes_later"`
	Place    events.Seq  `json:"seq"`
}

// LateView is one statement that moved nothing.
type LateView struct {
	Command  string      `json:"command"`
	Error    string      `json:"error"`
	Text     string      `json:"text"`
	Carton   string      `json:"carton,omitempty"`
	Station  string      `json:"station"`
	At       events.Time `json:"at"`
	Recorded events.Time `json:"recorded"`
	Place    events.Seq  `json:"seq"`
}

// AwayView is one time that a bench was not heard of.
type AwayView struct {
	Station string      `json:"station"`
	Last    events.Time `json:"last_seen,omitzero"`
	Noted   events.Time `json:"noted,omitzero"`
	Back    events.Time `json:"back,omitzero"`
	N       int         `json:"brought_back"`
	Place   events.Seq  `json:"seq"`
}

// SkewView is one clock that differed from the writer's.
type SkewView struct {
	Station string     `json:"station"`
	MS      int64      `json:"skew_ms"`
	Place   events.Seq `json:"seq"`
}

// GapView is one outbox of a bench whose numbers are not one unbroken run. A
// number that is missing was refused, withdrawn, or never came: the log cannot
// tell which.
type GapView struct {
	Station string      `json:"station"`
	Epoch   string      `json:"epoch"`
	Kept    uint64      `json:"kept"`
	Missing [][2]uint64 `json:"missing,omitempty"` // from and to, both included
	Lacks   uint64      `json:"missing_n"`
	Behind  int         `json:"came_out_of_order"`
}

// ScaleView is one check that a scale did not pass.
type ScaleView struct {
	Scale string      `json:"scale"`
	Ref   prep.Mass   `json:"ref_g"`
	Read  prep.Mass   `json:"read_g"`
	At    events.Time `json:"at"`
	Place events.Seq  `json:"seq"`
}

// TakenView is one action taken back.
type TakenView struct {
	Of     events.Seq  `json:"of"`
	Reason string      `json:"reason,omitempty"`
	By     string      `json:"by"`
	At     events.Time `json:"at"`
	Place  events.Seq  `json:"seq"`
}

// SealView is one seal that was broken here.
type SealView struct {
	Carton string      `json:"carton"`
	Seal   string      `json:"seal"`
	By     string      `json:"by"`
	Why    string      `json:"why"`
	At     events.Time `json:"at"`
	Place  events.Seq  `json:"seq"`
}

// Irregular gathers the list.
func (f *Fold) Irregular() Irregular {
	v := Irregular{At: f.now, Refused: map[string]int{}}
	for _, o := range f.odd.Overrides {
		v.Overrides = append(v.Overrides, OverrideView{o.Key, o.Gate, f.names.text(o.Fact.Badge), o.Second, o.Scope, o.Reason, o.Text,
			o.Fact.At.time(), o.Expires.time(), o.Fact.Ref.seq()})
	}
	for _, t := range f.odd.Testimony {
		v.Testimony = append(v.Testimony, ToldView{t.Type, f.names.text(t.Fact.Badge), t.Fact.At.time(), t.Recorded.time(),
			int(t.Recorded.since(t.Fact.At).Minutes()), t.Fact.Ref.seq()})
	}
	for _, l := range f.odd.Late {
		v.Late = append(v.Late, LateView{l.Command, l.Error, l.Text, l.Carton, f.names.text(l.Fact.Station), l.Fact.At.time(), l.Recorded.time(), l.Fact.Ref.seq()})
	}
	for _, s := range f.odd.Skews {
		v.Skews = append(v.Skews, SkewView{s.Station, s.MS, s.Fact.Ref.seq()})
	}
	for _, s := range f.odd.Scales {
		v.Scales = append(v.Scales, ScaleView{s.Scale, s.Ref, s.Read, s.Fact.At.time(), s.Fact.Ref.seq()})
	}
	for _, r := range f.odd.Refused {
		v.Refused[r.Error]++
	}
	for _, t := range f.odd.TakenBack {
		v.TakenBack = append(v.TakenBack, TakenView{t.Of.seq(), t.Reason, f.names.text(t.Fact.Badge), t.Fact.At.time(), t.Fact.Ref.seq()})
	}
	for id, b := range f.benches.all() {
		f.benchIrregular(&v, f.benches.Keys[id], b)
	}
	f.cartonIrregular(&v)
	v.Restored = f.Restored()
	for id, m := range f.matters.awake() {
		if m.open() {
			v.Unsettled = append(v.Unsettled, f.matters.Keys[id])
		}
	}
	return v
}

func (f *Fold) benchIrregular(v *Irregular, key string, b *bench) {
	for _, a := range b.Away {
		v.Offline = append(v.Offline, AwayView{key, a.Last.time(), a.Noted.time(), a.Back.time(), a.N, a.Ref.seq()})
	}
	for _, ep := range b.Epochs {
		g := GapView{Station: key, Epoch: ep.Name, Behind: ep.Behind}
		next := uint64(1)
		for _, s := range ep.Spans {
			if s.From > next {
				g.Missing = append(g.Missing, [2]uint64{next, s.From - 1})
				g.Lacks += s.From - next
			}
			g.Kept += s.To - s.From + 1
			next = s.To + 1
		}
		if g.Lacks > 0 || g.Behind > 0 {
			v.Gaps = append(v.Gaps, g)
		}
	}
}

func (f *Fold) cartonIrregular(v *Irregular) {
	for id := range f.reopened.each() {
		for _, s := range f.cartons.row(id).Seals {
			if s.Broken.Ref != 0 {
				v.Opened = append(v.Opened, SealView{f.cartons.Keys[id], s.Number, f.names.text(s.Broken.Badge), s.Why, s.Broken.At.time(), s.Broken.Ref.seq()})
			}
		}
	}
	for id := range f.byPlacer.each() {
		v.Placers = append(v.Placers, f.cartons.Keys[id])
	}
}

// Summary counts the list in one line: "1 override, 1 testimony, 1 offline".
func (v Irregular) Summary() string {
	var parts []string
	refused := 0
	for _, n := range v.Refused {
		refused += n
	}
	for _, p := range []struct {
		n    int
		word string
	}{{len(v.Overrides), "override"}, {len(v.Testimony), "testimony"}, {len(v.Offline), "offline"}, {len(v.Late), "late report"},
		{len(v.Skews), "clock skew"}, {len(v.Scales), "scale off"}, {refused, "refused scan"}, {len(v.TakenBack), "taken back"},
		{len(v.Opened), "seal broken"}, {len(v.Unsettled), "open matter"}, {len(v.Restored), "log restored"}} {
		if p.n > 0 {
			parts = append(parts, fmt.Sprintf("%d %s", p.n, p.word))
		}
	}
	if len(parts) == 0 {
		return "nothing irregular"
	}
	return strings.Join(parts, ", ")
}

// Text writes the list.
func (v Irregular) Text(w io.Writer) error {
	b := &strings.Builder{}
	fmt.Fprintln(b, v.Summary())
	for _, r := range v.Restored {
		fmt.Fprintf(b, "  %s\n", r)
	}
	for _, o := range v.Overrides {
		fmt.Fprintf(b, "  override %s of %s %s by %s: %s, %s\n", o.Override, o.Gate, clock(o.At), o.By, o.Reason, o.Text)
	}
	for _, t := range v.Testimony {
		fmt.Fprintf(b, "  %s at %s, told %s by %s, %d min later\n", t.Type, clock(t.At), clock(t.Recorded), t.By, t.Minutes)
	}
	for _, a := range v.Offline {
		back := "not heard since"
		if !a.Back.IsZero() {
			back = fmt.Sprintf("back %s with %d commands", clock(a.Back), a.N)
		}
		fmt.Fprintf(b, "  %s last heard %s, %s\n", a.Station, clock(a.Last), back)
	}
	for _, l := range v.Late {
		fmt.Fprintf(b, "  late %s from %s, happened %s, told %s: %s\n", l.Command, l.Station, clock(l.At), clock(l.Recorded), l.Text)
	}
	for _, s := range v.Skews {
		fmt.Fprintf(b, "  clock of %s off by %d ms\n", s.Station, s.MS)
	}
	for _, s := range v.Scales {
		fmt.Fprintf(b, "  scale %s read %s for %s\n", s.Scale, s.Read, s.Ref)
	}
	for _, code := range slices.Sorted(maps.Keys(v.Refused)) {
		fmt.Fprintf(b, "  refused scans %s: %d\n", code, v.Refused[code])
	}
	for _, t := range v.TakenBack {
		fmt.Fprintf(b, "  taken back %s: event %s, by %s\n", clock(t.At), t.Of, t.By)
	}
	for _, s := range v.Opened {
		fmt.Fprintf(b, "  seal %s of %s broken %s by %s: %s\n", s.Seal, s.Carton, clock(s.At), s.By, s.Why)
	}
	for _, g := range v.Gaps {
		fmt.Fprintf(b, "  %s outbox %s: %d commands kept, %d numbers refused or never come, %d out of order\n", g.Station, g.Epoch, g.Kept, g.Lacks, g.Behind)
	}
	if len(v.Placers) > 0 {
		fmt.Fprintf(b, "  counted by who placed: %s\n", strings.Join(v.Placers, ", "))
	}
	_, err := io.WriteString(w, b.String())
	return err
}

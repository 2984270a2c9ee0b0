package audit

import (
	"slices"

	"packwright/events"
	"packwright/prep"
)

// LabelTrace is the lineage of a label, which may part from that of the goods.
type LabelTrace struct {
	Mark       prep.Mark   `json:"mark"`
	CancelAt   events.Time `json:"cancelled_at,omitzero"`
	Reason     string      `json:"reason,omitempty"`
	ReplacedBy prep.Mark   `json:"replaced_by,omitempty"` // now on the same box
	NowItem    string      `json:"now_item,omitempty"`
	NowName    string      `json:"now_name,omitempty"`
	NowRun     string      `json:"now_run,omitempty"`
	GoodsNow   []prep.Mark `json:"goods_now,omitempty"` // marks that its goods may bear today
	Printed    string      `json:"printed_for,omitempty"`
	State      string      `json:"state"` // live, cancelled, printed, spoiled
}

// labelTrace tells what became of a label.
func (f *Fold) labelTrace(m prep.Mark, u *unit) *LabelTrace {
	t := &LabelTrace{Mark: m, State: "live"}
	if p := f.printedAs(m); p != nil {
		t.Printed = f.runs.Keys[p.Run]
		t.State = "printed"
		for _, s := range p.Spoiled {
			if s.From <= m && m <= s.To {
				t.State = "spoiled"
			}
		}
	}
	if u == nil {
		return t
	}
	p := f.papers[m]
	if p == nil || p.Voided.Ref == 0 {
		t.State = "live"
		return t
	}
	t.State, t.CancelAt, t.Reason, t.ReplacedBy = "cancelled", p.Voided.At.time(), p.Reason, p.ReplacedBy
	if n := f.bound(p.ReplacedBy); n != nil {
		t.NowItem = f.names.text(f.lots.row(n.Lot).Item)
		t.NowName, t.NowRun = f.items[t.NowItem].Name, f.runs.Keys[n.Run]
	}
	t.GoodsNow = f.heirs(m)
	return t
}

// heirs gives the live marks whose goods may once have borne m.
func (f *Fold) heirs(m prep.Mark) []prep.Mark {
	u := f.bound(m)
	if u == nil {
		return nil
	}
	var out []prep.Mark
	for _, r := range f.runsOf(m, u) {
		for _, again := range f.runs.row(r).Again {
			a := f.look(again)
			if a.State == voided {
				continue
			}
			for _, o := range f.originsOf(again, a) {
				same := o.Mark == m || u.Ordinal != 0 && o.Run == u.Run && o.Ordinal == u.Ordinal
				if same && !slices.Contains(out, again) {
					out = append(out, again)
				}
			}
		}
	}
	slices.Sort(out)
	return out
}

package workflow

import (
	"fmt"
	"slices"
	"strings"

	"packwright/events"
	"packwright/prep"
)

// Era is a part of the log that an older copy of it began.
type Era struct {
	Name  string     `json:"era"`
	Since uint64     `json:"since"` // frames after this one that earlier eras had are lost
	Seq   events.Seq `json:"seq"`   // of its first event
}

// acceptLossAsk is given by whoever put an older log back, at the machine itself.
type acceptLossAsk struct{ events.LogRestored }

func (in *acceptLossAsk) check() error {
	for _, x := range []struct {
		ok       bool
		what, do string
	}{
		{plainWord(in.Era), fmt.Sprintf("%q cannot name an era", in.Era), "use letters, digits and hyphens"},
		{strings.TrimSpace(in.Reason) != "" && len(in.Reason) <= 500, "a loss without a reason", "say in a sentence what happened"},
		{in.Common <= in.Frame, "what both logs had ends after this one does", "name the last frame that was put back"},
		{in.Lost == nil || in.Lost.Frame > in.Since(), "the head that is said to be lost is none", "name a frame after what was put back"},
		{in.Lost == nil || len(in.Lost.Root) >= 16 && len(in.Lost.Root) <= 64 && strings.Trim(in.Lost.Root, "0123456789abcdef") == "",
			"the root that is said to be lost is none", "write at least 16 signs of it"},
	} {
		if !x.ok {
			return prep.Input(x.what, x.do)
		}
	}
	return nil
}

// restoredRules let the owner, and nobody else, go on with an older log.
var restoredRules = []rule{
	on(rule{Name: "accept-loss"}, []gate[acceptLossAsk]{
		{Gate{"an owner's badge, at the board", "E-AUT-01", ""}, func(d *decision, in *acceptLossAsk) *Refusal {
			b := d.f.Badges[d.c.Badge]
			if b == nil || b.Retired || !slices.Contains(b.Roles, events.Owner) || d.id.Station != Board || d.c.Offline {
				return refuse("E-AUT-01")
			}
			return nil
		}},
		{Gate{"a head that this log has had", "E-LOG-01", ""}, func(d *decision, in *acceptLossAsk) *Refusal {
			if d.f.heads != nil {
				size, root, ok := d.f.heads(in.Frame)
				if ok && size == in.Size && root == in.Root && size > 0 {
					return nil
				}
			}
			return refuse("E-LOG-01")
		}},
		{Gate{"an era that never was", "E-LOG-03", ""}, func(d *decision, in *acceptLossAsk) *Refusal {
			if slices.ContainsFunc(d.f.Eras, func(e Era) bool { return e.Name == in.Era }) {
				return again(refuse("E-LOG-03", in.Era))
			}
			return nil
		}},
	}, func(d *decision, in *acceptLossAsk) {
		d.emit(&in.LogRestored)
	}),
}

func (f *Floor) logRestored(e *events.Event, d *events.LogRestored) error {
	if d.Frame >= e.Seq.Frame || d.Common > d.Frame {
		return fmt.Errorf("%w: the log goes on from frame %d in frame %d", events.ErrCorrupt, d.Frame, e.Seq.Frame)
	}
	f.Eras = append(f.Eras, Era{d.Era, d.Since(), e.Seq})
	f.owe(e.Seq)
	return nil
}

// LostTo says whether a head of frame in an era is one that was lost, and
// accepted as lost, when a later era began. False for an era that is not known.
func LostTo(eras []Era, era string, frame uint64) bool {
	from := 0
	if era != "" {
		if from = 1 + slices.IndexFunc(eras, func(e Era) bool { return e.Name == era }); from == 0 {
			return false
		}
	}
	return slices.ContainsFunc(eras[from:], func(e Era) bool { return frame > e.Since })
}

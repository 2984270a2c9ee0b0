package audit

import (
	"fmt"
	"slices"

	"packwright/events"
)

// restored is a seam of the log as the fold keeps it.
type restored struct {
	Fact fact
	events.LogRestored
}

// SeamView is a place where the log goes on from an older copy of itself.
type SeamView struct {
	Place events.Seq  `json:"seq"`
	At    events.Time `json:"at"`
	By    string      `json:"by"`
	events.LogRestored
}

// String says what was lost, as far as the log knows.
func (v SeamView) String() string {
	lost := "nobody knows how much"
	if v.Lost != nil {
		lost = fmt.Sprintf("at least %d frames, up to %d with root %.16s", v.Lost.Frame-v.Since(), v.Lost.Frame, v.Lost.Root)
	}
	return fmt.Sprintf("log restored %s by %s: goes on from frame %d, %d events; lost after frame %d: %s; %s", clock(v.At), v.By, v.Frame, v.Size, v.Since(), lost, v.Reason)
}

func (f *Fold) logRestored(e *events.Event, d *events.LogRestored) error {
	if d.Frame >= e.Seq.Frame || d.Size >= f.count || d.Common > d.Frame {
		return fmt.Errorf("the log goes on from frame %d, %d events, in frame %d", d.Frame, d.Size, e.Seq.Frame)
	}
	f.odd.Restored = append(f.odd.Restored, restored{f.fact(e), *d})
	return nil
}

// Restored gives the log's seams, oldest first.
func (f *Fold) Restored() (out []SeamView) {
	for _, r := range f.odd.Restored {
		out = append(out, SeamView{r.Fact.Ref.seq(), r.Fact.At.time(), f.names.text(r.Fact.Badge), r.LogRestored})
	}
	return out
}

// restoredLaws are about logs that were put back.
var restoredLaws = []Law{
	{"a restored log goes on from its own head", "size and root are those of the tree after the frame it names",
		func(l *Laws, e *events.Event, _ *Fold) string {
			d, ok := e.Data.(*events.LogRestored)
			if !ok || l.heads.last == 0 {
				return ""
			}
			if size, root, ok := l.heads.at(d.Frame); !ok || size != d.Size || root != d.Root {
				return fmt.Sprintf("after frame %d the log did not have %d events with root %.16x", d.Frame, d.Size, d.Root[:])
			}
			return ""
		}},
	{"an era begins once", "with a name of its own, and what it lost lies after what it kept",
		func(l *Laws, e *events.Event, _ *Fold) string {
			d, ok := e.Data.(*events.LogRestored)
			switch {
			case !ok:
				return ""
			case d.Era == "" || slices.Contains(l.eras, d.Era):
				return fmt.Sprintf("era %q", d.Era)
			case d.Lost != nil && d.Lost.Frame <= d.Since():
				return fmt.Sprintf("frame %d is said to be lost, and to be kept up to %d", d.Lost.Frame, d.Since())
			}
			return ""
		}},
}

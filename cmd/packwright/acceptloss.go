package main

import (
	"context"
	"encoding/hex"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"time"

	"packwright/cmd/packwright/door"
	"packwright/events"
	"packwright/prep"
	"packwright/workflow"
	"packwright/workflow/engine"
)

// acceptLoss is how the owner lets a floor go on with an older log than benches
// or printed heads have seen. Nothing else does: until then such a bench turns
// the hub's light red.
type acceptLoss struct {
	AcceptLoss bool   `name:"accept-loss" help:"The owner lets the floor go on although frames that somebody has seen are lost. Without a backup's name: of the floor in --data, whose older store was put back. Kept in the log for ever."`
	Reason     string `placeholder:"TEXT" help:"Why, with --accept-loss."`
	Badge      string `placeholder:"BADGE" help:"The owner's badge, with --accept-loss."`
}

func (a acceptLoss) check() error {
	switch {
	case a.AcceptLoss && (a.Reason == "" || a.Badge == ""):
		return prep.Input("a loss without a reason, or without the owner's badge", "say both: --reason TEXT --badge BADGE")
	case !a.AcceptLoss && (a.Reason != "" || a.Badge != ""):
		return prep.Input("a reason or badge, and no loss", "leave them out, or say --accept-loss")
	}
	return nil
}

// lossNoted is the seam that was written.
type lossNoted struct {
	Era  string           `json:"era"`
	From engine.Head      `json:"from"`
	Lost *events.LostHead `json:"lost,omitempty"`
}

func (l *lossNoted) say(w io.Writer) {
	fmt.Fprintf(w, "accepted as lost: all that was seen after frame %d, root %s\n", l.From.Frame, l.From.Root)
	if l.Lost != nil {
		fmt.Fprintf(w, "the newest that is known of it: frame %d, root %s\n", l.Lost.Frame, l.Lost.Root)
	}
	fmt.Fprintf(w, "era %s begins. Benches send what they still hold; give what is in files once more with packwright do: nothing is kept twice\n", l.Era)
}

// putBack is what restored.json in the floor's directory holds: the head that was
// put back last, so that a loss which is noticed later is told from there.
type putBack struct {
	At   time.Time   `json:"at"`
	File string      `json:"file"`
	Head engine.Head `json:"head"`
}

func (p place) putBack() string { return p.file("restored.json") }

// lastPutBack gives what was put back last; nil when nothing ever was.
func (p place) lastPutBack() (*putBack, error) {
	return readKept[putBack](p.putBack())
}

// onStanding notes a loss in the log of a floor that stands.
func (c *restoreCommand) onStanding(d *desk, lost *notedHead) error {
	if c.Check {
		return prep.Input("nothing to check", "name the backup")
	}
	h, err := d.open("packwright restore")
	if err != nil {
		return err
	}
	out := restored{Data: d.Data, Floor: h.about.Floor}
	common := h.writer.Head()
	if was, perr := h.place.lastPutBack(); perr != nil {
		err = perr
	} else if was != nil && was.Head.Frame < common.Frame {
		common = was.Head
	}
	if err == nil {
		out.Loss, err = c.note(d.ctx, h, common, lost)
	}
	out.Head = h.writer.Head()
	if err = errors.Join(err, h.Close()); err != nil {
		return err
	}
	return d.show(out, out.say)
}

// note writes the seam: the log goes on from its newest head, and what was seen
// after the common one is lost.
func (a acceptLoss) note(ctx context.Context, h *hub, common engine.Head, lost *notedHead) (*lossNoted, error) {
	from := h.writer.Head()
	d := events.LogRestored{Frame: from.Frame, Size: from.Size, Era: newEpoch("era"), Reason: a.Reason}
	if common.Frame < from.Frame {
		d.Common = common.Frame
	}
	if lost != nil {
		d.Lost = &events.LostHead{Frame: lost.Frame, Root: lost.Root}
	}
	if n, err := hex.Decode(d.Root[:], []byte(from.Root)); err != nil || n != len(d.Root) {
		return nil, fmt.Errorf("the writer's root %q cannot be read", from.Root)
	}
	body, err := json.Marshal(d)
	if err != nil {
		return nil, err
	}
	said := door.Local{Writer: h.writer}.Ask(ctx, workflow.Command{ID: workflow.Board + "/" + newEpoch("restore") + "/1", Type: "accept-loss", Badge: a.Badge, Basis: events.Keyed, Data: body})
	return &lossNoted{d.Era, common, d.Lost}, said.Err()
}

package backup

import (
	"bufio"
	"bytes"
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"io"

	"packwright/events"
	"packwright/events/proof"
	"packwright/prep"
)

// exported is one event of a log as a JSON line, or the last line:
//
//	{"seq":"12.0","event":{…}}
//	{"end":{"frames":12,"events":40,"root":"…"}}
//
// The event is the log's own line, byte for byte, since its hash is a leaf of
// the tree. What stands in frame headers is left out: it follows from the events.
type exported struct {
	Seq   events.Seq      `json:"seq"`
	Event json.RawMessage `json:"event"`
	End   *ended          `json:"end"`
}

// ended is what all lines come to: a line that is missing is noticed by it.
type ended struct {
	Frames uint64 `json:"frames"`
	Events int64  `json:"events"`
	Root   string `json:"root"` // RFC 6962, hexadecimal
}

// WriteLines writes every event of a floor's log as a JSON line, each frame
// believed only when it agrees with the tree before it, and gives how many.
func WriteLines(ctx context.Context, w io.Writer, log events.Log, floor string) (n int64, err error) {
	chain := proof.Chain{Floor: floor}
	err = log.Scan(ctx, 1, func(seq uint64, frame []byte) error {
		_, lines, err := chain.Take(seq, frame)
		if err != nil {
			return err
		}
		for i, line := range lines {
			b, err := json.Marshal(events.Seq{Frame: seq, Index: i})
			if err != nil {
				return err
			}
			if _, err := fmt.Fprintf(w, "{\"seq\":%s,\"event\":%s}\n", b, line); err != nil {
				return err
			}
			n++
		}
		return nil
	})
	if err != nil {
		return n, err
	}
	b, err := json.Marshal(map[string]ended{"end": {max(chain.Next, 1) - 1, n, proof.Hex(chain.Tree.Root())}})
	if err == nil {
		_, err = fmt.Fprintf(w, "%s\n", b)
	}
	return n, err
}

// maxLine is the longest line that ReadLines takes: a frame of one event.
const maxLine = events.MaxFrame + lineBytes

// ReadLines reads what WriteLines wrote and gives fn the event lines of one frame
// after another. Each can be decoded; whether they are lawful is for those who
// fold them, and whether they are all there is known only when the error is nil.
// Errors: *prep.InputError with its line, fn's and r's.
func ReadLines(r io.Reader, fn func(seq uint64, lines [][]byte) error) error {
	scan := bufio.NewScanner(r)
	scan.Buffer(nil, maxLine)
	scan.Split(wholeLines)
	in := &gatherer{fn: fn, frame: 1}
	for scan.Scan() {
		in.n++
		if err := in.take(scan.Bytes()); err != nil {
			return err
		}
	}
	switch err := scan.Err(); {
	case errors.Is(err, errCutShort), errors.Is(err, bufio.ErrTooLong):
		return atLine(in.n+1, err.Error(), unchanged)
	case err != nil:
		return err
	case !in.ended:
		return atLine(in.n+1, "the last line is missing", unchanged)
	}
	return nil
}

// gatherer puts lines together into frames.
type gatherer struct {
	fn    func(seq uint64, lines [][]byte) error
	n     int // lines read
	frame uint64
	lines [][]byte
	size  int
	tree  proof.Tree
	ended bool
}

func (in *gatherer) take(line []byte) error {
	e, err := parseExported(line)
	switch {
	case err != nil:
		return atLine(in.n, err.Error(), unchanged)
	case in.ended:
		return atLine(in.n, "something follows the last line", unchanged)
	case e.End != nil:
		return in.end(*e.End)
	case e.Seq == events.Seq{Frame: in.frame, Index: len(in.lines)}:
	case len(in.lines) > 0 && e.Seq == events.Seq{Frame: in.frame + 1}:
		if err := in.give(); err != nil {
			return err
		}
	default:
		return atLine(in.n, fmt.Sprintf("event %s cannot follow here", e.Seq), fmt.Sprintf("%d events of frame %d were read; a line is missing or twice there", len(in.lines), in.frame))
	}
	if in.size += len(e.Event) + 1; in.size > events.MaxFrame {
		return atLine(in.n, fmt.Sprintf("frame %d is larger than any frame", in.frame), unchanged)
	}
	in.lines = append(in.lines, e.Event)
	in.tree.Add(e.Event)
	return nil
}

// give hands a whole frame on.
func (in *gatherer) give() error {
	err := in.fn(in.frame, in.lines)
	in.frame, in.lines, in.size = in.frame+1, nil, 0
	return err
}

func (in *gatherer) end(said ended) error {
	in.ended = true
	if len(in.lines) == 0 {
		return atLine(in.n, "there is no event", unchanged)
	}
	if got := (ended{in.frame, in.tree.Size, proof.Hex(in.tree.Root())}); got != said {
		return atLine(in.n, fmt.Sprintf("it says %d events in %d frames with root %.16s; read were %d in %d with root %.16s: a line is missing or was changed",
			said.Events, said.Frames, said.Root, got.Events, got.Frames, got.Root), unchanged)
	}
	return in.give()
}

const unchanged = "take the file that packwright export events wrote, unchanged"

func atLine(n int, what, do string) error { return &prep.InputError{Line: n, What: what, Do: do} }

var errCutShort = errors.New("the line breaks off")

// wholeLines splits at newlines, and refuses a last line without one.
func wholeLines(b []byte, end bool) (int, []byte, error) {
	if i := bytes.IndexByte(b, '\n'); i >= 0 {
		return i + 1, b[:i], nil
	}
	if end && len(b) > 0 {
		return 0, nil, errCutShort
	}
	return 0, nil, nil
}

// parseExported reads one line. Its event's bytes are a copy of what stands there.
func parseExported(line []byte) (e exported, err error) {
	dec := json.NewDecoder(bytes.NewReader(line))
	dec.DisallowUnknownFields()
	if err := dec.Decode(&e); err != nil {
		return e, fmt.Errorf("it is no event of a log: %w", err)
	}
	if dec.InputOffset() != int64(len(line)) {
		return e, errors.New("something follows the event")
	}
	if e.End != nil {
		if e.Event != nil || !e.Seq.IsZero() {
			return e, errors.New("it is an event and the end at once")
		}
		return e, nil
	}
	if _, err := events.Decode(e.Event); err != nil {
		return e, fmt.Errorf("event %s: %w", e.Seq, err)
	}
	return e, nil
}

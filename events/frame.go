package events

import (
	"bytes"
	"fmt"
	"golang.org/x/mod/sumdb/tlog"
)

// Header is the first line of a frame (framehead.go says how it is written).
type Header struct {
	Frame string    // writer process and attempt: unique, so that a lost append is known again
	Floor string    // whose log this is
	Size  int64     // events in the log before this frame
	Root  tlog.Hash // RFC 6962 root over them
	Cells Digest    // all cells after this frame's events, as the decider saw them
	N     int       // events in this frame
}

// EncodeFrame puts a header and event lines (without newlines) together.
func EncodeFrame(h Header, lines [][]byte) ([]byte, error) {
	h.N = len(lines)
	head := h.append(nil)
	size := len(head) + 1
	for _, l := range lines {
		size += len(l) + 1
	}
	b := append(append(make([]byte, 0, size), head...), '\n')
	for _, l := range lines {
		b = append(append(b, l...), '\n')
	}
	return b, nil
}

// SplitFrame is the inverse of EncodeFrame. Errors wrap ErrCorrupt.
func SplitFrame(frame []byte) (Header, [][]byte, error) {
	head, rest, ok := bytes.Cut(frame, []byte{'\n'})
	if !ok {
		return Header{}, nil, fmt.Errorf("%w: a frame without a header line", ErrCorrupt)
	}
	h, err := parseHeader(head)
	if err != nil {
		return Header{}, nil, fmt.Errorf("%w: frame header: %v", ErrCorrupt, err)
	}
	if h.N < 1 || len(rest) == 0 || rest[len(rest)-1] != '\n' {
		return h, nil, fmt.Errorf("%w: frame %s is cut short", ErrCorrupt, h.Frame)
	}
	lines := make([][]byte, 0, min(h.N, 4096))
	for len(rest) > 0 {
		i := bytes.IndexByte(rest, '\n')
		lines = append(lines, rest[:i:i])
		rest = rest[i+1:]
	}
	if len(lines) != h.N {
		return h, nil, fmt.Errorf("%w: frame %s says %d events and holds %d", ErrCorrupt, h.Frame, h.N, len(lines))
	}
	return h, lines, nil
}

// DecodeLines reads the events of the frame at sequence seq.
func DecodeLines(seq uint64, lines [][]byte) ([]Event, error) {
	out := make([]Event, len(lines))
	for i, l := range lines {
		e, err := Decode(l)
		if err != nil {
			return nil, fmt.Errorf("event %d.%d: %w", seq, i, err)
		}
		e.Seq = Seq{seq, i}
		out[i] = e
	}
	return out, nil
}

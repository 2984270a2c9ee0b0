package events

import (
	"bytes"
	"encoding/base64"
	"errors"
	"fmt"
	"strconv"

	json "github.com/goccy/go-json"
	"golang.org/x/mod/sumdb/tlog"
)

// headLine is a header as it stands in a frame. At one event a frame it is a third
// of what the disk holds, so its keys are short, its hashes in base64 without
// padding, and N is left out when it is one. Older frames have the last three keys
// and padding; they are read for ever.
type headLine struct {
	ID    string `json:"id"`
	Of    string `json:"of"`
	At    int64  `json:"at"`
	Root  string `json:"root"`
	Cells string `json:"cells"`
	N     *int   `json:"n"`

	Frame string `json:"frame"`
	Floor string `json:"floor"`
	Size  int64  `json:"size"`
}

// append writes the line, without its newline.
func (h Header) append(b []byte) []byte {
	start := len(b)
	b = text(b, "id", h.Frame)
	b = text(b, "of", h.Floor)
	b = number(b, "at", int(h.Size))
	b = append(base64.RawStdEncoding.AppendEncode(append(b, `,"root":"`...), h.Root[:]), '"')
	b = append(base64.RawStdEncoding.AppendEncode(append(b, `,"cells":"`...), h.Cells.bytes()), '"')
	if h.N != 1 {
		b = strconv.AppendInt(append(b, `,"n":`...), int64(h.N), 10)
	}
	b[start] = '{' // each key brings a comma
	return append(b, '}')
}

// parseHeader is the inverse of append, for older frames too.
func parseHeader(line []byte) (Header, error) {
	var l headLine
	if err := json.Unmarshal(line, &l); err != nil {
		return Header{}, err
	}
	old := l.Frame != "" || l.Floor != "" || l.Size != 0
	if old && (l.ID != "" || l.Of != "" || l.At != 0) {
		return Header{}, errors.New("it is of two ages")
	}
	h := Header{Frame: l.ID + l.Frame, Floor: l.Of + l.Floor, Size: l.At + l.Size, N: 1}
	if l.N != nil {
		h.N = *l.N
	}
	err := errors.Join(readHash(l.Root, h.Root[:]), h.Cells.read(l.Cells))
	return h, err
}

// readHash reads 32 bytes of base64, with padding or without.
func readHash(text string, into []byte) error {
	var b [tlog.HashSize + 1]byte
	raw := bytes.TrimSuffix([]byte(text), []byte{'='})
	if len(raw) != base64.RawStdEncoding.EncodedLen(len(into)) {
		return fmt.Errorf("%q is no hash", text)
	}
	n, err := base64.RawStdEncoding.Strict().Decode(b[:], raw)
	if err != nil || n != len(into) {
		return fmt.Errorf("%q is no hash", text)
	}
	copy(into, b[:])
	return nil
}

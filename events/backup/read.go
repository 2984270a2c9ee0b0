package backup

import (
	"bufio"
	"bytes"
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"errors"
	"fmt"
	"hash"
	"hash/crc32"
	"io"
	"strconv"
	"strings"

	"packwright/events"
	"packwright/events/proof"
	"packwright/prep"
)

// Read reads a backup to its end and gives fn each frame once it is proven; fn
// may be nil, and may keep the bytes. Errors: a *Damage with the first bad place,
// a *prep.InputError for what is no backup or a newer one, fn's, and r's. Only
// when the error is nil were those all the frames there were.
func Read(r io.Reader, fn func(seq uint64, frame []byte) error) (Header, Sums, error) {
	in := &reader{r: bufio.NewReaderSize(r, 64<<10), sum: sha256.New()}
	if err := in.first(); err != nil {
		return in.head, Sums{}, err
	}
	in.chain = proof.Chain{Floor: in.head.Floor}
	for seq := uint64(1); seq <= in.head.To; seq++ {
		frame, err := in.frame(seq)
		if err == nil && fn != nil {
			err = fn(seq, frame)
		}
		if err != nil {
			return in.head, Sums{}, err
		}
	}
	s, err := in.last()
	return in.head, s, err
}

// ReadHeader reads the first line alone. Errors: as Read has them.
func ReadHeader(r io.Reader) (Header, error) {
	in := &reader{r: bufio.NewReaderSize(r, lineBytes), sum: sha256.New()}
	err := in.first()
	return in.head, err
}

// reader takes a backup apart.
type reader struct {
	r     *bufio.Reader
	sum   hash.Hash
	at    int64 // bytes read
	head  Header
	chain proof.Chain
	cells events.Digest
}

// damage is what is wrong, in frame seq, with what began at byte at.
func damage(seq uint64, at int64, format string, args ...any) error {
	return &Damage{seq, at, fmt.Sprintf(format, args...)}
}

// line reads up to a newline, which is left off. The last line is not summed.
func (in *reader) line(seq uint64) (string, error) {
	at := in.at
	b, err := in.r.ReadSlice('\n')
	in.at += int64(len(b))
	switch {
	case errors.Is(err, io.EOF):
		return "", damage(seq, at, "it breaks off")
	case errors.Is(err, bufio.ErrBufferFull), err == nil && len(b) > lineBytes:
		return "", damage(seq, at, "a line of more than %d bytes", lineBytes)
	case err != nil:
		return "", err
	}
	if !bytes.HasPrefix(b, []byte("end ")) {
		in.sum.Write(b)
	}
	return string(b[:len(b)-1]), nil
}

func (in *reader) first() error {
	line, err := in.line(0)
	if err != nil {
		var broken *Damage
		if errors.As(err, &broken) && in.at == 0 {
			return prep.Input("the file is empty", "name a file that packwright backup wrote")
		}
		return err
	}
	rest, ours := strings.CutPrefix(line, first)
	if !ours {
		return prep.Input("the file is no backup", "name a file that packwright backup wrote")
	}
	v, body, _ := strings.Cut(rest, " ")
	if n, err := strconv.Atoi(v); err == nil && v != version && n > 1 {
		return prep.Input("the backup was written by a newer program (format "+v+")", "restore it with that program")
	}
	sum, body, _ := strings.Cut(body, " ")
	if v != version || sum != fmt.Sprintf("%08x", crc32.Checksum([]byte(body), castagnoli)) || strict(body, &in.head) != nil || in.head.From != 1 || in.head.To < 1 || in.head.Floor == "" {
		return damage(0, 0, "its first line cannot be read")
	}
	return nil
}

func strict(body string, v any) error {
	dec := json.NewDecoder(strings.NewReader(body))
	dec.DisallowUnknownFields()
	if err := dec.Decode(v); err != nil {
		return err
	}
	if dec.InputOffset() != int64(len(body)) {
		return errors.New("something follows")
	}
	return nil
}

// frame reads and proves one frame.
func (in *reader) frame(seq uint64) ([]byte, error) {
	at := in.at
	line, err := in.line(seq)
	if err != nil {
		return nil, err
	}
	var n int
	var sum uint32
	if _, err := fmt.Sscanf(line, fmt.Sprintf("frame %d %%d %%x", seq), &n, &sum); err != nil || n < 1 || n > events.MaxFrame ||
		line != fmt.Sprintf("frame %d %d %08x", seq, n, sum) {
		return nil, damage(seq, at, "its line cannot be read")
	}
	frame := make([]byte, n)
	got, err := io.ReadFull(in.r, frame)
	in.at += int64(got)
	switch {
	case errors.Is(err, io.EOF), errors.Is(err, io.ErrUnexpectedEOF):
		return nil, damage(seq, at, "it breaks off after %d of its %d bytes", got, n)
	case err != nil:
		return nil, err
	case crc32.Checksum(frame, castagnoli) != sum:
		return nil, damage(seq, at, "its bytes are not those that were written")
	}
	in.sum.Write(frame)
	h, _, err := in.chain.Take(seq, frame)
	if err != nil {
		return nil, damage(seq, at, "%v", err)
	}
	in.cells = h.Cells
	return frame, nil
}

// last reads the end and compares it with what was read.
func (in *reader) last() (s Sums, err error) {
	at, seq := in.at, in.head.To
	line, err := in.line(seq)
	if err != nil {
		return s, err
	}
	body, ok := strings.CutPrefix(line, "end ")
	if !ok || strict(body, &s) != nil {
		return s, damage(seq, at, "its last line cannot be read")
	}
	want := Sums{in.head.To, in.chain.Tree.Size, proof.Hex(in.chain.Tree.Root()), in.cells, hex.EncodeToString(in.sum.Sum(nil))}
	if s != want {
		return s, damage(seq, at, "it says %d events with root %.16s and sum %.16s; read were %d with root %.16s and sum %.16s",
			s.Events, s.Root, s.SHA256, want.Events, want.Root, want.SHA256)
	}
	if _, err := in.r.ReadByte(); !errors.Is(err, io.EOF) {
		return s, errors.Join(err, damage(seq, in.at, "something follows its last line"))
	}
	return s, nil
}

package proof

import (
	"bufio"
	"bytes"
	"context"
	"crypto/sha256"
	"encoding/base64"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"strings"

	"golang.org/x/mod/sumdb/note"
	"golang.org/x/mod/sumdb/tlog"

	"packwright/events"
)

// Evidence is what a floor shows of its log about one thing: the events it rests
// on, as they stand in the log, and what the floor reads out of them. As a file
// it is lines of JSON that need nothing else to be checked but the public half of
// the floor's key:
//
//	about    which log, about what, made when
//	head     a signed head of the log
//	earlier  a head signed before, and the proof that its log is the beginning of this one
//	answer   a sentence or page that the floor gives, in words and as data
//	event    a raw line of the log, its number, and the proof that the head has it
//	seal     a note over the SHA-256 of each line before, signed with the floor's key
//
// The proofs show that each event is in the log that the head was signed for. The
// seal shows that the file is the one that was made: no line changed, left out,
// put in or moved; [Check] names the first that was.
type Evidence struct {
	Log     string
	About   string
	Made    events.Time
	Head    events.HeadSigned
	Earlier []EarlierHead
	Answers []EvidenceAnswer
	Events  []EvidenceLine
}

// EarlierHead is a head that was signed before, and may stand on paper elsewhere.
type EarlierHead struct {
	Head  events.HeadSigned `json:"head"`
	Proof tlog.TreeProof    `json:"proof"`
}

// EvidenceAnswer is what the floor says: its own words, sealed, not proven.
type EvidenceAnswer struct {
	Name  string          `json:"answer"`
	Text  string          `json:"text"`
	Value json.RawMessage `json:"value,omitempty"`
}

// EvidenceLine is one event as it stands in the log.
type EvidenceLine struct {
	Seq   events.Seq       `json:"event"`
	Leaf  int64            `json:"leaf"` // its number in the log, from 0
	Line  string           `json:"line"`
	Proof tlog.RecordProof `json:"proof"`
}

// The lines of a file that are not above.
type (
	evidenceAbout struct {
		Format int         `json:"evidence"`
		Log    string      `json:"log"`
		About  string      `json:"about"`
		Made   events.Time `json:"made"`
	}
	evidenceHead struct {
		Head  string `json:"signed_head"` // the note
		Frame uint64 `json:"frame"`
	}
	evidenceSeal struct {
		Seal string `json:"seal"`
	}
)

// evidenceFormat grows when the lines change.
const evidenceFormat = 1

// Fill reads a log from its beginning to the frame of v.Head, takes out the events
// that want says yes to, and proves them and the heads of v.Earlier. It reads twice:
// which inner hashes the proofs want is known only when all events are found.
// Errors: events.ErrCorrupt when the log does not have these heads.
func (v *Evidence) Fill(ctx context.Context, log events.Log, want func(*events.Event) bool) error {
	var leaf int64
	var chain Chain
	err := Ahead(ctx, log, 1, func(p Page) error {
		if p.Seq > v.Head.Frame {
			return errEnough
		}
		for i := range p.Events {
			if want(&p.Events[i]) {
				v.Events = append(v.Events, EvidenceLine{Seq: p.Events[i].Seq, Leaf: leaf, Line: string(p.Lines[i])})
			}
			leaf++
		}
		return chain.Turn(p)
	})
	if err != nil && !errors.Is(err, errEnough) {
		return err
	}
	return v.prove(ctx, log)
}

// errEnough ends a reading at the frame wanted.
var errEnough = errors.New("enough")

// prove reads the log a second time, for the hashes alone.
func (v *Evidence) prove(ctx context.Context, log events.Log) error {
	var leaves, older []int64
	for _, e := range v.Events {
		leaves = append(leaves, e.Leaf)
	}
	for _, h := range v.Earlier {
		older = append(older, h.Head.Size)
	}
	g, err := NewGather(v.Head.Size, leaves, older)
	if err != nil {
		return fmt.Errorf("%w: it does not reach the head that was signed: %w", events.ErrCorrupt, err)
	}
	err = log.Scan(ctx, 1, func(seq uint64, frame []byte) error {
		if seq > v.Head.Frame {
			return errEnough
		}
		_, lines, err := events.SplitFrame(frame)
		for _, l := range lines {
			g.Add(l)
		}
		return err
	})
	if err != nil && !errors.Is(err, errEnough) {
		return err
	}
	if !g.Full() || g.Root() != v.Head.Root {
		return fmt.Errorf("%w: up to frame %d it does not have the head that was signed", events.ErrCorrupt, v.Head.Frame)
	}
	return v.take(g)
}

// take takes the proofs out of what was gathered.
func (v *Evidence) take(g *Gather) (err error) {
	for i := range v.Events {
		if v.Events[i].Proof, err = g.Line(v.Events[i].Leaf); err != nil {
			return err
		}
	}
	for i := range v.Earlier {
		h := &v.Earlier[i]
		if h.Proof, err = g.Beginning(h.Head.Size); err != nil {
			return err
		}
		if err := tlog.CheckTree(h.Proof, v.Head.Size, v.Head.Root, h.Head.Size, h.Head.Root); err != nil {
			return fmt.Errorf("%w: the head over %d events that was signed before is none of its: %v", events.ErrCorrupt, h.Head.Size, err)
		}
	}
	return nil
}

// Write seals the evidence with the floor's key and writes the file.
func (v *Evidence) Write(w io.Writer, s note.Signer) error {
	if s.Name() != v.Log {
		return fmt.Errorf("the key of %s does not seal what is of %s", s.Name(), v.Log)
	}
	lines := []any{evidenceAbout{evidenceFormat, v.Log, v.About, v.Made}, evidenceHead{v.Head.Note(), v.Head.Frame}}
	for _, h := range v.Earlier {
		lines = append(lines, h)
	}
	for _, a := range v.Answers {
		lines = append(lines, a)
	}
	for _, e := range v.Events {
		lines = append(lines, e)
	}
	out := bufio.NewWriter(w)
	sums := make([]string, len(lines))
	for i, l := range lines {
		b, err := encodeLine(l)
		if err != nil {
			return err
		}
		sums[i] = lineSum(b)
		if _, err := out.Write(append(b, '\n')); err != nil {
			return err
		}
	}
	seal, err := note.Sign(&note.Note{Text: sealText(v.Log, v.About, sums)}, s)
	if err != nil {
		return fmt.Errorf("seal the evidence: %w", err)
	}
	b, err := encodeLine(evidenceSeal{string(seal)})
	if err != nil {
		return err
	}
	if _, err := out.Write(append(b, '\n')); err != nil {
		return err
	}
	return out.Flush()
}

// encodeLine writes JSON as it is, without escapes that only web pages want.
func encodeLine(v any) ([]byte, error) {
	var b bytes.Buffer
	enc := json.NewEncoder(&b)
	enc.SetEscapeHTML(false)
	if err := enc.Encode(v); err != nil {
		return nil, fmt.Errorf("write the evidence: %w", err)
	}
	return bytes.TrimSuffix(b.Bytes(), []byte{'\n'}), nil
}

// lineSum is what the seal holds of a line.
func lineSum(line []byte) string {
	h := sha256.Sum256(line)
	return base64.StdEncoding.EncodeToString(h[:])
}

// sealText is what a seal signs: the log, what it is about, and the sum of each
// line. The second line begins so that no head can be taken for it.
func sealText(log, about string, sums []string) string {
	return fmt.Sprintf("%s\nevidence about %s\n%s\n", log, about, strings.Join(sums, "\n"))
}

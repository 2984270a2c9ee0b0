package proof

import (
	"bytes"
	"encoding/json"
	"fmt"
	"slices"
	"strings"

	"golang.org/x/mod/sumdb/tlog"

	"packwright/events"
)

// BadLine is the first line of an evidence file that is not as it was sealed.
type BadLine struct {
	Line int // from 1, where it stands, or should
	What string
}

func (e *BadLine) Error() string { return fmt.Sprintf("line %d of the evidence %s", e.Line, e.What) }

// Unwrap gives events.ErrCorrupt.
func (e *BadLine) Unwrap() error { return events.ErrCorrupt }

func bad(line int, format string, args ...any) *BadLine {
	return &BadLine{line, fmt.Sprintf(format, args...)}
}

// Check reads an evidence file and proves it with the public half of the floor's
// key: first the seal and every line's sum, then the head, then each proof. The
// error is a *BadLine, which names the first line that is not as it was.
func Check(file []byte, key string) (*Evidence, error) {
	lines := bytes.Split(bytes.TrimSuffix(file, []byte{'\n'}), []byte{'\n'})
	last := len(lines)
	var seal evidenceSeal
	if json.Unmarshal(lines[last-1], &seal) != nil || seal.Seal == "" {
		return nil, bad(last, "should be the seal: the file is cut short, or something follows it")
	}
	text, err := events.OpenNote(seal.Seal, key)
	if err != nil {
		return nil, bad(last, "is a seal that cannot be believed: %v", err)
	}
	sealed := strings.Split(strings.TrimSuffix(text, "\n"), "\n")
	if len(sealed) < 3 || !strings.HasPrefix(sealed[1], "evidence about ") {
		return nil, bad(last, "is no seal of evidence")
	}
	if wrong := compareSums(lines[:last-1], sealed[2:]); wrong != nil {
		return nil, wrong
	}
	v := &Evidence{}
	for i, l := range lines[:last-1] {
		if wrong := v.takeLine(i, l, key); wrong != nil {
			return nil, wrong
		}
	}
	if v.Log != sealed[0] || "evidence about "+v.About != sealed[1] || v.Head.Log != v.Log {
		return nil, bad(last, "is the seal of something else")
	}
	return v, nil
}

// compareSums finds the first line that is not the one that was sealed, and says
// what became of it.
func compareSums(lines [][]byte, sealed []string) *BadLine {
	sums := make([]string, len(lines))
	for i, l := range lines {
		sums[i] = lineSum(l)
	}
	for i := range max(len(sums), len(sealed)) {
		switch {
		case i < len(sums) && i < len(sealed) && sums[i] == sealed[i]:
			continue
		case i >= len(sealed):
			return bad(i+1, "was put in: %d were sealed", len(sealed))
		case i >= len(sums):
			return bad(i+1, "was left out: %d were sealed", len(sealed))
		case slices.Contains(sums[:i], sums[i]):
			return bad(i+1, "was put in a second time")
		case !slices.Contains(sealed, sums[i]) && !slices.Contains(sums, sealed[i]):
			return bad(i+1, "was changed")
		case !slices.Contains(sums, sealed[i]):
			return bad(i+1, "was left out")
		case !slices.Contains(sealed, sums[i]):
			return bad(i+1, "was put in")
		}
		return bad(i+1, "was moved here from line %d", slices.Index(sealed, sums[i])+1)
	}
	return nil
}

// takeLine reads one line whose sum is right, and proves what it says.
func (v *Evidence) takeLine(i int, line []byte, key string) *BadLine {
	switch i {
	case 0:
		var a evidenceAbout
		if err := json.Unmarshal(line, &a); err != nil || a.Format == 0 {
			return bad(1, "does not say what this is")
		}
		if a.Format > evidenceFormat {
			return bad(1, "is of format %d; this program knows %d", a.Format, evidenceFormat)
		}
		v.Log, v.About, v.Made = a.Log, a.About, a.Made
		return nil
	case 1:
		var h evidenceHead
		if err := json.Unmarshal(line, &h); err != nil {
			return bad(2, "holds no signed head")
		}
		head, err := events.ParseHead(h.Head, key)
		if err != nil {
			return bad(2, "holds a head that cannot be believed: %v", err)
		}
		v.Head = head
		v.Head.Frame = h.Frame
		return nil
	}
	return v.takeProven(i+1, line, key)
}

// takeProven reads a line after the head.
func (v *Evidence) takeProven(n int, line []byte, key string) *BadLine {
	var kind struct {
		Head   json.RawMessage `json:"head"`
		Answer *string         `json:"answer"`
		Event  *events.Seq     `json:"event"`
	}
	if err := json.Unmarshal(line, &kind); err != nil {
		return bad(n, "cannot be read: %v", err)
	}
	switch {
	case kind.Event != nil:
		var e EvidenceLine
		if err := json.Unmarshal(line, &e); err != nil {
			return bad(n, "cannot be read: %v", err)
		}
		return v.takeEvent(n, e)
	case kind.Answer != nil:
		var a EvidenceAnswer
		if err := json.Unmarshal(line, &a); err != nil {
			return bad(n, "cannot be read: %v", err)
		}
		v.Answers = append(v.Answers, a)
		return nil
	case kind.Head != nil:
		var h EarlierHead
		if err := json.Unmarshal(line, &h); err != nil {
			return bad(n, "cannot be read: %v", err)
		}
		if err := h.Head.Verify(key); err != nil || h.Head.Log != v.Head.Log {
			return bad(n, "holds an earlier head that cannot be believed: %v", err)
		}
		if err := checkTree(h, v.Head); err != nil {
			return bad(n, "holds an earlier head that this log does not lead on from: %v", err)
		}
		v.Earlier = append(v.Earlier, h)
		return nil
	}
	return bad(n, "is of no known kind")
}

func checkTree(h EarlierHead, head events.HeadSigned) error {
	if h.Head.Size < 1 || h.Head.Size > head.Size {
		return fmt.Errorf("%d events of %d", h.Head.Size, head.Size)
	}
	return tlog.CheckTree(h.Proof, head.Size, head.Root, h.Head.Size, h.Head.Root)
}

func (v *Evidence) takeEvent(n int, e EvidenceLine) *BadLine {
	if k := len(v.Events); k > 0 && v.Events[k-1].Leaf >= e.Leaf {
		return bad(n, "is event %s, out of order", e.Seq)
	}
	if e.Leaf < 0 || e.Leaf >= v.Head.Size {
		return bad(n, "is event %s, which the head does not reach", e.Seq)
	}
	if err := tlog.CheckRecord(e.Proof, v.Head.Size, v.Head.Root, e.Leaf, tlog.RecordHash([]byte(e.Line))); err != nil {
		return bad(n, "is event %s, which is not in the log that was signed: %v", e.Seq, err)
	}
	if _, err := events.Decode([]byte(e.Line)); err != nil {
		return bad(n, "is event %s, which cannot be read: %v", e.Seq, err)
	}
	v.Events = append(v.Events, e)
	return nil
}

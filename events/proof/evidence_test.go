package proof_test

import (
	"bytes"
	"errors"
	"fmt"
	"slices"
	"strings"
	"testing"

	"golang.org/x/mod/sumdb/note"

	"packwright/events"
	"packwright/events/memlog"
	"packwright/events/proof"
)

// These keys sign in tests. They are worth nothing: they stand here for all to read.
const (
	testKey   = "PRIVATE+KEY+packwright/lantern-yard+f303e8c0+Aboh/9ZYYba0KHeukPMzYCm8Iajq+qIq2kwg46aMpPyj"
	testVKey  = "packwright/lantern-yard+f303e8c0+AVp/TJA8ONpTiawcKQAuMGYHNpUJ1CWEABqrrHYamcZb"
	otherVKey = "PeterNeumann+c74f20a3+ARpc2QcUPDhMQegwxbzhKqiBfsVkmqq/LDE4izWy10TW" // of the example in package note
)

func signer(t testing.TB) note.Signer {
	t.Helper()
	s, err := note.NewSigner(testKey)
	if err != nil {
		t.Fatal(err)
	}
	return s
}

// headAfter signs the head of a log after a frame of three events.
func headAfter(t testing.TB, frames [][]byte, n int) events.HeadSigned {
	t.Helper()
	var c proof.Chain
	for i := range n {
		if _, _, err := c.Take(uint64(i+1), frames[i]); err != nil {
			t.Fatal(err)
		}
	}
	h, err := events.SignHead(signer(t), uint64(n), c.Tree.Size, c.Tree.Root())
	if err != nil {
		t.Fatal(err)
	}
	return h
}

// shown is evidence about tote T-01: one event of each of eight frames, with two
// earlier heads and two answers.
func shown(t testing.TB) *proof.Evidence {
	t.Helper()
	frames := written(t, 9)
	v := &proof.Evidence{Log: "packwright/lantern-yard", About: "CL-07", Head: headAfter(t, frames, 8),
		Earlier: []proof.EarlierHead{{Head: headAfter(t, frames, 2)}, {Head: headAfter(t, frames, 5)}},
		Answers: []proof.EvidenceAnswer{{Name: "claim", Text: "it left <complete> & sealed", Value: []byte(`{"n":1}`)}, {Name: "trace", Text: "set of 1"}}}
	err := v.Fill(t.Context(), memlog.New(frames...), func(e *events.Event) bool {
		return e.Data.(*events.ToteCleared).Tote == "T-01"
	})
	if err != nil {
		t.Fatal(err)
	}
	return v
}

func asFile(t testing.TB, v *proof.Evidence) []byte {
	t.Helper()
	var b bytes.Buffer
	if err := v.Write(&b, signer(t)); err != nil {
		t.Fatal(err)
	}
	return b.Bytes()
}

func TestEvidence(t *testing.T) {
	v := shown(t)
	file := asFile(t, v)
	got, err := proof.Check(file, testVKey)
	if err != nil {
		t.Fatal(err)
	}
	if len(got.Events) != 8 || got.Events[3].Seq != (events.Seq{Frame: 4, Index: 1}) || got.Events[3].Leaf != 10 || got.About != "CL-07" ||
		len(got.Earlier) != 2 || got.Head.Size != 24 || got.Head.Frame != 8 || got.Answers[0].Text != v.Answers[0].Text {
		t.Errorf("%+v", got)
	}
	if !bytes.Equal(asFile(t, got), file) {
		t.Error("written again it is another file")
	}
	if _, err := proof.Check(file, otherVKey); !errors.Is(err, events.ErrCorrupt) || !strings.Contains(err.Error(), "line 15") {
		t.Errorf("another floor's key: %v", err)
	}
}

// TestEvidenceDamaged changes, drops, moves, repeats and puts in each line of a
// file in turn; each time the line is named.
func TestEvidenceDamaged(t *testing.T) {
	good := bytes.SplitAfter(asFile(t, shown(t)), []byte{'\n'})
	good = good[:len(good)-1] // what follows the last newline
	n := len(good)
	check := func(what string, lines [][]byte, line int) {
		t.Helper()
		_, err := proof.Check(bytes.Join(lines, nil), testVKey)
		var b *proof.BadLine
		if !errors.As(err, &b) || b.Line != line {
			t.Errorf("%s: %v, want line %d named", what, err, line)
		}
	}
	foreign := []byte(`{"event":"3.0","leaf":6,"line":"{}","proof":[]}` + "\n")
	for i := range n {
		changed := slices.Clone(good)
		changed[i] = slices.Clone(changed[i])
		changed[i][len(changed[i])/2] ^= 1
		check(fmt.Sprintf("line %d changed", i+1), changed, i+1)
		if i == n-1 { // the seal: what stands before it is then no seal
			check("the seal dropped", good[:i], i)
			check("something after the seal", append(slices.Clone(good), foreign), n+1)
			continue
		}
		check(fmt.Sprintf("line %d dropped", i+1), slices.Delete(slices.Clone(good), i, i+1), i+1)
		check(fmt.Sprintf("a line put in before %d", i+1), slices.Insert(slices.Clone(good), i, foreign), i+1)
		check(fmt.Sprintf("line %d twice", i+1), slices.Insert(slices.Clone(good), i, good[i]), i+2)
		if i < n-2 {
			moved := slices.Clone(good)
			moved[i], moved[i+1] = moved[i+1], moved[i]
			check(fmt.Sprintf("lines %d and %d exchanged", i+1, i+2), moved, i+1)
		}
	}
	for what, file := range map[string][]byte{"nothing": nil, "a newline": []byte("\n"), "not JSON": []byte("x")} {
		var b *proof.BadLine
		if _, err := proof.Check(file, testVKey); !errors.As(err, &b) {
			t.Errorf("%s: %v", what, err)
		}
	}
}

// TestEvidenceResealed is a floor that lies with its own key: the seal is right,
// and the head it once signed finds it out.
func TestEvidenceResealed(t *testing.T) {
	line := func(s string) string { return strings.Replace(s, "T-01", "T-02", 1) }
	for what, c := range map[string]struct {
		change func(*proof.Evidence)
		line   int
	}{
		"an event changed":           {func(v *proof.Evidence) { v.Events[2].Line = line(v.Events[2].Line) }, 9},
		"an event invented":          {func(v *proof.Evidence) { v.Events = append(v.Events, v.Events[7]); v.Events[8].Leaf++ }, 15},
		"events exchanged":           {func(v *proof.Evidence) { v.Events[2], v.Events[3] = v.Events[3], v.Events[2] }, 10},
		"an event beyond the head":   {func(v *proof.Evidence) { v.Events[7].Leaf = 24 }, 14},
		"an event before the first":  {func(v *proof.Evidence) { v.Events[0].Leaf = -1 }, 7},
		"another head":               {func(v *proof.Evidence) { v.Head.Root[0]++ }, 2},
		"an older head":              {func(v *proof.Evidence) { v.Head = v.Earlier[1].Head }, 3},
		"an earlier head exchanged":  {func(v *proof.Evidence) { v.Earlier[0].Head = v.Earlier[1].Head }, 3},
		"an earlier head of nothing": {func(v *proof.Evidence) { v.Earlier[0].Head.Size = 0 }, 3},
	} {
		v := shown(t)
		c.change(v)
		_, err := proof.Check(asFile(t, v), testVKey)
		var b *proof.BadLine
		if !errors.As(err, &b) || b.Line != c.line {
			t.Errorf("%s: %v, want line %d named", what, err, c.line)
		}
	}
}

// TestEvidenceOfAnother: evidence cannot be made of a log that does not have the heads.
func TestEvidenceOfAnother(t *testing.T) {
	frames := written(t, 9)
	all := func(*events.Event) bool { return true }
	v := &proof.Evidence{Log: "packwright/lantern-yard", Head: headAfter(t, frames, 8)}
	if err := v.Fill(t.Context(), memlog.New(frames[:7]...), all); !errors.Is(err, events.ErrCorrupt) {
		t.Errorf("a log that ends before: %v", err)
	}
	v = &proof.Evidence{Log: "packwright/lantern-yard", Head: headAfter(t, frames, 8), Earlier: []proof.EarlierHead{{Head: headAfter(t, frames, 3)}}}
	v.Earlier[0].Head.Root[5]++
	if err := v.Fill(t.Context(), memlog.New(frames...), all); !errors.Is(err, events.ErrCorrupt) {
		t.Errorf("an earlier head of another log: %v", err)
	}
	v.Log = "packwright/other"
	if err := v.Write(&bytes.Buffer{}, signer(t)); err == nil {
		t.Error("sealed with another floor's key")
	}
}

// FuzzCheck feeds any bytes: either a *BadLine or evidence whose every line was sealed.
func FuzzCheck(f *testing.F) {
	file := asFile(f, shown(f))
	f.Add(file)
	f.Add(bytes.Replace(file, []byte("T-01"), []byte("T-09"), 1))
	f.Add([]byte(`{"seal":"x"}`))
	f.Fuzz(func(t *testing.T, b []byte) {
		_, err := proof.Check(b, testVKey)
		var bad *proof.BadLine
		if err != nil && !errors.As(err, &bad) {
			t.Fatal(err)
		}
		if err == nil && !bytes.Equal(bytes.TrimSuffix(b, []byte{'\n'}), bytes.TrimSuffix(file, []byte{'\n'})) {
			t.Fatalf("another file passes: %q", b)
		}
	})
}

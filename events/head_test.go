package events_test

import (
	"errors"
	"strings"
	"testing"

	"golang.org/x/mod/sumdb/note"
	"golang.org/x/mod/sumdb/tlog"

	"packwright/events"
)

// testKey signs heads in tests. It is worth nothing: it stands here for all to read.
const (
	testKey  = "PRIVATE+KEY+packwright/lantern-yard+f303e8c0+Aboh/9ZYYba0KHeukPMzYCm8Iajq+qIq2kwg46aMpPyj"
	testVKey = "packwright/lantern-yard+f303e8c0+AVp/TJA8ONpTiawcKQAuMGYHNpUJ1CWEABqrrHYamcZb"
)

// TestPublishedNote opens the note that golang.org/x/mod/sumdb/note (BSD licence)
// gives as its example, example_test.go, with the key it gives.
func TestPublishedNote(t *testing.T) {
	const (
		key    = "PeterNeumann+c74f20a3+ARpc2QcUPDhMQegwxbzhKqiBfsVkmqq/LDE4izWy10TW"
		text   = "If you think cryptography is the answer to your problem,\nthen you don't know what your problem is.\n"
		signed = text + "\n— PeterNeumann x08go/ZJkuBS9UG/SffcvIAQxVBtiFupLLr8pAcElZInNIuGUgYN1FFYC2pZSNXgKvqfqdngotpRZb6KE6RyyBwJnAM=\n"
	)
	got, err := events.OpenNote(signed, key)
	if err != nil || got != text {
		t.Errorf("%q, %v", got, err)
	}
	if _, err := events.OpenNote(strings.Replace(signed, "answer", "Answer", 1), key); !errors.Is(err, events.ErrUnsigned) {
		t.Errorf("a changed note: %v", err)
	}
	if _, err := events.OpenNote(signed, testVKey); !errors.Is(err, events.ErrUnsigned) {
		t.Errorf("another key: %v", err)
	}
	if _, err := events.ParseHead(signed, key); !errors.Is(err, events.ErrUnsigned) {
		t.Errorf("a signed note that is no head: %v", err)
	}
}

func TestHead(t *testing.T) {
	s, err := note.NewSigner(testKey)
	if err != nil {
		t.Fatal(err)
	}
	root := tlog.RecordHash([]byte("L123456"))
	h, err := events.SignHead(s, 612, 640, root)
	if err != nil {
		t.Fatal(err)
	}
	want := "packwright/lantern-yard\n640\nOVqgZKpMKfcBCs/j8l25SFu9S5GJe2rXrVR2OSUrTVY=\n\n— packwright/lantern-yard "
	if !strings.HasPrefix(h.Note(), want) {
		t.Errorf("%q does not begin as %q", h.Note(), want)
	}
	back, err := events.ParseHead(h.Note(), testVKey)
	if back.Frame = 612; err != nil || back != h {
		t.Errorf("%+v came back as %+v, %v", h, back, err)
	}
	for what, change := range map[string]func(*events.HeadSigned){
		"the log": func(h *events.HeadSigned) { h.Log = "packwright/other" }, "the size": func(h *events.HeadSigned) { h.Size++ },
		"the root": func(h *events.HeadSigned) { h.Root[31]++ }, "the signature": func(h *events.HeadSigned) { h.Signature = "8wPowA==" },
	} {
		x := h
		change(&x)
		if err := x.Verify(testVKey); !errors.Is(err, events.ErrUnsigned) {
			t.Errorf("%s changed: %v", what, err)
		}
	}
	if err := h.Verify("packwright/lantern-yard+00000000+AVp/"); !errors.Is(err, events.ErrUnsigned) {
		t.Errorf("no key at all: %v", err)
	}
	if name, err := events.KeyName(testVKey); err != nil || name != events.LogName("lantern-yard") {
		t.Errorf("%q, %v", name, err)
	}
}

// TestHeadsThatAreNone are signed notes, but not of the form of a head.
func TestHeadsThatAreNone(t *testing.T) {
	s, err := note.NewSigner(testKey)
	if err != nil {
		t.Fatal(err)
	}
	root := tlog.Hash{}.String()
	for _, text := range []string{"packwright/lantern-yard\n7\n", "packwright/lantern-yard\n07\n" + root + "\n", "packwright/lantern-yard\n-1\n" + root + "\n",
		"packwright/lantern-yard\n7\nAAAA\n", "packwright/lantern-yard\n7\n" + root + "\nmore\n", "packwright/lantern-yard\nevidence about CL-01\n" + root + "\n"} {
		signed, err := note.Sign(&note.Note{Text: text}, s)
		if err != nil {
			t.Fatal(err)
		}
		if h, err := events.ParseHead(string(signed), testVKey); !errors.Is(err, events.ErrUnsigned) {
			t.Errorf("%q is taken for %+v", text, h)
		}
	}
}

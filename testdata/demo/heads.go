package demo

import (
	"encoding/hex"
	"time"

	"golang.org/x/mod/sumdb/note"
	"golang.org/x/mod/sumdb/tlog"

	"packwright/events"
)

// Key signs the heads of the demo's log, and nothing else. It is WORTHLESS: it
// stands here for all to read, so that the day comes out the same byte for byte
// wherever it is played. A floor of one's own gets its key from packwright init.
const Key = "PRIVATE+KEY+packwright/lantern-yard+f303e8c0+Aboh/9ZYYba0KHeukPMzYCm8Iajq+qIq2kwg46aMpPyj"

// PublicKey is the other half, by which the demo's heads are checked.
const PublicKey = "packwright/lantern-yard+f303e8c0+AVp/TJA8ONpTiawcKQAuMGYHNpUJ1CWEABqrrHYamcZb"

// signHead signs the head that the log then has, as a hub does after a truck has
// left and when a day is over. No badge gives it.
func (x *day) signHead(t time.Time) {
	a := x.do(t, who{station: "BOARD"}, "sign-head", nil)
	a.Basis = events.Keyed
	a.Head = func(h Head) map[string]any {
		s, err := note.NewSigner(Key)
		if err != nil {
			panic(err) // the constant above
		}
		var root tlog.Hash
		if _, err := hex.Decode(root[:], []byte(h.Root)); err != nil {
			panic(err) // no log's root
		}
		head, err := events.SignHead(s, h.Seq.Frame, h.Size, root)
		if err != nil {
			panic(err)
		}
		return d{"log": head.Log, "frame": head.Frame, "size": head.Size, "root": head.Root, "signature": head.Signature}
	}
}

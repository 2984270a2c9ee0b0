package floors

import (
	"golang.org/x/mod/sumdb/note"

	"packwright/events"
	"packwright/workflow"
)

// These sign the heads of random floors, and nothing else. They are WORTHLESS: they
// stand here for all to read, so that a seed gives the same log everywhere.
const (
	privateKey = "PRIVATE+KEY+packwright/random+c6898a6d+AUt0nutqLgsdgzScRCLF40O1bvJFfSkHOtf0X5xEfh6y"
	publicKey  = "packwright/random+c6898a6d+AUF9HFbTks3+zKSmAk9dEQajnDEx8sDRC/WtJO/dDRq1"
)

// signHead has the newest head kept, as a hub does after a truck has left and when
// a day is over.
func (d *Day) signHead() {
	s, err := note.NewSigner(privateKey)
	if err != nil {
		panic(err) // the constant above
	}
	var head events.HeadSigned
	d.door.Look(func(f *workflow.Floor) {
		if frame, size, root, ok := f.Newest(); ok {
			head, err = events.SignHead(s, frame, size, root)
		}
	})
	if err != nil {
		panic(err)
	}
	if head.Size > 0 {
		d.atOnce(&act{station: d.stations[workflow.Board], typ: "sign-head",
			data: kv("log", head.Log, "frame", head.Frame, "size", head.Size, "root", head.Root, "signature", head.Signature)})
	}
}

// Package backup keeps a floor's log in one file: the frames as they are, each
// with its sum, between a line that says whose they are and a line that says
// what they come to.
//
// # Format
//
// Lines end with a newline; all but the bytes of frames is ASCII.
//
//	packwright backup 1 5d21f0c9 {"floor":"yard","from":1,"to":42,"taken":"…","currency":{…}}
//	frame 1 812 9f3c01aa
//	…the 812 bytes of frame 1, header line and event lines…
//	frame 2 1033 00d1e6b4
//	…
//	end {"frames":42,"events":96,"root":"…","cells":"…","sha256":"…"}
//
// A frame's line holds its sequence, its length in bytes and the CRC-32C of its
// bytes in hexadecimal; the first line that of its JSON. The last line's sha256 is over every byte before that
// line; root is the RFC 6962 root over all event lines, cells the digest in the
// last frame's header. Nothing follows it. From is 1: a backup is whole. Frames
// end with newlines, so that the file can be read with a pager and searched.
//
// # What it proves
//
// [Read] believes nothing else than what agrees with itself: the sums, the chain
// of tree heads from frame header to frame header, and the last line. The sum of
// each frame is there so that damage is named where it is, and not at the frame
// after it, whose header would be the first to disagree. Whether the events are
// lawful is for those who fold them: [Log] is a backup as a log to be read.
//
// Somebody who writes a whole other log into such a file, sums and all, is found
// out by the signed heads and by the benches, not here.
package backup

import (
	"errors"
	"fmt"
	"hash/crc32"

	"packwright/events"
	"packwright/prep"
)

// Header is what the first line says.
type Header struct {
	Floor    string        `json:"floor"`
	From     uint64        `json:"from"` // 1
	To       uint64        `json:"to"`   // the last frame
	Taken    events.Time   `json:"taken"`
	Currency prep.Currency `json:"currency"`
}

// Sums is what the last line says.
type Sums struct {
	Frames uint64        `json:"frames"`
	Events int64         `json:"events"`
	Root   string        `json:"root"` // RFC 6962, hexadecimal
	Cells  events.Digest `json:"cells"`
	SHA256 string        `json:"sha256"` // of all bytes before the line, hexadecimal
}

// Bounds and words of the format.
const (
	first     = "packwright backup "
	version   = "1"
	lineBytes = 4 << 10 // longest line that is not a frame's own
)

var castagnoli = crc32.MakeTable(crc32.Castagnoli)

// ErrDamaged: the file is no whole backup. It comes as a *Damage, which wraps
// events.ErrCorrupt too.
var ErrDamaged = errors.New("the backup is damaged")

// Damage is the first bad place of a backup.
type Damage struct {
	Frame uint64 // the first frame that is not proven; 0: the first line
	At    int64  // byte, from 0, at which its line, or what is wrong, begins
	What  string
}

// Error names the place.
func (d *Damage) Error() string {
	where := fmt.Sprintf("at byte %d", d.At)
	if d.Frame > 0 {
		where = fmt.Sprintf("at frame %d, byte %d", d.Frame, d.At)
	}
	return fmt.Sprintf("%v %s: %s", ErrDamaged, where, d.What)
}

// Unwrap gives ErrDamaged and events.ErrCorrupt.
func (d *Damage) Unwrap() []error { return []error{ErrDamaged, events.ErrCorrupt} }

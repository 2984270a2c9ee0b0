package events

import "golang.org/x/mod/sumdb/tlog"

// LogRestored is the seam where the owner let the log go on although frames that
// somebody has seen are lost: an older copy was put back. Both heads are kept:
// the one it goes on from, and the newest of those that are lost, as far as
// anybody knows it. From here on answers name the era, so that a bench which
// remembers a lost head is told from one that would be a witness against this log.
type LogRestored struct {
	Frame  uint64    `json:"frame"` // the head it goes on from
	Size   int64     `json:"size"`
	Root   tlog.Hash `json:"root"`
	Common uint64    `json:"common,omitempty"` // last frame that the lost log had too; 0: Frame
	Lost   *LostHead `json:"lost,omitempty"`   // nil: nobody knows one
	Era    string    `json:"era"`              // names what begins here; the first era has no name
	Reason string    `json:"reason"`
}

// LostHead is a head of which only a trace outside the log is left.
type LostHead struct {
	Frame uint64 `json:"frame"`
	Root  string `json:"root"` // as many hexadecimal signs as were noted, at least 16
}

// Since gives the last frame that the lost log had too.
func (d *LogRestored) Since() uint64 {
	if d.Common > 0 {
		return d.Common
	}
	return d.Frame
}

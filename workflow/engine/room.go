package engine

import (
	"time"

	"packwright/workflow"
)

// room watches the disk: below lowBytes or lowPart free no new work is begun,
// below half of that nothing is taken.
type room struct {
	asked       time.Time
	free, total uint64
}

const (
	lowBytes = 1 << 30
	lowPart  = 50 // one part in fifty: 2 %
)

// Low gives below how many free bytes, on a disk of total bytes, no new work is
// begun; below half of that no command is taken at all.
func Low(total uint64) uint64 { return max(uint64(lowBytes), total/lowPart) }

// refuse gives E-SYS-03 when a command may not be taken for want of room. The
// disk is asked once a second at most; when it cannot be asked nothing is refused.
func (r *room) refuse(free func() (uint64, uint64, error), command string, now time.Time) *workflow.Refusal {
	if free == nil {
		return nil
	}
	if d := now.Sub(r.asked); d < 0 || d >= time.Second || r.asked.IsZero() {
		var err error
		if r.free, r.total, err = free(); err != nil {
			return nil
		}
		r.asked = now
	}
	low := Low(r.total)
	if r.free < low/2 || r.free < low && workflow.BeginsWork(command) {
		return workflow.DiskFull()
	}
	return nil
}

// Package logtest holds the suite that every [events.Log] passes. It stands
// beside the contract: what the interface promises in words is tried here, one
// promise a subtest, on whatever log is handed in.
//
// The suite plays the second writer by appending through the same log with an
// expectation of its own: to the first writer that is the same as an append
// from elsewhere.
package logtest

import (
	"bytes"
	"context"
	"fmt"
	"testing"
	"time"

	"packwright/events"
)

// Open gives an empty log and a way to close it and open what it has kept.
// The suite closes neither: Open arranges that with t.Cleanup.
type Open func(t *testing.T) (log events.Log, reopen func() events.Log)

// Run tries every promise of [events.Log], each on a fresh log.
func Run(t *testing.T, open Open) {
	for _, promise := range promises {
		t.Run(promise.name, func(t *testing.T) {
			ctx, cancel := context.WithTimeout(t.Context(), time.Minute)
			defer cancel()
			log, reopen := open(t)
			promise.try(&bench{T: t, ctx: ctx, log: log, reopen: reopen})
		})
	}
}

var promises = []struct {
	name string
	try  func(*bench)
}{
	{"empty", tryEmpty},
	{"sequences without a gap", tryGapless},
	{"bytes unchanged", tryBytes},
	{"same bytes again", tryResend},
	{"other bytes at a taken place", tryFenced},
	{"intruder", tryIntruder},
	{"expectation ahead of the log", tryAhead},
	{"two writers, one place", tryRace},
	{"too large", tryTooLarge},
	{"not found", tryNotFound},
	{"cancelled append", tryCancelledAppend},
	{"scan from and to", tryScan},
	{"scan ends at the last of its start", tryScanBound},
	{"scan stops on error", tryScanError},
	{"scan cancelled", tryScanCancel},
	{"follow while appends go on", tryFollowLive},
	{"follow from the middle and from ahead", tryFollowFrom},
	{"follow large frames", tryFollowLarge},
	{"follow stops on error", tryFollowError},
	{"follow cancelled", tryFollowCancel},
	{"many readers", tryManyReaders},
	{"reopen keeps all", tryReopen},
	{"many frames", tryMany},
}

// bench is one log under test, with short words for what tests do to it.
type bench struct {
	*testing.T
	ctx    context.Context
	log    events.Log
	reopen func() events.Log
}

// frame gives a frame that tells its place and differs by name.
func frame(name string, n int) []byte { return fmt.Appendf(nil, "%s frame %d\n", name, n) }

// fill appends frames 1..n of this name to an empty log.
func (b *bench) fill(name string, n int) {
	b.Helper()
	for i := range n {
		b.append(uint64(i), frame(name, i+1))
	}
}

func (b *bench) append(after uint64, f []byte) {
	b.Helper()
	if err := b.log.Append(b.ctx, after, f); err != nil {
		b.Fatalf("append after %d: %v", after, err)
	}
}

func (b *bench) wantLast(want uint64) {
	b.Helper()
	got, err := b.log.Last(b.ctx)
	if err != nil || got != want {
		b.Fatalf("last = %d, %v; want %d", got, err, want)
	}
}

func (b *bench) wantFrame(seq uint64, want []byte) {
	b.Helper()
	got, err := b.log.Read(b.ctx, seq)
	if err != nil {
		b.Fatalf("read %d: %v", seq, err)
	}
	if !bytes.Equal(got, want) {
		b.Fatalf("frame %d: got %d bytes %.60q, want %d bytes %.60q", seq, len(got), got, len(want), want)
	}
}

// wantFrames scans the whole log and compares it with frames 1..n of this name.
func (b *bench) wantFrames(name string, n int) {
	b.Helper()
	seen := 0
	err := b.log.Scan(b.ctx, 1, func(seq uint64, f []byte) error {
		seen++
		if seq != uint64(seen) || !bytes.Equal(f, frame(name, seen)) {
			return fmt.Errorf("place %d: seq %d, %.60q", seen, seq, f)
		}
		return nil
	})
	if err != nil || seen != n {
		b.Fatalf("scan saw %d frames, %v; want %d", seen, err, n)
	}
}

package main

import (
	"runtime"
	"testing"

	"packwright/audit/follow"
	"packwright/events/memlog"
	"packwright/testdata/floors"
)

// What verify may hold an event at most, beyond what it holds for an empty log, on a
// floor that seals and sends what it packs: the auditor's books, and the laws' own
// memory of marks, cartons, lots and loads.
const (
	booksAnEvent = 21.0 // bytes; 18.3 measured
	lawsAnEvent  = 7.0  // bytes; 5.8 measured
)

// TestVerifyMemory: what a verification holds grows with what the floor has done, by
// so much and no more, and not with what it read.
func TestVerifyMemory(t *testing.T) {
	const some, all = 40_000, 160_000
	log := memlog.New()
	if _, _, err := floors.WriteLog(t.Context(), log, 1, all, 32); err != nil {
		t.Fatal(err)
	}
	books := growth(t, log, some, follow.New())
	watched := follow.New()
	watched.WatchLaws()
	laws := growth(t, log, some, watched) - books
	t.Logf("from %d events on: books %.1f B an event, laws %.1f B", some, books, laws)
	if books > booksAnEvent || laws > lawsAnEvent {
		t.Errorf("an event costs %.1f B of books and %.1f B of laws; %.0f and %.0f are stated", books, laws, booksAnEvent, lawsAnEvent)
	}
}

// growth reads a log to its end and gives by how many bytes an event what is live has
// grown since so many events.
func growth(t *testing.T, log *memlog.Log, since int64, r *follow.Follower) float64 {
	t.Helper()
	var size, then int64
	err := log.Scan(t.Context(), 1, func(seq uint64, frame []byte) error {
		_, err := r.Take(seq, frame)
		if size == 0 && r.Checkpoint().Size >= since {
			size, then = r.Checkpoint().Size, liveHeap()
		}
		return err
	})
	if err != nil {
		t.Fatal(err)
	}
	per := float64(liveHeap()-then) / float64(r.Checkpoint().Size-size)
	runtime.KeepAlive(r)
	runtime.KeepAlive(log)
	return per
}

// liveHeap gives the bytes that are still reachable.
func liveHeap() int64 {
	runtime.GC()
	runtime.GC() // what the first one's finalizers let go
	var m runtime.MemStats
	runtime.ReadMemStats(&m)
	return int64(m.HeapAlloc)
}

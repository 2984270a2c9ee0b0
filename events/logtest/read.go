package logtest

import (
	"context"
	"errors"
	"fmt"
	"sync"

	"packwright/events"
)

var errEnough = errors.New("the reader has had enough")

func tryNotFound(b *bench) {
	b.fill("a", 2)
	for _, seq := range []uint64{0, 3, 1 << 40} {
		if _, err := b.log.Read(b.ctx, seq); !errors.Is(err, events.ErrNotFound) {
			b.Fatalf("read %d of 2: %v, want ErrNotFound", seq, err)
		}
	}
}

func tryScan(b *bench) {
	b.fill("a", 9)
	for _, from := range []uint64{0, 1, 2, 5, 9, 10, 1 << 40} {
		want := max(from, 1)
		err := b.log.Scan(b.ctx, from, func(seq uint64, f []byte) error {
			if seq != want {
				return fmt.Errorf("seq %d, want %d", seq, want)
			}
			want++
			return nil
		})
		if err != nil || (from <= 9 && want != 10) || (from > 9 && want != from) {
			b.Fatalf("scan from %d went to %d: %v", from, want-1, err)
		}
	}
}

// tryScanBound appends from within the scan: a scan that took those frames too
// would never end.
func tryScanBound(b *bench) {
	b.fill("a", 5)
	seen := uint64(0)
	err := b.log.Scan(b.ctx, 1, func(seq uint64, f []byte) error {
		seen = seq
		return b.log.Append(b.ctx, seq+4, frame("a", int(seq)+5))
	})
	if err != nil || seen != 5 {
		b.Fatalf("scan of 5 went to %d: %v", seen, err)
	}
	b.wantLast(10)
}

func tryScanError(b *bench) {
	b.fill("a", 5)
	calls := 0
	err := b.log.Scan(b.ctx, 1, func(seq uint64, f []byte) error {
		calls++
		if seq == 3 {
			return errEnough
		}
		return nil
	})
	if !errors.Is(err, errEnough) || calls != 3 {
		b.Fatalf("scan: %v after %d calls", err, calls)
	}
}

func tryScanCancel(b *bench) {
	b.fill("a", 5)
	ctx, cancel := context.WithCancel(b.ctx)
	defer cancel()
	calls := 0
	err := b.log.Scan(ctx, 1, func(seq uint64, f []byte) error {
		calls++
		cancel()
		return nil
	})
	if !errors.Is(err, context.Canceled) || calls != 1 {
		b.Fatalf("cancelled scan: %v after %d calls", err, calls)
	}
}

// follow runs Follow beside the test until it has seen frame to.
func (b *bench) follow(from, to uint64, check func(seq uint64, f []byte) error) (wait func()) {
	done := make(chan error, 1)
	next := max(from, 1)
	go func() {
		ctx, cancel := context.WithCancel(b.ctx)
		defer cancel()
		done <- b.log.Follow(ctx, from, func(seq uint64, f []byte) error {
			if seq != next {
				return fmt.Errorf("follower saw %d, want %d", seq, next)
			}
			if err := check(seq, f); err != nil {
				return err
			}
			if next++; seq == to {
				cancel()
			}
			return nil
		})
	}()
	return func() {
		b.Helper()
		if err := <-done; err != nil || next != to+1 {
			b.Fatalf("follow from %d ended at %d of %d: %v", from, next-1, to, err)
		}
	}
}

func same(name string) func(uint64, []byte) error {
	return func(seq uint64, f []byte) error {
		if string(f) != string(frame(name, int(seq))) {
			return fmt.Errorf("frame %d is %.60q", seq, f)
		}
		return nil
	}
}

func tryFollowLive(b *bench) {
	const old, all = 20, 120
	b.fill("a", old)
	wait := b.follow(1, all, same("a"))
	for i := uint64(old); i < all; i++ {
		b.append(i, frame("a", int(i)+1))
	}
	wait()
}

func tryFollowFrom(b *bench) {
	b.fill("a", 6)
	middle := b.follow(4, 9, same("a"))
	ahead := b.follow(8, 9, same("a"))
	for i := uint64(6); i < 9; i++ {
		b.append(i, frame("a", int(i)+1))
	}
	middle()
	ahead()
}

// tryFollowLarge has more bytes on the way than a reader may buffer.
func tryFollowLarge(b *bench) {
	const n = 16
	large := func(i uint64) []byte {
		f := make([]byte, events.MaxFrame-int(i))
		for k := range f {
			f[k] = byte(uint64(k) + i)
		}
		return f
	}
	check := func(seq uint64, f []byte) error {
		if string(f) != string(large(seq)) {
			return fmt.Errorf("large frame %d of %d bytes is not what was stored", seq, len(f))
		}
		return nil
	}
	for i := range uint64(n / 2) {
		b.append(i, large(i+1))
	}
	wait := b.follow(1, n, check)
	for i := uint64(n / 2); i < n; i++ {
		b.append(i, large(i+1))
	}
	wait()
	if err := b.log.Scan(b.ctx, 1, check); err != nil {
		b.Fatal(err)
	}
}

func tryFollowError(b *bench) {
	b.fill("a", 3)
	err := b.log.Follow(b.ctx, 1, func(seq uint64, f []byte) error {
		if seq == 2 {
			return errEnough
		}
		return nil
	})
	if !errors.Is(err, errEnough) {
		b.Fatalf("follow: %v", err)
	}
}

func tryFollowCancel(b *bench) {
	ctx, cancel := context.WithCancel(b.ctx)
	cancel()
	never := func(seq uint64, f []byte) error { b.Errorf("frame %d", seq); return nil }
	if err := b.log.Follow(ctx, 1, never); err != nil {
		b.Fatalf("follow with a cancelled context: %v, want nil", err)
	}
	ctx, cancel = context.WithCancel(b.ctx) // and one cancelled while it waits
	done := make(chan error, 1)
	go func() { done <- b.log.Follow(ctx, 2, never) }()
	b.append(0, frame("a", 1))
	cancel()
	if err := <-done; err != nil {
		b.Fatalf("cancelled follow: %v, want nil", err)
	}
}

func tryManyReaders(b *bench) {
	const n, readers = 50, 6
	var waits []func()
	for range readers {
		waits = append(waits, b.follow(1, n, same("a")))
	}
	var wg sync.WaitGroup
	for i := range uint64(n) {
		b.append(i, frame("a", int(i)+1))
		if i%10 == 0 {
			wg.Go(func() {
				if _, err := b.log.Read(b.ctx, i+1); err != nil {
					b.Errorf("read %d: %v", i+1, err)
				}
				if err := b.log.Scan(b.ctx, 1, same("a")); err != nil {
					b.Error(err)
				}
			})
		}
	}
	wg.Wait()
	for _, wait := range waits {
		wait()
	}
}

func tryReopen(b *bench) {
	total := 0
	for round := range 3 {
		b.wantLast(uint64(total))
		for range 7 {
			b.append(uint64(total), frame("a", total+1))
			total++
		}
		if round == 1 {
			b.append(uint64(total-1), frame("a", total))
		}
		b.log = b.reopen()
		b.wantFrames("a", total)
	}
	b.append(uint64(total-1), frame("a", total)) // a lost answer is settled after a restart too
	if err := b.log.Append(b.ctx, uint64(total-1), frame("b", total)); !errors.Is(err, events.ErrFenced) {
		b.Fatalf("other bytes after reopening: %v, want ErrFenced", err)
	}
	b.append(uint64(total), frame("a", total+1))
	b.wantFrames("a", total+1)
}

func tryMany(b *bench) {
	const n = 1500
	wait := b.follow(1, n, same("a"))
	b.fill("a", n)
	wait()
	b.wantFrames("a", n)
	b.log = b.reopen()
	b.wantFrames("a", n)
}

package logtest

import (
	"bytes"
	"context"
	"errors"
	"slices"
	"sync"

	"packwright/events"
)

func tryEmpty(b *bench) {
	b.wantLast(0)
	err := b.log.Scan(b.ctx, 1, func(seq uint64, f []byte) error {
		b.Errorf("an empty log gave frame %d", seq)
		return nil
	})
	if err != nil {
		b.Fatal(err)
	}
}

func tryGapless(b *bench) {
	for i := range uint64(20) {
		b.wantLast(i)
		b.append(i, frame("a", int(i)+1))
		b.wantFrame(i+1, frame("a", int(i)+1))
	}
	b.wantFrames("a", 20)
}

// tryBytes stores what text handling would spoil, and spoils the writer's and
// the reader's buffers afterwards: neither may reach into the log.
func tryBytes(b *bench) {
	all := make([]byte, 256)
	for i := range all {
		all[i] = byte(i)
	}
	frames := [][]byte{
		all,
		[]byte("\r\n\r\nNATS/1.0 404 Not Found\r\n\r\n"),
		[]byte(`{"error":{"code":400,"err_code":10071}}`),
		{0}, []byte(" "), []byte("\n"),
		bytes.Repeat([]byte{0xff}, 70_000),
		bytes.Repeat([]byte("x"), events.MaxFrame),
	}
	for i, f := range frames {
		mine := bytes.Clone(f)
		b.append(uint64(i), mine)
		clear(mine)
	}
	for i, f := range frames {
		got, err := b.log.Read(b.ctx, uint64(i)+1)
		if err != nil {
			b.Fatal(err)
		}
		clear(got)
		b.wantFrame(uint64(i)+1, f)
	}
	i := 0
	err := b.log.Scan(b.ctx, 1, func(seq uint64, f []byte) error {
		if !bytes.Equal(f, frames[i]) {
			b.Errorf("scan changed frame %d", seq)
		}
		clear(f)
		i++
		return nil
	})
	if err != nil || i != len(frames) {
		b.Fatalf("scan: %d frames, %v", i, err)
	}
	b.wantFrame(1, all)
}

func tryResend(b *bench) {
	b.fill("a", 3)
	b.append(2, frame("a", 3)) // the last one again
	b.append(0, frame("a", 1)) // an old one again: it stands there, durable
	b.append(3, frame("a", 4))
	b.append(3, frame("a", 4))
	b.wantLast(4)
	b.wantFrames("a", 4)
}

func tryFenced(b *bench) {
	b.fill("a", 3)
	for after := range uint64(3) {
		err := b.log.Append(b.ctx, after, frame("b", int(after)+1))
		if !errors.Is(err, events.ErrFenced) {
			b.Fatalf("append after %d of 3: %v, want ErrFenced", after, err)
		}
	}
	// Other bytes are other bytes, however little they differ.
	almost := append(frame("a", 3), 0)
	if err := b.log.Append(b.ctx, 2, almost); !errors.Is(err, events.ErrFenced) {
		b.Fatalf("almost the same bytes: %v, want ErrFenced", err)
	}
	if err := b.log.Append(b.ctx, 2, almost[:5]); !errors.Is(err, events.ErrFenced) {
		b.Fatalf("a prefix of the same bytes: %v, want ErrFenced", err)
	}
	b.wantFrames("a", 3)
}

// tryIntruder: a writer that has been away finds its place taken. A writer that
// hears so must stop: the frame it would send next may meet an expectation that
// is true by now, and the log cannot know better.
func tryIntruder(b *bench) {
	b.fill("a", 2)
	b.append(2, frame("intruder", 3))
	if err := b.log.Append(b.ctx, 2, frame("a", 3)); !errors.Is(err, events.ErrFenced) {
		b.Fatalf("append behind an intruder: %v, want ErrFenced", err)
	}
	b.wantLast(3)
	b.wantFrame(3, frame("intruder", 3))
	b.append(3, frame("a", 4))
	b.wantFrame(3, frame("intruder", 3))
	b.wantLast(4)
}

// tryAhead: a writer that has seen more than the log holds must hear that the
// log has lost frames, not that another writer is about.
func tryAhead(b *bench) {
	for _, ahead := range []uint64{1, 5, 1 << 40} {
		err := b.log.Append(b.ctx, ahead, frame("a", 1))
		if !errors.Is(err, events.ErrCorrupt) || errors.Is(err, events.ErrFenced) {
			b.Fatalf("empty log, append after %d: %v, want ErrCorrupt", ahead, err)
		}
	}
	b.fill("a", 3)
	if err := b.log.Append(b.ctx, 4, frame("a", 5)); !errors.Is(err, events.ErrCorrupt) {
		b.Fatalf("append after 4 of 3: %v, want ErrCorrupt", err)
	}
	b.wantFrames("a", 3)
}

// tryRace: of several writers with one expectation exactly one gets the place.
func tryRace(b *bench) {
	const writers, rounds = 4, 10
	for round := range uint64(rounds) {
		var wg sync.WaitGroup
		errs := make([]error, writers)
		for w := range writers {
			wg.Go(func() {
				errs[w] = b.log.Append(b.ctx, round, frame(string(rune('p'+w)), int(round)+1))
			})
		}
		wg.Wait()
		won := slices.Index(errs, nil)
		if won < 0 {
			b.Fatalf("round %d: nobody got the place: %v", round, errs)
		}
		for w, err := range errs {
			if w != won && !errors.Is(err, events.ErrFenced) {
				b.Fatalf("round %d: writer %d won, writer %d heard %v", round, won, w, err)
			}
		}
		b.wantFrame(round+1, frame(string(rune('p'+won)), int(round)+1))
	}
	b.wantLast(rounds)
}

func tryTooLarge(b *bench) {
	err := b.log.Append(b.ctx, 0, make([]byte, events.MaxFrame+1))
	if !errors.Is(err, events.ErrTooLarge) {
		b.Fatalf("%d bytes: %v, want ErrTooLarge", events.MaxFrame+1, err)
	}
	b.wantLast(0)
	b.append(0, make([]byte, events.MaxFrame))
	b.wantLast(1)
}

func tryCancelledAppend(b *bench) {
	ctx, cancel := context.WithCancel(b.ctx)
	cancel()
	err := b.log.Append(ctx, 0, frame("a", 1))
	if !errors.Is(err, events.ErrUnreachable) || !errors.Is(err, context.Canceled) {
		b.Fatalf("append with a cancelled context: %v, want ErrUnreachable and context.Canceled", err)
	}
	// Whether it is stored is unknown; the same bytes again settle it.
	b.append(0, frame("a", 1))
	b.wantFrames("a", 1)
}

package main

import (
	"context"
	"sync"
	"time"

	"packwright/cmd/packwright/door"
	"packwright/cmd/packwright/web"
	"packwright/events"
	"packwright/workflow"
	"packwright/workflow/engine"
)

// scanner is the reading machine of one bench, kept beside the writer: what the
// bench has in hand, and the command that waits for its answer. All of it is in
// the bench's file before it is acted upon (benchfile.go).
type scanner struct {
	floor  door.Floor
	writer *engine.Engine
	now    func() time.Time

	mu   sync.Mutex
	kept inHand
	file *benchFile // nil: nothing is written down, as in a test
}

// typed is one scan as it is sent.
type typed = web.Typed

func newScanner(station string, floor door.Floor, writer *engine.Engine, now func() time.Time) *scanner {
	return &scanner{floor: floor, writer: writer, now: now, kept: inHand{Bench: newBench(station), Answered: true}}
}

func newBench(station string) *workflow.Bench {
	return &workflow.Bench{Station: station, Epoch: newEpoch("scan")}
}

// open reads what the bench had in hand when the last hub ended. A file that is
// older than the log, as from a copy, is not believed: the bench begins anew.
func (s *scanner) open(ctx context.Context, dir string) error {
	station := s.kept.Bench.Station
	file, last, err := openBenchFile(dir, station)
	if err != nil {
		return err
	}
	s.file = file
	if last == nil || last.Bench.Station != station {
		return nil
	}
	behind := false
	if err := s.writer.View(ctx, func(f *workflow.Floor) { behind = last.Bench.Behind(f) }); err != nil {
		return err
	}
	if !behind {
		s.kept = *last
		return nil
	}
	s.kept.Outboxes = last.Outboxes // what was taken stays taken
	return nil
}

// scan takes what the reader typed, gives what follows to the floor, and says
// the sentence of the end. The same number of the same session is the same scan.
// Errors: those of View, and of the bench's file.
func (s *scanner) scan(ctx context.Context, in typed) (workflow.Said, error) {
	s.mu.Lock()
	defer s.mu.Unlock()
	again := in.Session != "" && in.N <= s.kept.taken(in.Session)
	if !s.kept.Answered { // the hub was killed, or the floor was away when it was given
		if said, err := s.finish(ctx, workflow.Said{Command: s.kept.Bench.Pending()}); err != nil || said.Code == workflow.Away().Code {
			return said, err
		}
	}
	switch {
	case again && in.Session == s.kept.Taken.Session && in.N == s.kept.Taken.N:
		said := s.kept.Said
		return said, s.writer.View(ctx, func(f *workflow.Floor) { said = s.kept.Bench.Veil(f, said) })
	case again:
		return workflow.Said{Outcome: workflow.Already, Text: "That scan was taken before.", Next: "Go on."}, nil
	}
	said, err := s.take(ctx, in)
	if err == nil {
		said, err = s.finish(ctx, said)
	}
	if err == nil && said.Code != workflow.Away().Code {
		err = s.caughtUp(ctx, in)
	}
	return said, err
}

// take hands a scan to the machine and writes down what has become of it.
func (s *scanner) take(ctx context.Context, in typed) (said workflow.Said, err error) {
	b := s.kept.Bench
	at := s.when(in)
	if was := s.kept.Taken; was.Session == in.Session && !was.At.IsZero() && !in.At.IsZero() {
		b.Since = in.At.Sub(was.At)
	}
	b.Away, b.Proves, b.Proved = in.Offline, in.Proves, in.Proved
	if err := s.writer.View(ctx, func(f *workflow.Floor) { said = b.Scan(f, in.Raw, at) }); err != nil {
		return said, err
	}
	s.kept.take(in)
	if in.Offline {
		l := s.kept.Late
		if l == nil {
			l = &late{Oldest: at}
			s.kept.Late = l
		}
		l.N, l.Newest = l.N+1, at
	}
	s.kept.Said, s.kept.Answered = said, said.Command == nil
	return said, s.file.keep(&s.kept, true)
}

// liveMost is how long ago a scan may be that was not done while away: it waited
// behind others.
const liveMost = 10 * time.Second

// when tells a scan's moment on the hub's clock. A bench that was away says how
// long ago it was or, when it cannot, what its own clock showed; never later than
// now, nor earlier than the scan before it.
func (s *scanner) when(in typed) events.Time {
	now := events.At(s.now())
	at, ago := now, time.Duration(max(in.Ago, 0))*time.Millisecond
	switch {
	case ago > 0 && (in.Offline || ago <= liveMost):
		at = events.At(now.Std().Add(-ago))
	case in.Offline && !in.At.IsZero() && in.At.Before(now):
		at = in.At
	}
	if last := s.kept.Bench.LastAt; at.Before(last) && !now.Before(last) {
		return last
	}
	return at
}

// finish gives commands until there is nothing more to give.
func (s *scanner) finish(ctx context.Context, said workflow.Said) (workflow.Said, error) {
	for said.Command != nil {
		a := s.floor.Ask(ctx, *said.Command)
		if !a.Answered() {
			away := workflow.Away()
			return workflow.Said{Outcome: workflow.No, Code: away.Code, Text: away.Text, Next: away.Next}, nil
		}
		outcome, no := a.Outcome, a.Refusal
		if no == nil && a.Error != nil {
			no = &workflow.Refusal{Text: a.Error.Text, Next: a.Error.Next}
		}
		if outcome == workflow.Already && no == nil {
			outcome = workflow.Kept // this very command: its answer was lost
		}
		if outcome == workflow.Kept || outcome == workflow.Call {
			s.kept.Given = append(s.kept.Given, *said.Command)
		}
		if err := s.writer.View(ctx, func(f *workflow.Floor) { said = s.kept.Bench.Answer(f, outcome, no) }); err != nil {
			return said, err
		}
		s.kept.Said, s.kept.Answered = said, said.Command == nil
		if err := s.file.keep(&s.kept, said.Command != nil); err != nil {
			return said, err
		}
	}
	return said, nil
}

// caughtUp reports what was done while the hub was away, when the last of it is in.
func (s *scanner) caughtUp(ctx context.Context, in typed) error {
	if s.kept.Late == nil || in.Offline && in.Waiting > 0 {
		return nil
	}
	if s.kept.Report == nil {
		l := s.kept.Late
		s.kept.Report = s.kept.Bench.CaughtUp(l.N, l.Oldest, l.Newest)
		if err := s.file.keep(&s.kept, true); err != nil {
			return err
		}
	}
	if a := s.floor.Ask(ctx, *s.kept.Report); !a.Answered() {
		return nil // with the next scan
	}
	s.kept.Late, s.kept.Report = nil, nil
	return s.file.keep(&s.kept, false)
}

// look shows the machine as it stands.
func (s *scanner) look(ctx context.Context, show func(*workflow.Floor, *workflow.Bench, workflow.Said)) error {
	s.mu.Lock()
	defer s.mu.Unlock()
	return s.writer.View(ctx, func(f *workflow.Floor) { show(f, s.kept.Bench, s.kept.Said) })
}

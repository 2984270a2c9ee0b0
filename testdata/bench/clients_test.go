package bench

import (
	"context"
	"fmt"
	"slices"
	"sync"
	"testing"
	"time"

	"github.com/rs/zerolog"

	"packwright/events"
	"packwright/workflow"
	"packwright/workflow/engine"
)

// shop is an engine over a log, with benches founded and signed in.
type shop struct {
	e       *engine.Engine
	benches []*Bench
}

// openShop founds a floor of n benches.
func openShop(tb testing.TB, log events.Log, n int) *shop {
	tb.Helper()
	e, err := engine.Open(context.Background(), engine.Config{Log: log, Floor: Floor, Now: time.Now, Logger: zerolog.Nop()})
	if err != nil {
		tb.Fatal(err)
	}
	s := &shop{e: e}
	for _, c := range Founding(n) {
		if err := s.keep(c); err != nil {
			tb.Fatal(err)
		}
	}
	for i := range n {
		s.benches = append(s.benches, NewBench(i))
	}
	return s
}

// keep gives a command that must be kept.
func (s *shop) keep(c workflow.Command) error {
	a, err := s.e.Do(context.Background(), c)
	if err == nil && a.Outcome != workflow.Kept {
		err = fmt.Errorf("%s %s %s: %s %v", c.ID, c.Type, c.Data, a.Outcome, a.Refusal)
	}
	return err
}

// work lets every bench give its next k commands, all benches at once, and
// gives how long each command took until its durable answer, and how long all took.
func (s *shop) work(tb testing.TB, k int) (each []time.Duration, all time.Duration) {
	tb.Helper()
	lists := make([][]workflow.Command, len(s.benches))
	for i, b := range s.benches {
		lists[i] = b.Take(k)
	}
	took := make([][]time.Duration, len(s.benches))
	errs := make([]error, len(s.benches))
	var wg sync.WaitGroup
	start := time.Now()
	for i := range s.benches {
		wg.Go(func() { took[i], errs[i] = s.give(lists[i]) })
	}
	wg.Wait()
	all = time.Since(start)
	for i, err := range errs {
		if err != nil {
			tb.Fatal(err)
		}
		each = append(each, took[i]...)
	}
	return each, all
}

func (s *shop) give(list []workflow.Command) (took []time.Duration, err error) {
	took = make([]time.Duration, 0, len(list))
	for _, c := range list {
		start := time.Now()
		if err := s.keep(c); err != nil {
			return took, err
		}
		took = append(took, time.Since(start))
	}
	return took, nil
}

// percentile gives the p-th of a hundred of a sorted copy.
func percentile(list []time.Duration, p int) time.Duration {
	s := slices.Sorted(slices.Values(list))
	return s[min(len(s)*p/100, len(s)-1)]
}

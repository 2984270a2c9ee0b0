package main

import (
	"fmt"
	"net/http"
	"net/http/httptest"
	"slices"
	"sync"
	"testing"
	"time"

	"github.com/rs/zerolog"

	"packwright/cmd/packwright/door"
	"packwright/workflow"
)

// BenchmarkDoors measures one command from asking to its durable answer through
// each door, with one asker and with 32 at once: kept commands on the real store,
// fsync included. go test ./cmd/packwright -run - -bench Doors
func BenchmarkDoors(b *testing.B) {
	y := openYard(b)
	y.do("BOARD", "odile", "announce", fields{"lot": "L-99", "item": "TRY", "owner": "house", "qty": 1 << 30})
	web := httptest.NewServer((&door.Web{Floor: y.door, Logger: zerolog.Nop()}).Handler())
	b.Cleanup(web.Close)
	client := &http.Client{Transport: &http.Transport{MaxIdleConnsPerHost: 64}}
	n := 0
	for _, askers := range []int{1, 32} {
		for _, d := range []struct {
			name string
			open func() door.Floor
		}{
			{"local", func() door.Floor { return y.door }},
			{"http", func() door.Floor { return &door.WebClient{URL: web.URL, Patience: door.Patience, Client: client} }},
			{"bus", func() door.Floor { return y.dial(b) }},
		} {
			b.Run(fmt.Sprintf("%s-%d", d.name, askers), func(b *testing.B) {
				n++
				y.rate(b, askers, fmt.Sprintf("rate%d", n), d.open)
			})
		}
	}
}

func (y *yard) dial(b *testing.B) door.Floor {
	c, err := door.DialBus(y.url, "yard", door.Patience)
	must(b, err)
	b.Cleanup(func() { c.Close() })
	return c
}

// rate gives b.N commands by several askers, and reports the median and the 99th
// percentile of their waits.
func (y *yard) rate(b *testing.B, askers int, epoch string, open func() door.Floor) {
	waits := make([][]time.Duration, askers)
	var wg sync.WaitGroup
	b.ResetTimer()
	for i := range askers {
		wg.Go(func() {
			floor := open()
			for n := i; n < b.N; n += askers {
				began := time.Now()
				a := floor.Ask(b.Context(), workflow.Command{ID: fmt.Sprintf("BOARD/%s-%d/%d", epoch, i, n+1), Type: "receive", Badge: "odile",
					Data: []byte(`{"lot":"L-99","tote":"T-99","qty":1}`)})
				if a.Outcome != workflow.Kept {
					b.Errorf("%+v", a)
					return
				}
				waits[i] = append(waits[i], time.Since(began))
			}
		})
	}
	wg.Wait()
	b.StopTimer()
	all := slices.Concat(waits...)
	slices.Sort(all)
	if len(all) > 0 {
		b.ReportMetric(float64(all[len(all)/2].Microseconds()), "p50-µs")
		b.ReportMetric(float64(all[len(all)*99/100].Microseconds()), "p99-µs")
	}
}

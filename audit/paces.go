package audit

import (
	"slices"
	"time"
)

// paces keeps how long things took lately, for the board's estimate. Times
// come from the benches' own clocks; gaps over five minutes are pauses, not work.
type paces struct {
	Place gauge // seconds from one placement to the next in the same carton, a unit
	Close gauge // seconds from FINISH CARTON to the seal, of cartons without a matter
}

// gauge is a ring of the last readings, in seconds.
type gauge struct {
	List []int32
	Next int
}

const (
	gaugeSize  = 64
	gaugeLeast = 5 // fewer readings are no basis
	pauseOver  = 5 * time.Minute
)

func (g *gauge) add(d time.Duration) {
	s := int32(d / time.Second)
	if len(g.List) < gaugeSize {
		g.List = append(g.List, s)
		return
	}
	g.List[g.Next] = s
	g.Next = (g.Next + 1) % gaugeSize
}

// median gives the middle reading, and false when there are too few.
func (g *gauge) median() (time.Duration, bool) {
	if len(g.List) < gaugeLeast {
		return 0, false
	}
	s := slices.Sorted(slices.Values(g.List))
	return time.Duration(s[len(s)/2]) * time.Second, true
}

func (p *paces) placed(gap time.Duration, q int) {
	if gap >= 0 && gap <= pauseOver {
		p.Place.add(gap / time.Duration(max(q, 1)))
	}
}

func (p *paces) closed(d time.Duration) {
	if d >= 0 && d <= time.Hour {
		p.Close.add(d)
	}
}

package audit

import (
	"slices"
	"time"
)

// paces keeps how long things took lately, for estimates. Times
// come from the benches' own clocks; gaps over five minutes are pauses, not work.
type paces struct {
	Place gauge // seconds from one placement to the next in the same carton, a unit
	Close gauge // seconds from FINISH CARTON to the seal, of cartons without a matter
	// Answer is from a change of the plan being asked to its owner's yes; Ways, by
	// way out, from a matter being taken (or raised) to its resolution.
	Answer gauge
	Ways   map[string]*gauge
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
	shiftLong  = 8 * time.Hour
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

// medianOr gives the middle reading, or what is common practice: false.
func (g *gauge) medianOr(practice time.Duration) (time.Duration, bool) {
	if d, ok := g.median(); ok {
		return d, true
	}
	return practice, false
}

// answered and settled leave out what waited over night.
func (p *paces) answered(d time.Duration) {
	if d >= 0 && d <= shiftLong {
		p.Answer.add(d)
	}
}

func (p *paces) settled(way string, d time.Duration) {
	if d < 0 || d > shiftLong {
		return
	}
	if p.Ways == nil {
		p.Ways = map[string]*gauge{}
	}
	if p.Ways[way] == nil {
		p.Ways[way] = &gauge{}
	}
	p.Ways[way].add(d)
}

func (p *paces) closed(d time.Duration) {
	if d >= 0 && d <= time.Hour {
		p.Close.add(d)
	}
}

package audit

import (
	"fmt"
	"io"
	"math/bits"
	"slices"
	"strings"

	"packwright/events"
	"packwright/prep"
)

// Drawn is one unit of a sample: a mark, or one piece out of a set of like ones.
type Drawn struct {
	Mark  prep.Mark    `json:"mark,omitempty"`
	Item  string       `json:"item"`
	Lot   string       `json:"lot"`
	Place string       `json:"place"` // the carton it left in, for one that is gone
	Stage events.Stage `json:"stage"`
	// Of is how many like pieces lie there; which of them to take, the log
	// cannot say: take the Nth that comes to hand.
	Of  int `json:"of,omitempty"`
	Nth int `json:"nth,omitempty"`
}

// Sample is units drawn at random, the same ones whenever the same seed meets
// the same log.
type Sample struct {
	Seed  uint64     `json:"seed"`
	N     int        `json:"n"`
	From  int        `json:"from"` // units to draw from
	Units []Drawn    `json:"units"`
	Head  events.Seq `json:"log_head"`
}

// Sample draws n units without replacement from all that stand on the floor or
// have been dispatched, each with the same chance. The generator is splitmix64
// (Steele, Lea, Flood: Fast splittable pseudorandom number generators, 2014),
// bounded by multiplication with rejection, so that another program can repeat
// the draw. Units are numbered by place in the order places came up, there by
// lot, stage and mark. Asking for more than there are gives them all.
func (f *Fold) Sample(n int, seed uint64) Sample {
	s := Sample{Seed: seed, Head: f.last}
	var groups []parcelAt
	for at := range f.places.all() {
		for _, p := range f.parcelsAt(at) {
			groups = append(groups, parcelAt{p, at, s.From})
			s.From += p.q
		}
	}
	for _, k := range draw(min(n, s.From), s.From, seed) {
		i, _ := slices.BinarySearchFunc(groups, k, func(g parcelAt, k int) int {
			switch {
			case k < g.from:
				return 1
			case k >= g.from+g.q:
				return -1
			}
			return 0
		})
		s.Units = append(s.Units, f.drawn(groups[i], k-groups[i].from))
	}
	s.N = len(s.Units)
	return s
}

type parcelAt struct {
	parcel
	at   placeID
	from int // number of its first unit
}

func (f *Fold) drawn(g parcelAt, k int) Drawn {
	l := f.lots.row(g.lot)
	d := Drawn{Item: f.names.text(l.Item), Lot: f.lots.Keys[g.lot], Place: f.places.Keys[g.at], Stage: g.stage.name()}
	if c := f.places.row(g.at).Carton; c != 0 && f.cartons.row(c).State == Dispatched {
		d.Stage = events.Dispatched
	}
	if len(g.marks) > 0 {
		d.Mark = g.marks[k]
		return d
	}
	d.Of, d.Nth = g.q, k+1
	return d
}

// draw picks n of 0..of-1, rising, by Floyd's method.
func draw(n, of int, seed uint64) []int {
	state := seed
	picked := map[int]bool{}
	for j := of - n; j < of; j++ {
		k := int(below(&state, uint64(j)+1))
		if picked[k] {
			k = j
		}
		picked[k] = true
	}
	out := make([]int, 0, n)
	for k := range picked {
		out = append(out, k)
	}
	slices.Sort(out)
	return out
}

// below gives a number under n, each with the same chance.
func below(state *uint64, n uint64) uint64 {
	for {
		hi, lo := bits.Mul64(splitmix(state), n)
		if lo >= n || lo >= -n%n {
			return hi
		}
	}
}

// splitmix steps the generator.
func splitmix(state *uint64) uint64 {
	*state += 0x9e3779b97f4a7c15
	z := *state
	z = (z ^ z>>30) * 0xbf58476d1ce4e5b9
	z = (z ^ z>>27) * 0x94d049bb133111eb
	return z ^ z>>31
}

// Text writes the sample as a list to walk along.
func (s Sample) Text(w io.Writer) error {
	b := &strings.Builder{}
	fmt.Fprintf(b, "%d of %d units, seed %d, log read up to %s\n", s.N, s.From, s.Seed, s.Head)
	for _, d := range s.Units {
		if d.Mark > 0 {
			fmt.Fprintf(b, "  %-6s %s %s, lot %s, %s\n", d.Place, d.Mark, d.Item, d.Lot, d.Stage)
			continue
		}
		fmt.Fprintf(b, "  %-6s number %d that comes to hand of the %d %s, lot %s, %s\n", d.Place, d.Nth, d.Of, d.Item, d.Lot, d.Stage)
	}
	_, err := io.WriteString(w, b.String())
	return err
}

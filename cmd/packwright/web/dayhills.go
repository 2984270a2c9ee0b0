package web

import (
	"fmt"
	"slices"
	"strings"

	"packwright/events"
)

// Hill is one stage over the day: how many pieces stood there, as a skyline.
type Hill struct {
	Stage string
	Path  string
	Base  float64 // y of its ground
	Most  int
}

// Lane is one bench over the day: runs as strokes, cartons in hand as blocks.
type Lane struct {
	Bench, Who string
	Y          float64
	Runs       []Stretch
	Packs      []Stretch
}

// Stretch is something that lasted, on the rule.
type Stretch struct {
	Name   string
	X1, X2 float64
	Dash   string // of its pieces
	Open   bool
}

// Width gives how long it is.
func (s Stretch) Width() float64 { return max(s.X2-s.X1, 2) }

// DayDrawing is the day's rhythm, as far as the log knows it. It is the same for
// every moment of the day: only the veil over what came later moves.
type DayDrawing struct {
	High   float64
	Hours  []Tick
	Hills  []Hill
	Lanes  []Lane
	Asks   []Lane // questions, one a row
	Marks  []Tick
	AsksY  float64
	MarksY float64
}

// Where it is drawn.
const (
	hillStep, hillHigh = 54, 46
	laneStep           = 42
	askStep            = 24
	leastStep          = .8 // px between two changes of a skyline that can be told apart
)

// drawing makes the day's drawing from its film.
func (f *film) drawing() DayDrawing {
	d := DayDrawing{Hours: hours()}
	most := 1
	for _, s := range f.steps {
		for _, c := range s.Still.stages {
			if slices.Contains(road[:5], c.Stage) {
				most = max(most, c.N)
			}
		}
	}
	for i, stage := range road[:5] {
		d.Hills = append(d.Hills, f.hill(stage, float64(70+i*hillStep), most))
	}
	y := float64(70+4*hillStep) + 64
	for _, bench := range f.benches() {
		d.Lanes = append(d.Lanes, f.lane(bench, y))
		y += laneStep
	}
	d.AsksY = y
	for i, s := range f.asks {
		row := Lane{Bench: s.Name, Who: strings.ToLower(s.Badge) + " " + s.Bench, Y: y + float64(i)*askStep, Packs: []Stretch{f.stretch(s)}}
		d.Asks = append(d.Asks, row)
	}
	y += float64(len(f.asks))*askStep + 8
	d.MarksY = y
	for i, m := range f.marks {
		if x := OnRule(m.At); i == 0 || x-d.Marks[len(d.Marks)-1].X > 60 {
			d.Marks = append(d.Marks, Tick{x, m.Text})
		}
	}
	d.High = y + 12
	return d
}

// hours are the figures of the rule.
func hours() []Tick {
	var out []Tick
	for h := 8; h <= 18; h++ {
		out = append(out, Tick{float64(h-8)*hourWidth + 55, fmt.Sprint(h)})
	}
	return out
}

// hill draws a stage's skyline.
func (f *film) hill(stage events.Stage, base float64, most int) Hill {
	h := Hill{Stage: string(stage), Base: base}
	b := &strings.Builder{}
	fmt.Fprintf(b, "M0 %.0f", base)
	was, at := 0, -leastStep
	for i, s := range f.steps {
		n := countOf(s.Still, stage)
		h.Most = max(h.Most, n)
		x := OnRule(s.At)
		if n == was || x-at < leastStep && i < len(f.steps)-1 {
			continue
		}
		fmt.Fprintf(b, "H%.1fV%.1f", x, base-float64(n)/float64(most)*hillHigh)
		was, at = n, x
	}
	if n := len(f.steps); n > 0 {
		fmt.Fprintf(b, "H%.1f", OnRule(f.steps[n-1].At))
	}
	fmt.Fprintf(b, "V%.0fz", base)
	h.Path = b.String()
	return h
}

func countOf(s *still, stage events.Stage) int {
	for _, c := range s.stages {
		if c.Stage == stage {
			return c.N
		}
	}
	return 0
}

// benches lists who worked, in order.
func (f *film) benches() []string {
	var out []string
	for _, list := range [][]span{f.runs, f.packs} {
		for _, s := range list {
			if !slices.Contains(out, s.Bench) {
				out = append(out, s.Bench)
			}
		}
	}
	slices.Sort(out)
	return out
}

func (f *film) lane(bench string, y float64) Lane {
	l := Lane{Bench: bench, Y: y}
	for _, s := range f.runs {
		if s.Bench != bench {
			continue
		}
		x := f.stretch(s)
		if pitch := x.Width() / float64(max(s.N, 1)); pitch >= thinnest {
			x.Dash = fmt.Sprintf("1 %.3f", pitch-1)
		}
		l.Runs, l.Who = append(l.Runs, x), s.Badge
	}
	for _, s := range f.packs {
		if s.Bench == bench {
			l.Packs, l.Who = append(l.Packs, f.stretch(s)), s.Badge
		}
	}
	return l
}

func (f *film) stretch(s span) Stretch {
	to := s.To
	if to.IsZero() && len(f.steps) > 0 {
		to = f.steps[len(f.steps)-1].At
	}
	name := s.Name
	if _, n, ok := strings.Cut(name, "C-"); ok {
		name = n // blocks stand close
	}
	return Stretch{Name: name, X1: OnRule(s.From), X2: OnRule(to), Open: s.To.IsZero()}
}

package web

import (
	"context"
	"errors"
	"fmt"
	"slices"
	"strings"
	"sync"
	"time"

	"packwright/audit"
	"packwright/audit/follow"
	"packwright/events"
)

// Frames is the log itself, to be read again.
type Frames interface {
	// Scan calls fn for each frame from a sequence on to the present last, in order.
	Scan(ctx context.Context, from uint64, fn func(seq uint64, frame []byte) error) error
}

// film is one day of the floor, read once: a still of the board for each frame of
// the log, or, on a long day, for the first frame in every few seconds. A slider
// then costs one search among the stills, not a reading of the log.
type film struct {
	day    string // 2031-03-04
	steps  []step
	gap    time.Duration // between two stills, at least
	frames int           // of that day, stills or not
	runs   []span
	packs  []span
	asks   []span
	marks  []happened
	reader *follow.Follower // of a day that may go on; nil when a later day has begun
	next   uint64
}

// step is a moment at which the board changed, and how it looked then.
type step struct {
	At    events.Time
	Text  string // what happened, in words
	Still *still
}

// still is the board as it stood.
type still struct {
	stages  []audit.StageCount
	boxes   []*Box
	verdict Verdict
	rest    *Verdict
	benches []BenchLine
	waits   []Wait
}

// span is something that lasted: a run, a carton in hand, a question. A zero To
// lasts on.
type span struct {
	Name, Bench, Badge string
	From, To           events.Time
	N                  int // pieces
}

// happened is a moment that changed what counts: a revision of rules or plan.
type happened struct {
	At   events.Time
	Text string
}

// How much of a day is kept.
const (
	mostSteps = 1500 // stills of one day; twice as many are made before every second goes
	mostFilms = 3    // days kept
)

// films are the days somebody looked at lately, newest first.
type films struct {
	mu   sync.Mutex
	list []*film
}

// errDayOver ends a reading after the day asked for.
var errDayOver = errors.New("the day is over")

// of gives the film of a day, made or brought up to date. What the caller is given
// does not change any more.
func (fs *films) of(ctx context.Context, log Frames, day string) (film, error) {
	fs.mu.Lock()
	defer fs.mu.Unlock()
	i := slices.IndexFunc(fs.list, func(f *film) bool { return f.day == day })
	if i < 0 {
		fs.list = slices.Insert(fs.list, 0, &film{day: day, reader: follow.New(), next: 1})
	} else {
		f := fs.list[i]
		fs.list = slices.Insert(slices.Delete(fs.list, i, i+1), 0, f)
	}
	fs.list = fs.list[:min(len(fs.list), mostFilms)]
	f := fs.list[0]
	for _, other := range fs.list[1:] {
		other.rest()
	}
	if f.next == 0 { // it gave its reading back: begin anew
		*f = film{day: day, reader: follow.New(), next: 1}
	}
	err := f.read(ctx, log)
	if err != nil {
		fs.list = fs.list[1:]
	}
	whole := *f
	whole.runs, whole.packs, whole.asks = slices.Clone(f.runs), slices.Clone(f.packs), slices.Clone(f.asks)
	return whole, err
}

// rest gives a reading of the log back; the film is then made anew when asked for.
func (f *film) rest() {
	if f.reader != nil {
		f.reader, f.next = nil, 0
	}
}

// read goes on from where the film stands.
func (f *film) read(ctx context.Context, log Frames) error {
	if f.reader == nil {
		return nil
	}
	err := log.Scan(ctx, f.next, func(seq uint64, raw []byte) error {
		if err := ctx.Err(); err != nil {
			return err
		}
		frame, err := f.reader.Take(seq, raw)
		if err != nil {
			return err
		}
		f.next = seq + 1
		if len(frame.Events) == 0 {
			return nil
		}
		return f.see(frame.Events)
	})
	if errors.Is(err, errDayOver) {
		f.reader = nil
		return nil
	}
	return err
}

// see takes a frame in, when it is of the day.
func (f *film) see(list []events.Event) error {
	at := list[len(list)-1].Recorded
	switch day := dateOf(at); {
	case day < f.day:
		return nil
	case day > f.day:
		return errDayOver
	}
	f.frames++
	for i := range list {
		f.note(&list[i])
	}
	if n := len(f.steps); n > 0 && f.gap > 0 && at.Sub(f.steps[n-1].At) < f.gap {
		return nil
	}
	s := step{At: at, Text: tellFrame(list)}
	f.reader.View(func(fold *audit.Fold) { s.Still = f.still(View{Fold: fold, Now: at}) })
	f.steps = append(f.steps, s)
	if len(f.steps) >= 2*mostSteps {
		f.thin()
	}
	return nil
}

// thin leaves a still in every gap. A day of so many frames is taken to last as
// long as the rule; when it lasts longer the gap doubles.
func (f *film) thin() {
	f.gap = max(2*f.gap, (ruleEnds-ruleBegins)/mostSteps)
	kept := make([]step, 0, 2*mostSteps)
	for _, s := range f.steps {
		if n := len(kept); n == 0 || s.At.Sub(kept[n-1].At) >= f.gap {
			kept = append(kept, s)
		}
	}
	f.steps = kept
}

// still draws the board; a carton that did not change is the one drawn before.
func (f *film) still(v View) *still {
	b := v.Board(v.Now)
	s := &still{stages: b.Stages, benches: benchLines(b), waits: waitsOf(b), boxes: make([]*Box, len(b.Cartons))}
	s.verdict, s.rest = verdictOf(v, b)
	before := map[string]*Box{}
	if n := len(f.steps); n > 0 {
		for _, x := range f.steps[n-1].Still.boxes {
			before[x.Carton] = x
		}
	}
	for i, c := range b.Cartons {
		word := boxWord(c)
		if x := before[c.Carton]; x != nil && x.Word == word && x.planned == c.Planned && x.scanned == c.Scanned && x.State == c.State {
			s.boxes[i] = x
			continue
		}
		x := boxOf(c, nil)
		x.Small = true
		s.boxes[i] = &x
	}
	return s
}

// at gives the step that held at a moment; -1 before the first.
func (f *film) at(t events.Time) int {
	return slices.IndexFunc(f.steps, func(s step) bool { return s.At.After(t) }) - 1
}

// stepAt is at, with the last step when none is later.
func (f *film) stepAt(t events.Time) int {
	if i := f.at(t); i > -2 {
		return i
	}
	return len(f.steps) - 1
}

// tellFrame says what a frame did: its last event, and how many more.
func tellFrame(list []events.Event) string {
	e := &list[len(list)-1]
	for i := range list { // what asks for a person is said first
		if _, ok := list[i].Data.(*events.MismatchRaised); ok {
			e = &list[i]
		}
	}
	text := audit.Tell(e)
	if e.Badge != "" && !strings.HasPrefix(text, e.Badge) {
		text = e.Badge + " " + text
	}
	if n := len(list) - 1; n > 1 {
		text += fmt.Sprintf(", and %d more", n)
	}
	return text
}

func dateOf(t events.Time) string { return t.Std().Format(time.DateOnly) }

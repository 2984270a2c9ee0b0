package audit

import (
	"bufio"
	"crypto/sha256"
	"fmt"
	"hash"
	"io"
	"maps"
	"slices"

	json "github.com/goccy/go-json"

	"packwright/events"
	"packwright/prep"
)

// snapshotVersion changes with every change of what is kept: an older snapshot
// is then dropped and the fold rebuilt from the log.
const snapshotVersion = 5

// A snapshot is lines of JSON: a head, the rows of each noun one a line, so that
// neither side ever holds it whole, the marks by pages, and last the SHA-256 of
// all lines before.
type snapshotHead struct {
	Version int                 `json:"version"`
	Last    events.Seq          `json:"last"`
	Now     events.Time         `json:"now"`
	Placed  events.Time         `json:"placed"`
	Count   int64               `json:"count"`
	Cells   events.Digest       `json:"cells"`
	Founded events.FloorFounded `json:"founded"`
	Sizes   Scale               `json:"sizes"`
	Rows    [7]int              `json:"rows"` // lots, runs, places, cartons, plans, matters, benches
	Books   int                 `json:"books"`
	Pages   int                 `json:"pages"`
}

// snapshotRest is the nouns that are few.
type snapshotRest struct {
	Names   []string                `json:"names"`
	Loads   map[string]*load        `json:"loads"`
	Claims  map[string]*claim       `json:"claims"`
	Holds   map[string]*hold        `json:"holds"`
	Badges  map[string]*badge       `json:"badges"`
	Scales  map[string]*scale       `json:"scales"`
	Items   map[string]prep.Item    `json:"items"`
	Props   map[string]*proposal    `json:"props"`
	MatLots map[string]*matlot      `json:"matlots"`
	Serials map[string]bornUnit     `json:"serials"`
	Lows    []low                   `json:"lows"`
	Rates   []rate                  `json:"rates"`
	Printed []printed               `json:"printed"`
	Papers  map[prep.Mark]*paper    `json:"papers"`
	Origins map[prep.Mark][]origin  `json:"origins"`
	Odd     oddities                `json:"odd"`
	Paces   paces                   `json:"paces"`
	Recent  map[string][]recentLine `json:"recent"`
	Heads   []HeadView              `json:"heads"`
	Days    []closedDay             `json:"days"`
}

// recentLine is an event of a bench's ring.
type recentLine struct {
	Seq  events.Seq `json:"seq"`
	Line string     `json:"line"`
}

// Save writes the fold so that Load can take it up again.
func (f *Fold) Save(w io.Writer) error {
	s := &saver{w: bufio.NewWriterSize(w, 1<<16), sum: sha256.New()}
	s.line(snapshotHead{snapshotVersion, f.last, f.now, f.placed, f.count, f.digest, f.founded, f.sizes,
		[7]int{len(f.lots.Rows), len(f.runs.Rows), len(f.places.Rows), len(f.cartons.Rows), len(f.plans.Rows), len(f.matters.Rows), len(f.benches.Rows)},
		len(f.books), len(f.marks.Pages)})
	rest, err := f.rest()
	if err != nil {
		return err
	}
	s.line(rest)
	saveShelf(s, &f.lots)
	saveShelf(s, &f.runs)
	saveShelf(s, &f.places)
	saveShelf(s, &f.cartons)
	saveShelf(s, &f.plans)
	saveShelf(s, &f.matters)
	saveShelf(s, &f.benches)
	for _, b := range f.books {
		s.line(b)
	}
	for _, no := range slices.Sorted(maps.Keys(f.marks.Pages)) {
		s.raw(packPage(no, f.marks.Pages[no]))
	}
	if s.err != nil {
		return fmt.Errorf("save the fold: %w", s.err)
	}
	if _, err := fmt.Fprintf(s.w, "%x\n", s.sum.Sum(nil)); err != nil {
		return fmt.Errorf("save the fold: %w", err)
	}
	return s.w.Flush()
}

func (f *Fold) rest() (snapshotRest, error) {
	r := snapshotRest{f.names.List, f.loads, f.claims, f.holds, f.badges, f.scales, f.items, f.props, f.matlots, f.serials, f.lows, f.rates,
		f.printed, f.papers, f.origins, f.odd, f.paces, map[string][]recentLine{}, f.heads, f.days}
	for i, b := range f.benches.Rows[1:] {
		var list []recentLine
		for _, e := range b.Recent.events() {
			line, err := events.Encode(nil, &e)
			if err != nil {
				return r, fmt.Errorf("save the fold: %w", err)
			}
			list = append(list, recentLine{e.Seq, string(line)})
		}
		r.Recent[f.benches.Keys[i+1]] = list
	}
	return r, nil
}

// saver writes lines and keeps their sum; the first error stays.
type saver struct {
	w   *bufio.Writer
	sum hash.Hash
	err error
}

func (s *saver) line(v any) {
	if s.err != nil {
		return
	}
	b, err := json.Marshal(v)
	if err != nil {
		s.err = err
		return
	}
	s.raw(b)
}

func (s *saver) raw(b []byte) {
	if s.err != nil {
		return
	}
	b = append(b, '\n')
	s.sum.Write(b)
	_, s.err = s.w.Write(b)
}

type row[T any] struct {
	Key string `json:"k"`
	Row *T     `json:"v"`
}

func saveShelf[ID ~int32, T any](s *saver, sh *shelf[ID, T]) {
	for i, r := range sh.Rows[1:] {
		s.line(row[T]{sh.Keys[i+1], r})
	}
}

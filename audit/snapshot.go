package audit

import (
	"bufio"
	"crypto/sha256"
	"encoding/binary"
	"fmt"
	"hash"
	"io"

	json "github.com/goccy/go-json"

	"packwright/events"
	"packwright/prep"
)

// snapshotVersion changes with every change of what is kept: an older snapshot
// is then dropped and the fold rebuilt from the log.
const snapshotVersion = 14

// A snapshot is a head, one line of JSON, and records, each with its length before
// it: the nouns that are few as JSON; the texts, the rows of each noun and the pages of marks in their
// compact form, in sheets of some 64 KiB, so that neither side ever holds it whole;
// and last the SHA-256 of all before. A row that may rest is taken up at rest: what
// a start costs is reading, not understanding.
type snapshotHead struct {
	Version int                 `json:"version"`
	Last    events.Seq          `json:"last"`
	Now     events.Time         `json:"now"`
	Placed  events.Time         `json:"placed"`
	Count   int64               `json:"count"`
	Cells   events.Digest       `json:"cells"`
	Founded events.FloorFounded `json:"founded"`
	Sizes   Scale               `json:"sizes"`
	Rows    [8]int              `json:"rows"` // lots, runs, places, cartons, plans, matters, benches, loads; the blank one counted
	Names   int                 `json:"names"`
	Printed int                 `json:"printed"`
	Books   int                 `json:"books"`
	Pages   int                 `json:"pages"`
	Kin     [3]int              `json:"kin"` // sets, shifts, heaps of several runs
}

// snapshotRest is the nouns that are few.
type snapshotRest struct {
	Claims    map[string]*claim       `json:"claims"`
	Holds     map[string]*hold        `json:"holds"`
	Badges    map[string]*badge       `json:"badges"`
	Scales    map[string]*scale       `json:"scales"`
	Items     map[string]prep.Item    `json:"items"`
	Props     map[string]*proposal    `json:"props"`
	MatLots   map[string]*matlot      `json:"matlots"`
	Serials   map[string]bornUnit     `json:"serials"`
	Lows      []low                   `json:"lows"`
	Rates     []rate                  `json:"rates"`
	Papers    map[prep.Mark]*paper    `json:"papers"`
	Origins   map[prep.Mark][]origin  `json:"origins"`
	Odd       oddities                `json:"odd"`
	Paces     paces                   `json:"paces"`
	Recent    map[string][]recentLine `json:"recent"`
	Heads     []HeadView              `json:"heads"`
	Days      []closedDay             `json:"days"`
	Templates map[string]*template    `json:"templates"`
}

// recentLine is an event of a bench's ring.
type recentLine struct {
	Seq  events.Seq `json:"seq"`
	Line string     `json:"line"`
}

// Save writes the fold so that Load can take it up again.
func (f *Fold) Save(w io.Writer) error {
	s := &saver{w: bufio.NewWriterSize(w, 1<<16), sum: sha256.New()}
	numbers := f.marks.order
	s.head(snapshotHead{Version: snapshotVersion, Last: f.last, Now: f.now, Placed: f.placed, Count: f.count, Cells: f.digest, Founded: f.founded, Sizes: f.sizes,
		Rows:  [8]int{f.lots.size(), f.runs.size(), f.places.size(), f.cartons.size(), f.plans.size(), f.matters.size(), f.benches.size(), f.loads.size()},
		Names: len(f.names.List), Printed: len(f.printed), Books: len(f.books), Pages: len(numbers),
		Kin: [3]int{len(f.sets), len(f.shifts), len(f.several)}})
	rest, err := f.rest()
	if err != nil {
		return err
	}
	s.json(rest)
	for _, b := range f.books {
		s.json(b)
	}
	s.texts(f.names.List)
	for i := range f.printed {
		s.row(pack(nil, &f.printed[i]), false)
	}
	s.turn()
	saveShelf(s, &f.lots)
	saveShelf(s, &f.runs)
	saveShelf(s, &f.places)
	saveShelf(s, &f.cartons)
	saveShelf(s, &f.plans)
	saveShelf(s, &f.matters)
	saveShelf(s, &f.benches)
	saveShelf(s, &f.loads)
	f.saveKin(s)
	for _, no := range numbers {
		packed, done := f.marks.packed(no)
		s.row(binary.AppendUvarint(nil, uint64(no)), false)
		s.row([]byte(packed), done)
	}
	s.turn()
	s.record(s.sum.Sum(nil))
	if s.err != nil {
		return fmt.Errorf("save the fold: %w", s.err)
	}
	return s.w.Flush()
}

func (f *Fold) rest() (snapshotRest, error) {
	r := snapshotRest{f.claims, f.holds, f.badges, f.scales, f.items, f.props, f.matlots, f.serials, f.lows, f.rates,
		f.papers, f.origins, f.odd, f.paces, map[string][]recentLine{}, f.heads, f.days, f.templates}
	for id, b := range f.benches.all() {
		var list []recentLine
		for _, e := range b.Recent.events() {
			line, err := events.Encode(nil, &e)
			if err != nil {
				return r, fmt.Errorf("save the fold: %w", err)
			}
			list = append(list, recentLine{e.Seq, string(line)})
		}
		r.Recent[f.benches.Keys[id]] = list
	}
	return r, nil
}

// sheetSize is how much is gathered before it is written.
const sheetSize = 1 << 16

// saver writes records and keeps their sum; the first error stays.
type saver struct {
	w     *bufio.Writer
	sum   hash.Hash
	sheet []byte
	err   error
}

func (s *saver) json(v any) {
	b, err := json.Marshal(v)
	if err != nil && s.err == nil {
		s.err = err
	}
	s.record(b)
}

// head writes the first line.
func (s *saver) head(h snapshotHead) {
	b, err := json.Marshal(h)
	b = append(b, '\n')
	s.sum.Write(b)
	_, s.err = s.w.Write(b)
	if err != nil {
		s.err = err
	}
}

// record writes b with its length before it.
func (s *saver) record(b []byte) {
	if s.err != nil {
		return
	}
	size := binary.AppendUvarint(nil, uint64(len(b)))
	s.sum.Write(size)
	s.sum.Write(b)
	s.w.Write(size)
	_, s.err = s.w.Write(b)
}

// row puts a row on the sheet: twice its length, and one more when it may rest.
func (s *saver) row(b []byte, done bool) {
	size := uint64(len(b)) << 1
	if done {
		size |= 1
	}
	s.sheet = append(binary.AppendUvarint(s.sheet, size), b...)
	if len(s.sheet) > sheetSize {
		s.turn()
	}
}

// turn writes the sheet and begins another.
func (s *saver) turn() {
	if len(s.sheet) > 0 {
		s.record(s.sheet)
		s.sheet = s.sheet[:0]
	}
}

func (s *saver) texts(list []string) {
	for _, t := range list[1:] {
		s.row([]byte(t), false)
	}
	s.turn()
}

func saveShelf[ID ~int32, T any](s *saver, sh *shelf[ID, T]) {
	s.texts(sh.Keys)
	for id := ID(1); int(id) < sh.size(); id++ {
		packed, done := sh.packed(id)
		s.row([]byte(packed), done)
	}
	s.turn()
}

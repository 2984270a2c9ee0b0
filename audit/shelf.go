package audit

import (
	"fmt"
	"iter"
	"strings"
)

// shelf holds rows of one noun by number and by name. Row 0 is blank: number 0
// means none.
//
// A row that nobody works on any more rests in its compact form (pack.go): when
// its noun is done with (a carton has left, a run is closed, a tote is empty) and
// warmRows others have been changed since. Questions read a resting row through
// [shelf.row], which unpacks it for them alone; an event that speaks of it again
// wakes it through [shelf.change]. Which rows rest is not to be seen in any
// answer, nor in a snapshot: TestRestingRows plays the random floors with every
// row put to rest at once.
type shelf[ID ~int32, T any] struct {
	Keys []string

	live []*slot[T] // nil: it rests
	rest []string   // the compact form of those that do
	at   index
	done func(*T) bool // may rest; nil: never
	mend func(ID, *T)  // puts back what has no compact form; nil: nothing
	warm []ID          // changed lately, in turn; each is in it once
}

// slot is a row that is awake.
type slot[T any] struct {
	row  T
	warm bool // it stands in the shelf's list of rows changed lately
}

// warmRows is how many changed rows of a noun stay awake although they are done
// with: the next event speaks of them more often than not.
const warmRows = 256

func newShelf[ID ~int32, T any](done func(*T) bool) shelf[ID, T] {
	return shelf[ID, T]{Keys: []string{""}, live: []*slot[T]{{}}, rest: []string{""}, done: done}
}

// size gives the number of rows, the blank one counted.
func (s *shelf[ID, T]) size() int { return len(s.Keys) }

// find gives the number of a name that is there.
func (s *shelf[ID, T]) find(key string) (ID, bool) {
	i := s.at.find(s.Keys, key)
	return ID(i), i > 0
}

// row gives a row to be read. What is written to it may be lost.
func (s *shelf[ID, T]) row(id ID) *T {
	if l := s.live[id]; l != nil {
		return &l.row
	}
	return &s.open(id).row
}

// get gives the row of a name to be read, or nil.
func (s *shelf[ID, T]) get(key string) *T {
	if id, ok := s.find(key); ok {
		return s.row(id)
	}
	return nil
}

// change gives a row to be changed before the next event. It wakes the row.
func (s *shelf[ID, T]) change(id ID) *T {
	l := s.live[id]
	if l == nil {
		l = s.open(id)
		s.live[id], s.rest[id] = l, ""
	}
	if !l.warm && s.done != nil && id != 0 {
		l.warm = true
		s.warm = append(s.warm, id)
	}
	return &l.row
}

// changeOf gives the row of a name to be changed before the next event, or nil.
func (s *shelf[ID, T]) changeOf(key string) *T {
	if id, ok := s.find(key); ok {
		return s.change(id)
	}
	return nil
}

// id gives the number of a name and makes a row when there is none.
func (s *shelf[ID, T]) id(key string) ID {
	if id, ok := s.find(key); ok {
		return id
	}
	id := ID(len(s.Keys))
	s.Keys = append(s.Keys, strings.Clone(key)) // a decoded text may hold a whole line
	s.live, s.rest = append(s.live, &slot[T]{}), append(s.rest, "")
	s.at.add(s.Keys, int32(id))
	if s.mend != nil {
		s.mend(id, &s.live[id].row)
	}
	return id
}

// open unpacks a row that rests.
func (s *shelf[ID, T]) open(id ID) *slot[T] {
	l, err := s.unpack(id)
	if err != nil {
		panic(fmt.Sprintf("audit: row %d, %q: %v", id, s.Keys[id], err))
	}
	return l
}

func (s *shelf[ID, T]) unpack(id ID) (*slot[T], error) {
	l := &slot[T]{}
	err := unpack([]byte(s.rest[id]), &l.row)
	if s.mend != nil {
		s.mend(id, &l.row)
	}
	return l, err
}

// wake unpacks a row of a snapshot that stays awake.
func (s *shelf[ID, T]) wake(id ID) error {
	l, err := s.unpack(id)
	s.live[id], s.rest[id] = l, ""
	return err
}

// packed gives a row in its compact form, and whether it may rest.
func (s *shelf[ID, T]) packed(id ID) (string, bool) {
	if l := s.live[id]; l != nil {
		return string(pack(nil, &l.row)), s.done != nil && s.done(&l.row)
	}
	return s.rest[id], true
}

// settle puts rows to rest until no more than keep of those changed lately are
// awake. One that is not done with yet stays so until it is changed again.
func (s *shelf[ID, T]) settle(keep int) {
	if len(s.warm) < 2*keep && keep > 0 || len(s.warm) == 0 {
		return
	}
	n := len(s.warm) - keep
	for _, id := range s.warm[:n] {
		l := s.live[id]
		if l.warm = false; s.done(&l.row) {
			s.live[id], s.rest[id] = nil, string(pack(nil, &l.row))
		}
	}
	s.warm = append(s.warm[:0], s.warm[n:]...)
}

// all gives every row to be read, in the order they came up.
func (s *shelf[ID, T]) all() iter.Seq2[ID, *T] {
	return func(yield func(ID, *T) bool) {
		for id := ID(1); int(id) < len(s.Keys); id++ {
			if !yield(id, s.row(id)) {
				return
			}
		}
	}
}

// awake gives the rows that do not rest, and so all that are not done with, in
// the order they came up.
func (s *shelf[ID, T]) awake() iter.Seq2[ID, *T] {
	return func(yield func(ID, *T) bool) {
		for i, l := range s.live[1:] {
			if l != nil && !yield(ID(i+1), &l.row) {
				return
			}
		}
	}
}

// Package entry knows who may come in by the HTTP door: PINs, sessions, and the
// browsers that have joined as benches. Roles it does not know; those stand in
// the log, and a badge that is retired there opens nothing here.
//
// All of it is one file, entry.json, in the floor's directory: secrets do not
// belong in a log that is kept for ever. Of PINs it holds salted slow hashes, of
// the tokens in cookies only digests, so that a copy of the file opens no door
// but the house's own. Lost, it costs everybody a new PIN, and nothing else.
package entry

import (
	"crypto/rand"
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"sync"
	"time"
)

// Shift is how long a session lasts: a PIN once a shift.
const Shift = 14 * time.Hour

// Book is the door's own memory. It may be used by many at once.
type Book struct {
	write func([]byte) error
	now   func() time.Time
	slow  chan struct{} // one hash at a time, or guessing would starve the benches

	mu    sync.Mutex
	kept  kept
	wrong map[string]*wrong // badge → guesses
	codes map[string]code
}

// kept is what entry.json holds.
type kept struct {
	House    string             `json:"house"` // password of this machine's own commands
	PINs     map[string]pin     `json:"pins,omitempty"`
	Sessions map[string]Session `json:"sessions,omitempty"` // by digest of the token
	Benches  map[string]string  `json:"benches,omitempty"`  // digest of the token → station
}

// Session is somebody signed in on one browser.
type Session struct {
	Badge   string    `json:"badge"`
	Station string    `json:"station"`
	Bench   bool      `json:"bench,omitempty"` // at a bench; else in an office
	Until   time.Time `json:"until"`
}

// Open reads the book at path; one that is not there begins empty. write replaces
// the file so that a power cut leaves the old one or the new one.
func Open(path string, write func([]byte) error, now func() time.Time) (*Book, error) {
	b := &Book{write: write, now: now, slow: make(chan struct{}, 1), wrong: map[string]*wrong{}, codes: map[string]code{}}
	raw, err := os.ReadFile(path)
	switch {
	case errors.Is(err, fs.ErrNotExist):
	case err != nil:
		return nil, fmt.Errorf("read who may come in: %w", err)
	default:
		if err := json.Unmarshal(raw, &b.kept); err != nil {
			return nil, fmt.Errorf("%s cannot be read: %w; move it away to begin anew: all need new PINs then", path, err)
		}
	}
	if b.kept.PINs == nil {
		b.kept.PINs = map[string]pin{}
	}
	if b.kept.Sessions == nil {
		b.kept.Sessions = map[string]Session{}
	}
	if b.kept.Benches == nil {
		b.kept.Benches = map[string]string{}
	}
	if b.kept.House == "" {
		b.kept.House = rand.Text()
		b.mu.Lock()
		defer b.mu.Unlock()
		return b, b.save()
	}
	return b, nil
}

// House is the password with which this machine's own commands come in.
func (b *Book) House() string {
	b.mu.Lock()
	defer b.mu.Unlock()
	return b.kept.House
}

// save writes the book; the lock is held.
func (b *Book) save() error {
	now := b.now()
	for k, s := range b.kept.Sessions {
		if now.After(s.Until) {
			delete(b.kept.Sessions, k)
		}
	}
	raw, err := json.Marshal(&b.kept)
	if err != nil {
		return err
	}
	if err := b.write(append(raw, '\n')); err != nil {
		return fmt.Errorf("keep who may come in: %w", err)
	}
	return nil
}

// Begin starts a session and gives its token.
func (b *Book) Begin(badge, station string, bench bool) (token string, err error) {
	token = rand.Text()
	b.mu.Lock()
	defer b.mu.Unlock()
	b.kept.Sessions[digest(token)] = Session{badge, station, bench, b.now().Add(Shift)}
	return token, b.save()
}

// Session gives the session of a token; ok is false when there is none any more.
func (b *Book) Session(token string) (s Session, ok bool) {
	b.mu.Lock()
	defer b.mu.Unlock()
	s, ok = b.kept.Sessions[digest(token)]
	return s, ok && b.now().Before(s.Until)
}

// End ends the session of a token.
func (b *Book) End(token string) error {
	b.mu.Lock()
	defer b.mu.Unlock()
	delete(b.kept.Sessions, digest(token))
	return b.save()
}

func digest(token string) string {
	h := sha256.Sum256([]byte(token))
	return hex.EncodeToString(h[:])
}

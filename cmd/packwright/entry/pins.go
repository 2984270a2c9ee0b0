package entry

import (
	"crypto/pbkdf2"
	"crypto/rand"
	"crypto/sha256"
	"crypto/subtle"
	"errors"
	"fmt"
	"time"

	"packwright/prep"
)

// rounds of PBKDF2 with HMAC-SHA-256. Source: OWASP Password Storage Cheat Sheet,
// 600,000 (from memory).
const rounds = 600_000

// A PIN's length, in digits.
const (
	shortPIN = 4
	longPIN  = 8
)

// pin is a PIN that cannot be read back.
type pin struct {
	Salt   []byte `json:"salt"`
	Hash   []byte `json:"hash"`
	Rounds int    `json:"rounds"`
	Once   bool   `json:"once,omitempty"` // given by somebody else: to be changed when first used
}

// wrong counts guesses at one badge.
type wrong struct {
	n     int
	until time.Time
}

// Guesses that a badge has before it is locked, and for how long it is then:
// doubled with each further one, up to an hour.
const (
	guesses   = 5
	firstLock = time.Minute
	longLock  = time.Hour
)

// What a PIN can be answered with.
var (
	ErrWrong = errors.New("badge and PIN do not fit")
	ErrNoPIN = errors.New("this badge has no PIN yet")
)

// Locked: too many wrong PINs; the badge opens nothing before Until.
type Locked struct{ Until time.Time }

func (l *Locked) Error() string {
	return "too many wrong PINs; locked until " + l.Until.Format("15:04")
}

// SetPIN gives a badge its PIN. Once marks one that somebody else has chosen.
// Errors: *prep.InputError.
func (b *Book) SetPIN(badge, digits string, once bool) error {
	if err := plainPIN(digits); err != nil {
		return err
	}
	p := pin{Salt: make([]byte, 16), Rounds: rounds, Once: once}
	if _, err := rand.Read(p.Salt); err != nil {
		return err
	}
	var err error
	if p.Hash, err = b.hash(digits, p); err != nil {
		return err
	}
	b.mu.Lock()
	defer b.mu.Unlock()
	b.kept.PINs[badge] = p
	delete(b.wrong, badge)
	return b.save()
}

func plainPIN(s string) error {
	same := true
	for i, c := range s {
		if c < '0' || c > '9' {
			return prep.Input("a PIN is digits only", fmt.Sprintf("choose %d to %d digits", shortPIN, longPIN))
		}
		same = same && s[i] == s[0]
	}
	if len(s) < shortPIN || len(s) > longPIN || same {
		return prep.Input("that PIN is too easy", fmt.Sprintf("choose %d to %d digits, not all the same", shortPIN, longPIN))
	}
	return nil
}

// Check says whether a PIN is a badge's. once: it was given by somebody else, and
// is to be changed now. Errors: ErrWrong, ErrNoPIN, *Locked.
func (b *Book) Check(badge, digits string) (once bool, err error) {
	p, err := b.mayGuess(badge)
	if err != nil {
		return false, err
	}
	got, err := b.hash(digits, p)
	if err != nil {
		return false, err
	}
	b.mu.Lock()
	defer b.mu.Unlock()
	if subtle.ConstantTimeCompare(got, p.Hash) == 1 {
		delete(b.wrong, badge)
		return p.Once, nil
	}
	return false, b.missed(badge)
}

// mayGuess gives the PIN to compare with, unless the badge is locked.
func (b *Book) mayGuess(badge string) (pin, error) {
	b.mu.Lock()
	defer b.mu.Unlock()
	if w := b.wrong[badge]; w != nil && b.now().Before(w.until) {
		return pin{}, &Locked{w.until}
	}
	p, ok := b.kept.PINs[badge]
	if !ok {
		return pin{}, ErrNoPIN
	}
	return p, nil
}

// missed counts a wrong guess; the lock is held.
func (b *Book) missed(badge string) error {
	w := b.wrong[badge]
	if w == nil {
		w = &wrong{}
		b.wrong[badge] = w
	}
	w.n++
	if w.n < guesses {
		return ErrWrong
	}
	lock := min(firstLock<<min(w.n-guesses, 10), longLock)
	w.until = b.now().Add(lock)
	return &Locked{w.until}
}

// HasPIN says whether a badge has one.
func (b *Book) HasPIN(badge string) bool {
	b.mu.Lock()
	defer b.mu.Unlock()
	_, ok := b.kept.PINs[badge]
	return ok
}

// hash is slow on purpose, and one at a time.
func (b *Book) hash(digits string, p pin) ([]byte, error) {
	b.slow <- struct{}{}
	defer func() { <-b.slow }()
	return pbkdf2.Key(sha256.New, digits, p.Salt, p.Rounds, sha256.Size)
}

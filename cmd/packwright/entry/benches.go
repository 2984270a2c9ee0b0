package entry

import (
	"crypto/rand"
	"fmt"
	"math/big"
	"time"

	"packwright/prep"
)

// codeLasts is how long a code to join may be used, once.
const codeLasts = 10 * time.Minute

// code lets one browser in as a bench.
type code struct {
	station string
	until   time.Time
	tries   int
}

// Code makes a code of six digits that joins one browser as a station's bench.
// An older code of that station is void.
func (b *Book) Code(station string) (digits string, until time.Time, err error) {
	n, err := rand.Int(rand.Reader, big.NewInt(1_000_000))
	if err != nil {
		return "", until, err
	}
	b.mu.Lock()
	defer b.mu.Unlock()
	for k, c := range b.codes {
		if c.station == station || b.now().After(c.until) {
			delete(b.codes, k)
		}
	}
	digits, until = fmt.Sprintf("%06d", n), b.now().Add(codeLasts)
	b.codes[digits] = code{station: station, until: until}
	return digits, until, nil
}

// Codes gives the codes that wait to be used, by station: what the board shows.
func (b *Book) Codes() map[string]string {
	b.mu.Lock()
	defer b.mu.Unlock()
	out := map[string]string{}
	for digits, c := range b.codes {
		if b.now().Before(c.until) {
			out[c.station] = digits
		}
	}
	return out
}

// wrongCodes void every code that waits: six digits are not to be guessed.
const wrongCodes = 5

// Join uses a code: the browser with the token is that station's bench from now
// on. Errors: *prep.InputError.
func (b *Book) Join(digits string) (token, station string, err error) {
	b.mu.Lock()
	defer b.mu.Unlock()
	c, ok := b.codes[digits]
	if !ok || b.now().After(c.until) {
		for k, x := range b.codes {
			if x.tries++; x.tries >= wrongCodes {
				delete(b.codes, k)
			} else {
				b.codes[k] = x
			}
		}
		return "", "", prep.Input("this code joins no bench", "ask the supervisor for a new one; it is on the board for ten minutes")
	}
	delete(b.codes, digits)
	token = rand.Text()
	b.kept.Benches[digest(token)] = c.station
	return token, c.station, b.save()
}

// Bench gives the station that the browser with this token is.
func (b *Book) Bench(token string) (station string, ok bool) {
	b.mu.Lock()
	defer b.mu.Unlock()
	station, ok = b.kept.Benches[digest(token)]
	return station, ok
}

// Leave forgets every browser of a station, as when a tablet is lost.
func (b *Book) Leave(station string) error {
	b.mu.Lock()
	defer b.mu.Unlock()
	for k, s := range b.kept.Benches {
		if s == station {
			delete(b.kept.Benches, k)
		}
	}
	for k, s := range b.kept.Sessions {
		if s.Bench && s.Station == station {
			delete(b.kept.Sessions, k)
		}
	}
	return b.save()
}

// HasBench says whether a browser has joined as this station.
func (b *Book) HasBench(station string) bool {
	b.mu.Lock()
	defer b.mu.Unlock()
	for _, s := range b.kept.Benches {
		if s == station {
			return true
		}
	}
	return false
}

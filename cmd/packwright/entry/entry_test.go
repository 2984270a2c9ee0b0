package entry

import (
	"errors"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"
)

type clock struct{ t time.Time }

func open(t *testing.T, path string, c *clock) *Book {
	t.Helper()
	b, err := Open(path, func(raw []byte) error { return os.WriteFile(path, raw, 0o600) }, func() time.Time { return c.t })
	if err != nil {
		t.Fatal(err)
	}
	return b
}

func fresh(t *testing.T) (*Book, *clock, string) {
	path := filepath.Join(t.TempDir(), "entry.json")
	c := &clock{time.Date(2031, 3, 4, 7, 30, 0, 0, time.UTC)}
	return open(t, path, c), c, path
}

func TestAPINIsLockedAfterGuessing(t *testing.T) {
	b, c, _ := fresh(t)
	if _, err := b.Check("ife", "2580"); !errors.Is(err, ErrNoPIN) {
		t.Fatalf("no PIN: %v", err)
	}
	if err := b.SetPIN("ife", "2580", true); err != nil {
		t.Fatal(err)
	}
	if once, err := b.Check("ife", "2580"); err != nil || !once {
		t.Fatalf("right: once %v, %v", once, err)
	}
	var locked *Locked
	for i := range guesses {
		_, err := b.Check("ife", "1234")
		if i < guesses-1 != errors.Is(err, ErrWrong) || i == guesses-1 != errors.As(err, &locked) {
			t.Fatalf("guess %d: %v", i+1, err)
		}
	}
	if _, err := b.Check("ife", "2580"); !errors.As(err, &locked) {
		t.Fatalf("the right PIN of a locked badge: %v", err)
	}
	c.t = c.t.Add(firstLock)
	if _, err := b.Check("ife", "1234"); !errors.As(err, &locked) || locked.Until.Sub(c.t) != 2*firstLock {
		t.Fatalf("one more wrong one: %v", err)
	}
	c.t = locked.Until
	if _, err := b.Check("ife", "2580"); err != nil {
		t.Fatalf("after the lock: %v", err)
	}
}

func TestEasyPINsAreRefused(t *testing.T) {
	b, _, _ := fresh(t)
	for _, easy := range []string{"", "123", "1111", "12a4", "123456789"} {
		if b.SetPIN("ife", easy, false) == nil {
			t.Errorf("%q was taken", easy)
		}
	}
}

func TestTheBookHoldsNoSecretOfPeopleAndSurvives(t *testing.T) {
	b, c, path := fresh(t)
	if err := b.SetPIN("ife", "2580", false); err != nil {
		t.Fatal(err)
	}
	token, err := b.Begin("ife", "ST-2", true)
	if err != nil {
		t.Fatal(err)
	}
	digits, _, err := b.Code("ST-2")
	if err != nil {
		t.Fatal(err)
	}
	bench, station, err := b.Join(digits)
	if err != nil || station != "ST-2" {
		t.Fatal(station, err)
	}
	raw, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	for _, secret := range []string{"2580", token, bench} {
		if strings.Contains(string(raw), secret) {
			t.Errorf("entry.json holds %q", secret)
		}
	}
	again := open(t, path, c)
	if s, ok := again.Session(token); !ok || s.Badge != "ife" || s.Station != "ST-2" {
		t.Errorf("session after a restart: %+v %v", s, ok)
	}
	if s, ok := again.Bench(bench); !ok || s != "ST-2" {
		t.Errorf("bench after a restart: %q %v", s, ok)
	}
	if again.House() != b.House() {
		t.Error("the house's password changed")
	}
	c.t = c.t.Add(Shift)
	if _, ok := again.Session(token); ok {
		t.Error("a session outlives its shift")
	}
	if err := again.Leave("ST-2"); err != nil {
		t.Fatal(err)
	}
	if _, ok := again.Bench(bench); ok {
		t.Error("a lost tablet still comes in")
	}
}

func TestACodeJoinsOnceAndCannotBeGuessed(t *testing.T) {
	b, c, _ := fresh(t)
	digits, _, err := b.Code("ST-1")
	if err != nil || b.Codes()["ST-1"] != digits {
		t.Fatal(err)
	}
	if _, _, err := b.Join(digits); err != nil {
		t.Fatal(err)
	}
	if _, _, err := b.Join(digits); err == nil {
		t.Error("a code joined twice")
	}
	digits, until, _ := b.Code("ST-1")
	c.t = until.Add(time.Second)
	if _, _, err := b.Join(digits); err == nil {
		t.Error("an old code joined")
	}
	digits, _, _ = b.Code("ST-1")
	for range wrongCodes {
		_, _, _ = b.Join("x")
	}
	if _, _, err := b.Join(digits); err == nil {
		t.Error("a code outlived guessing")
	}
}

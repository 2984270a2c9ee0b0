package main

import (
	"crypto/ed25519"
	"crypto/rand"
	"encoding/base64"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"strings"

	"golang.org/x/mod/sumdb/note"

	"packwright/events"
	"packwright/prep"
)

// headKey is the key that signs the heads of a floor's log: Ed25519, in the
// format of golang.org/x/mod/sumdb/note. Its file lies outside the floor's
// directory, so that whoever can put another log in there cannot sign it; the
// public half stands in the log's first event and in floor.json, and belongs on
// paper (packwright day sheet).
type headKey struct {
	note.Signer
	File   string
	Public string
}

// readKey reads a key's file. Errors: fs.ErrNotExist, *prep.InputError.
func readKey(file string) (*headKey, error) {
	b, err := os.ReadFile(file)
	if err != nil {
		return nil, fmt.Errorf("read the key that signs heads: %w", err)
	}
	k, err := parseKey(strings.TrimSpace(string(b)))
	if err != nil {
		return nil, &prep.InputError{File: file, What: err.Error(), Do: "name the file that packwright init made"}
	}
	k.File = file
	return k, nil
}

// parseKey reads a private key and finds its public half.
func parseKey(private string) (*headKey, error) {
	s, err := note.NewSigner(private)
	if err != nil {
		return nil, fmt.Errorf("it is no private key: %w", err)
	}
	_, tail, _ := strings.Cut(private, fmt.Sprintf("+%08x+", s.KeyHash()))
	seed, err := base64.StdEncoding.DecodeString(tail)
	if err != nil || len(seed) != 1+ed25519.SeedSize {
		return nil, errors.New("it is no Ed25519 key")
	}
	public, err := note.NewEd25519VerifierKey(s.Name(), ed25519.NewKeyFromSeed(seed[1:]).Public().(ed25519.PublicKey))
	if err != nil {
		return nil, err
	}
	return &headKey{Signer: s, Public: public}, nil
}

// makeKey makes the key of a floor and keeps it in a file that only its owner can
// read. No file: one named after the key, in the user's configuration.
func makeKey(floor, file string, at place) (*headKey, error) {
	private, public, err := note.GenerateKey(rand.Reader, events.LogName(floor))
	if err != nil {
		return nil, fmt.Errorf("make a key: %w", err)
	}
	if file == "" {
		if file, err = usualKeyFile(public); err != nil {
			return nil, err
		}
	}
	return keepKey(private, file, at)
}

// keepKey writes a private key where it is not yet, and not beside the log.
func keepKey(private, file string, at place) (*headKey, error) {
	k, err := parseKey(private)
	if err != nil {
		return nil, err
	}
	if k.File, err = filepath.Abs(file); err != nil {
		return nil, err
	}
	if err := apart(k.File, at); err != nil {
		return nil, err
	}
	if _, err := os.Lstat(k.File); !errors.Is(err, fs.ErrNotExist) {
		return nil, errors.Join(err, prep.Input(k.File+" is there already", "name another file with --key; a key is never written over"))
	}
	if err := os.MkdirAll(filepath.Dir(k.File), 0o700); err != nil {
		return nil, err
	}
	return k, writeWhole(k.File, []byte(private+"\n"))
}

// usualKeyFile names the file of a key in the user's configuration.
func usualKeyFile(public string) (string, error) {
	dir, err := os.UserConfigDir()
	if err != nil {
		return "", prep.Input("there is no place for the key: "+err.Error(), "name a file outside the floor's directory with --key")
	}
	name, hash, _ := strings.Cut(public, "+")
	hash, _, _ = strings.Cut(hash, "+")
	return filepath.Join(dir, "packwright", strings.TrimPrefix(name, events.LogName(""))+"-"+hash+".key"), nil
}

// apart refuses a file in the floor's directory, also when links lead there.
func apart(file string, at place) error {
	dir, err := filepath.Abs(string(at))
	if err != nil {
		return err
	}
	if rel, err := filepath.Rel(trueName(dir), trueName(file)); err == nil && rel != ".." && !strings.HasPrefix(rel, ".."+string(filepath.Separator)) {
		return prep.Input(fmt.Sprintf("%s lies in the floor's directory %s", file, at), "keep the key elsewhere, best on another disk: who can change the log must not be able to sign it")
	}
	return nil
}

// trueName follows the links of as much of a path as there is.
func trueName(path string) string {
	if real, err := filepath.EvalSymlinks(path); err == nil {
		return real
	}
	dir := filepath.Dir(path)
	if dir == path {
		return path
	}
	return filepath.Join(trueName(dir), filepath.Base(path))
}

// key gives the key of a floor, nil when it was founded without one. Errors: it
// is not where it should be, or is another's.
func (f founded) key() (*headKey, error) {
	if f.Key == "" {
		return nil, nil
	}
	k, err := readKey(f.KeyFile)
	if err == nil && k.Public != f.Key {
		err = &prep.InputError{File: f.KeyFile, What: "it is not the key that " + f.Floor + " was founded with", Do: "put that one back: " + f.Key}
	}
	return k, err
}

package main

import (
	"bytes"
	"encoding/binary"
	"os"
	"path/filepath"
	"regexp"
	"strconv"

	"github.com/rogpeppe/go-internal/testscript"
)

// blockOf gives the one file in which a small floor's store keeps its frames.
func blockOf(ts *testscript.TestScript, floor string) string {
	found, err := filepath.Glob(filepath.Join(ts.MkAbs(floor), "store", "jetstream", "*", "streams", "*", "msgs", "*.blk"))
	ts.Check(err)
	if len(found) != 1 {
		ts.Fatalf("blocks of %s: %v", floor, found)
	}
	return found[0]
}

// onebyte FLOOR TEXT OTHER writes OTHER where the store of a floor first holds TEXT;
// the two differ in one byte.
func oneByte(ts *testscript.TestScript, neg bool, args []string) {
	if neg || len(args) != 3 || len(args[1]) != len(args[2]) {
		ts.Fatalf("usage: onebyte FLOOR TEXT OTHER, as long as TEXT")
	}
	differ := 0
	for i := range args[1] {
		if args[1][i] != args[2][i] {
			differ++
		}
	}
	block := blockOf(ts, args[0])
	b, err := os.ReadFile(block)
	ts.Check(err)
	if differ != 1 || !bytes.Contains(b, []byte(args[1])) {
		ts.Fatalf("%d bytes differ; %q is there %d times", differ, args[1], bytes.Count(b, []byte(args[1])))
	}
	ts.Check(os.WriteFile(block, bytes.Replace(b, []byte(args[1]), []byte(args[2]), 1), 0o600))
}

// cutoff FLOOR N takes the last N frames out of a floor's store as somebody would who
// knows it: with the store's index, which says how many there were. A record of the
// store begins with its own length, four bytes, little-endian; the highest bit is a
// flag.
func cutOffFrames(ts *testscript.TestScript, neg bool, args []string) {
	if neg || len(args) != 2 {
		ts.Fatalf("usage: cutoff FLOOR N")
	}
	n, err := strconv.Atoi(args[1])
	ts.Check(err)
	block := blockOf(ts, args[0])
	b, err := os.ReadFile(block)
	ts.Check(err)
	var begins []int
	for at := 0; at+4 <= len(b); at += int(binary.LittleEndian.Uint32(b[at:]) &^ (1 << 31)) {
		begins = append(begins, at)
	}
	if n < 1 || n >= len(begins) {
		ts.Fatalf("%d of %d frames", n, len(begins))
	}
	ts.Check(os.WriteFile(block, b[:begins[len(begins)-n]], 0o600))
	ts.Check(os.Remove(filepath.Join(filepath.Dir(block), "index.db")))
}

var onPaper = regexp.MustCompile(`--key (\S+) --head (\S+)`)

// paper FILE KEY HEAD sets two variables to what a printed sheet of a day asks to
// hold the log against.
func paper(ts *testscript.TestScript, neg bool, args []string) {
	if neg || len(args) != 3 {
		ts.Fatalf("usage: paper FILE KEY HEAD")
	}
	m := onPaper.FindStringSubmatch(ts.ReadFile(args[0]))
	if m == nil {
		ts.Fatalf("%s names no key and head", args[0])
	}
	ts.Setenv(args[1], m[1])
	ts.Setenv(args[2], m[2])
}

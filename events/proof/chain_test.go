package proof_test

import (
	"encoding/hex"
	"errors"
	"fmt"
	"strings"
	"testing"

	"golang.org/x/mod/sumdb/tlog"

	"packwright/events"
	"packwright/events/proof"
)

// Published values of RFC 6962 hashing: github.com/transparency-dev/merkle,
// rfc6962/rfc6962_test.go and testonly/constants.go (Apache-2.0).
var (
	leaves = []string{"", "00", "10", "2021", "3031", "40414243", "5051525354555657", "606162636465666768696a6b6c6d6e6f"}
	roots  = []string{
		"e3b0c44298fc1c149afbf4c8996fb92427ae41e4649b934ca495991b7852b855",
		"6e340b9cffb37a989ca544e6bb780a2c78901d3fb33738768511a30617afa01d",
		"fac54203e7cc696cf0dfcb42c92a1d9dbaf70ad9e621f4bd8d98662f00e3c125",
		"aeb6bcfe274b70a14fb067a5e5578264db0fa9b51af5e0ba159158f329e06e77",
		"d37ee418976dd95753c1c73862b9398fa2a2cf9b4ff0fdfe8b30cd95209614b7",
		"4e3bbb1f7b478dcfe71fb631631519a3bca12c9aefca1612bfce4c13a86264d4",
		"76e67dadbcdf1e10e1b74ddc608abd2f98dfb16fbce75277b5232a127f2087ef",
		"ddb89be403809e325750d3d263cd78929c2942b7942a34b77e122c9594a74c8c",
		"5dc9da79a70659a9ad559cb701ded9a2ab9d823aad2f4960cfe370eff4604328",
	}
)

func TestRFC6962(t *testing.T) {
	var tree proof.Tree
	for n, want := range roots {
		if got := proof.Hex(tree.Root()); got != want {
			t.Errorf("root of %d leaves: %s, published %s", n, got, want)
		}
		if tree.Size != int64(n) || !tree.Valid() {
			t.Errorf("after %d leaves: size %d, %d peaks", n, tree.Size, len(tree.Peaks))
		}
		if n < len(leaves) {
			leaf, err := hex.DecodeString(leaves[n])
			if err != nil {
				t.Fatal(err)
			}
			tree.Add(leaf)
		}
	}
	var one proof.Tree
	one.Add([]byte("L123456"))
	if got, want := proof.Hex(one.Root()), "395aa064aa4c29f7010acfe3f25db9485bbd4b91897b6ad7ad547639252b4d56"; got != want {
		t.Errorf("leaf L123456: %s, published %s", got, want)
	}
}

// store keeps the hashes that package tlog asks for, by their storage index.
type store []tlog.Hash

func (s store) ReadHashes(at []int64) ([]tlog.Hash, error) {
	out := make([]tlog.Hash, len(at))
	for i, x := range at {
		out[i] = s[x]
	}
	return out, nil
}

// TestAgainstTlog lets another implementation of the same tree, which keeps
// every node, judge ours, which keeps only the right edge.
func TestAgainstTlog(t *testing.T) {
	var tree proof.Tree
	var nodes store
	for n := range int64(600) {
		line := fmt.Appendf(nil, `{"type":"tote.cleared","data":{"tote":"T-%d"}}`, n)
		hashes, err := tlog.StoredHashes(n, line, nodes)
		if err != nil {
			t.Fatal(err)
		}
		nodes = append(nodes, hashes...)
		tree.Add(line)
		want, err := tlog.TreeHash(n+1, nodes)
		if err != nil {
			t.Fatal(err)
		}
		if tree.Root() != want {
			t.Fatalf("root of %d leaves: %s, want %s", n+1, proof.Hex(tree.Root()), proof.Hex(want))
		}
	}
}

func TestCloneStandsAlone(t *testing.T) {
	var tree proof.Tree
	for n := range 5 {
		tree.Add([]byte{byte(n)})
	}
	before := tree.Root()
	clone := tree.Clone()
	clone.Add([]byte("more"))
	clone.Add([]byte("and more"))
	if tree.Root() != before || tree.Size != 5 {
		t.Error("growing a clone changed its source")
	}
	if clone.Root() == before {
		t.Error("a clone that grew kept its root")
	}
	broken := tree.Clone()
	broken.Peaks = broken.Peaks[1:]
	if broken.Valid() {
		t.Error("a tree without one of its peaks is called valid")
	}
}

// written is a log of n frames of three events each, with headers that are true.
func written(t testing.TB, n int) [][]byte {
	t.Helper()
	var tree proof.Tree
	var out [][]byte
	for f := range n {
		var lines [][]byte
		for i := range 3 {
			lines = append(lines, fmt.Appendf(nil, `{"type":"tote.cleared","cause":"ST-1/1/%d","recorded":"2031-03-04T12:00:00Z","data":{"tote":"T-%02d"}}`, f*3+i+1, i))
		}
		frame, err := events.EncodeFrame(events.Header{Frame: fmt.Sprint("W1-", f), Floor: "lantern-yard", Size: tree.Size, Root: tree.Root()}, lines)
		if err != nil {
			t.Fatal(err)
		}
		for _, l := range lines {
			tree.Add(l)
		}
		out = append(out, frame)
	}
	return out
}

// take reads all frames as sequences 1, 2, 3 …, and says where it stopped.
func take(frames [][]byte) (at int, err error) {
	var c proof.Chain
	for i, f := range frames {
		if _, _, err := c.Take(uint64(i+1), f); err != nil {
			return i + 1, err
		}
	}
	return 0, nil
}

// TestChainNotices: whatever is done to the frames, it is noticed, and at the
// first frame whose past is not what its header says.
func TestChainNotices(t *testing.T) {
	good := written(t, 8)
	if at, err := take(good); err != nil {
		t.Fatalf("a true log stops at frame %d: %v", at, err)
	}
	flip := func(frame []byte, old, with string) []byte {
		out := strings.Replace(string(frame), old, with, 1)
		if out == string(frame) {
			t.Fatalf("%q is not in the frame", old)
		}
		return []byte(out)
	}
	replace := func(i int, f []byte) [][]byte {
		out := append([][]byte(nil), good...)
		out[i] = f
		return out
	}
	for what, c := range map[string]struct {
		frames [][]byte
		at     int
	}{
		"one lost":                 {append(append([][]byte(nil), good[:3]...), good[4:]...), 4},
		"the first lost":           {good[1:], 1},
		"two changed places":       {append(append([][]byte(nil), good[:3]...), good[4], good[3], good[5]), 4},
		"one twice":                {append(append([][]byte(nil), good[:3]...), good[2], good[3]), 4},
		"one sign of an event":     {replace(3, flip(good[3], "T-01", "T-07")), 5},
		"the size in a header":     {replace(3, flip(good[3], `"at":9`, `"at":8`)), 4},
		"a frame of another floor": {replace(3, flip(good[3], "lantern-yard", "harbour-shed")), 4},
		"an event taken out":       {replace(3, flip(flip(good[3], `"n":3`, `"n":2`), `{"type":"tote.cleared","cause":"ST-1/1/11","recorded":"2031-03-04T12:00:00Z","data":{"tote":"T-01"}}`+"\n", "")), 5},
	} {
		at, err := take(c.frames)
		if at != c.at || !errors.Is(err, events.ErrCorrupt) {
			t.Errorf("%s: noticed at frame %d (%v), want frame %d", what, at, err, c.at)
		} else if !strings.Contains(err.Error(), fmt.Sprintf("frame %d", c.at)) {
			t.Errorf("%s: the error does not name frame %d: %v", what, c.at, err)
		}
	}
}

// TestChainGoesOn: a chain taken up from a checkpoint reads the rest, and only
// the rest.
func TestChainGoesOn(t *testing.T) {
	frames := written(t, 6)
	var c proof.Chain
	for i := range 4 {
		if _, _, err := c.Take(uint64(i+1), frames[i]); err != nil {
			t.Fatal(err)
		}
	}
	kept := proof.Chain{Tree: c.Tree.Clone(), Floor: c.Floor, Next: c.Next}
	if _, _, err := kept.Take(4, frames[3]); err == nil {
		t.Error("a frame was taken twice")
	}
	for i := 4; i < 6; i++ {
		h, lines, err := kept.Take(uint64(i+1), frames[i])
		if err != nil || h.N != 3 || len(lines) != 3 {
			t.Errorf("frame %d: %d events, %v", i+1, len(lines), err)
		}
	}
}

package proof_test

import (
	"encoding/hex"
	"fmt"
	"math/rand/v2"
	"slices"
	"testing"

	"golang.org/x/mod/sumdb/tlog"

	"packwright/events/proof"
)

// Published proofs in the trees over the eight leaves of chain_test.go:
// github.com/transparency-dev/merkle (Apache-2.0), the vectors inclusionProofs and
// consistencyProofs of its verification tests, there with leaves from 1; they go
// back to the C++ sources of Certificate Transparency. Leaves here count from 0.
var (
	publishedLines = []struct {
		leaf, size int64
		proof      []string
	}{
		{0, 1, nil},
		{0, 8, []string{
			"96a296d224f285c67bee93c30f8a309157f0daa35dc5b87e410b78630a09cfc7",
			"5f083f0a1a33ca076a95279832580db3e0ef4584bdff1f54c8a360f50de3031e",
			"6b47aaf29ee3c2af9af889bc1fb9254dabd31177f16232dd6aab035ca39bf6e4"}},
		{5, 8, []string{
			"bc1a0643b12e4d2d7c77918f44e0f4f79a838b6cf9ec5b5c283e1f4d88599e6b",
			"ca854ea128ed050b41b35ffc1b87b8eb2bde461e9e3b5596ece6b9d5975a0ae0",
			"d37ee418976dd95753c1c73862b9398fa2a2cf9b4ff0fdfe8b30cd95209614b7"}},
		{2, 3, []string{
			"fac54203e7cc696cf0dfcb42c92a1d9dbaf70ad9e621f4bd8d98662f00e3c125"}},
		{1, 5, []string{
			"6e340b9cffb37a989ca544e6bb780a2c78901d3fb33738768511a30617afa01d",
			"5f083f0a1a33ca076a95279832580db3e0ef4584bdff1f54c8a360f50de3031e",
			"bc1a0643b12e4d2d7c77918f44e0f4f79a838b6cf9ec5b5c283e1f4d88599e6b"}},
	}
	publishedBeginnings = []struct {
		old, size int64
		proof     []string
	}{
		{1, 1, nil},
		{1, 8, []string{
			"96a296d224f285c67bee93c30f8a309157f0daa35dc5b87e410b78630a09cfc7",
			"5f083f0a1a33ca076a95279832580db3e0ef4584bdff1f54c8a360f50de3031e",
			"6b47aaf29ee3c2af9af889bc1fb9254dabd31177f16232dd6aab035ca39bf6e4"}},
		{6, 8, []string{
			"0ebc5d3437fbe2db158b9f126a1d118e308181031d0a949f8dededebc558ef6a",
			"ca854ea128ed050b41b35ffc1b87b8eb2bde461e9e3b5596ece6b9d5975a0ae0",
			"d37ee418976dd95753c1c73862b9398fa2a2cf9b4ff0fdfe8b30cd95209614b7"}},
		{2, 5, []string{
			"5f083f0a1a33ca076a95279832580db3e0ef4584bdff1f54c8a360f50de3031e",
			"bc1a0643b12e4d2d7c77918f44e0f4f79a838b6cf9ec5b5c283e1f4d88599e6b"}},
	}
)

// eight gathers over the published leaves.
func eight(t *testing.T, size int64, lines, older []int64) *proof.Gather {
	t.Helper()
	g, err := proof.NewGather(size, lines, older)
	if err != nil {
		t.Fatal(err)
	}
	for _, l := range leaves { // more than the tree wants are passed over
		b, err := hex.DecodeString(l)
		if err != nil {
			t.Fatal(err)
		}
		g.Add(b)
	}
	return g
}

func inHex(hashes []tlog.Hash) (out []string) {
	for _, h := range hashes {
		out = append(out, proof.Hex(h))
	}
	return out
}

func unhex(t *testing.T, s string) (h tlog.Hash) {
	t.Helper()
	if n, err := hex.Decode(h[:], []byte(s)); err != nil || n != len(h) {
		t.Fatal(s, err)
	}
	return h
}

func TestPublishedProofs(t *testing.T) {
	for _, c := range publishedLines {
		g := eight(t, c.size, []int64{c.leaf}, nil)
		p, err := g.Line(c.leaf)
		if err != nil || !slices.Equal(inHex(p), c.proof) {
			t.Errorf("leaf %d of %d: %v %v, published %v", c.leaf, c.size, inHex(p), err, c.proof)
		}
		raw, _ := hex.DecodeString(leaves[c.leaf])
		if err := tlog.CheckRecord(p, c.size, unhex(t, roots[c.size]), c.leaf, tlog.RecordHash(raw)); err != nil {
			t.Errorf("leaf %d of %d against the published root: %v", c.leaf, c.size, err)
		}
	}
	for _, c := range publishedBeginnings {
		g := eight(t, c.size, nil, []int64{c.old})
		p, err := g.Beginning(c.old)
		if err != nil || !slices.Equal(inHex(p), c.proof) {
			t.Errorf("%d to %d: %v %v, published %v", c.old, c.size, inHex(p), err, c.proof)
		}
		if err := tlog.CheckTree(p, c.size, unhex(t, roots[c.size]), c.old, unhex(t, roots[c.old])); err != nil {
			t.Errorf("%d to %d against the published roots: %v", c.old, c.size, err)
		}
	}
}

// TestGather proves every line and every beginning of trees of all sizes up to
// 70, and some of larger ones; what was not asked for is not to be had.
func TestGather(t *testing.T) {
	line := func(i int64) []byte { return fmt.Appendf(nil, `{"n":%d}`, i) }
	r := rand.New(rand.NewPCG(6, 962))
	for _, size := range append(upTo(70), 1000, 1<<12, 1<<12+1) {
		lines, older := upTo(size), upTo(size)
		if size > 70 {
			lines, older = []int64{1, size, r.Int64N(size) + 1}, []int64{1, size, r.Int64N(size) + 1}
		}
		for i := range lines {
			lines[i]-- // leaves count from 0
		}
		g, err := proof.NewGather(size, lines, older)
		if err != nil {
			t.Fatal(err)
		}
		var tree proof.Tree
		past := map[int64]tlog.Hash{}
		for i := range size {
			g.Add(line(i))
			tree.Add(line(i))
			past[i+1] = tree.Root()
		}
		if !g.Full() || g.Root() != tree.Root() {
			t.Fatalf("size %d: root %s, want %s", size, proof.Hex(g.Root()), proof.Hex(tree.Root()))
		}
		for _, n := range lines {
			p, err := g.Line(n)
			if err == nil {
				err = tlog.CheckRecord(p, size, tree.Root(), n, tlog.RecordHash(line(n)))
			}
			if err != nil {
				t.Fatalf("line %d of %d: %v", n, size, err)
			}
			if tlog.CheckRecord(p, size, tree.Root(), n, tlog.RecordHash(line(n+1))) == nil {
				t.Fatalf("another line passes for line %d of %d", n, size)
			}
		}
		for _, n := range older {
			p, err := g.Beginning(n)
			if err == nil {
				err = tlog.CheckTree(p, size, tree.Root(), n, past[n])
			}
			if err != nil {
				t.Fatalf("beginning %d of %d: %v", n, size, err)
			}
		}
	}
	g, err := proof.NewGather(8, []int64{0}, nil)
	if err != nil {
		t.Fatal(err)
	}
	if _, err := g.Line(7); err == nil {
		t.Error("a proof out of nothing")
	}
	for _, bad := range []struct{ lines, older []int64 }{{[]int64{8}, nil}, {[]int64{-1}, nil}, {nil, []int64{0}}, {nil, []int64{9}}} {
		if _, err := proof.NewGather(8, bad.lines, bad.older); err == nil {
			t.Errorf("%v of 8 lines", bad)
		}
	}
}

func upTo(n int64) (out []int64) {
	for i := range n {
		out = append(out, i+1)
	}
	return out
}

package main

import (
	"bytes"
	"encoding/binary"
	"fmt"
	"maps"
	"math/rand/v2"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"packwright/events"
	"packwright/events/proof"
)

// way is one way of damaging a store. do damages it and says how.
type way struct {
	name   string
	forged bool // whoever did it also made the frames agree with each other
	do     func(*wreckage) string
}

// wreckage is a floor's directory that is being damaged.
type wreckage struct {
	*whole
	t    *testing.T
	dir  string
	dice *rand.Rand
}

var ways = []way{
	{"a bit of a block", false, func(w *wreckage) string { return w.flip(w.pick(".blk")) }},
	{"a bit of any file of the store", false, func(w *wreckage) string { return w.flip(w.pick("")) }},
	{"a bit of a block, and the store's index lost", false, func(w *wreckage) string {
		return w.flip(w.pick(".blk")) + ", " + w.remove(w.pick("index.db"))
	}},
	{"a bit of the snapshot or the auditor's checkpoint", false, func(w *wreckage) string { return w.flip(w.pickBeside()) }},
	{"a file cut short", false, func(w *wreckage) string {
		return w.edit(w.pick(""), "cut", func(b []byte) []byte { return b[:w.below(len(b))] })
	}},
	{"a block cut short, and the store's index lost", false, func(w *wreckage) string {
		w.remove(w.pick("index.db"))
		return w.edit(w.pick(".blk"), "cut, no index", func(b []byte) []byte { return b[:w.below(len(b))] })
	}},
	{"a file emptied", false, func(w *wreckage) string {
		return w.edit(w.pick(""), "emptied", func([]byte) []byte { return nil })
	}},
	{"zeroes in a file", false, func(w *wreckage) string {
		return w.span(w.pick(""), "zeroed", func(b []byte, from, to int) []byte { clear(b[from:to]); return b })
	}},
	{"a piece dropped", false, func(w *wreckage) string {
		return w.span(w.pick(""), "dropped", func(b []byte, from, to int) []byte { return slices.Delete(b, from, to) })
	}},
	{"a piece doubled", false, func(w *wreckage) string {
		return w.span(w.pick(""), "doubled", func(b []byte, from, to int) []byte { return slices.Insert(b, to, bytes.Clone(b[from:to])...) })
	}},
	{"two pieces swapped", false, func(w *wreckage) string {
		return w.span(w.pick(".blk"), "swapped with what follows", func(b []byte, from, to int) []byte {
			next := bytes.Clone(b[to:min(len(b), to+to-from)])
			return slices.Concat(b[:from], next, b[from:to], b[to+len(next):])
		})
	}},
	{"something behind the end", false, func(w *wreckage) string {
		return w.edit(w.pick(""), "lengthened", func(b []byte) []byte { return append(b, w.noise(1+w.below(300))...) })
	}},
	{"a record of a block dropped", false, func(w *wreckage) string {
		return w.records("dropped", func(r [][]byte, i int) [][]byte { return slices.Delete(r, i, i+1) })
	}},
	{"a record of a block doubled", false, func(w *wreckage) string {
		return w.records("doubled", func(r [][]byte, i int) [][]byte { return slices.Insert(r, i, r[i]) })
	}},
	{"two records of a block swapped", false, func(w *wreckage) string {
		return w.records("swapped", func(r [][]byte, i int) [][]byte {
			j := w.below(len(r))
			r[i], r[j] = r[j], r[i]
			return r
		})
	}},
	{"a file deleted", false, func(w *wreckage) string { return w.remove(w.pick("")) }},
	{"the store's indexes deleted", false, func(w *wreckage) string {
		return w.remove(w.pick("index.db")) + ", " + w.remove(w.pickBeside())
	}},
	{"an older copy of a file", false, func(w *wreckage) string {
		name := w.pick("")
		return w.put(name, w.older[name], "as it was half way")
	}},
	{"an older copy of the store", false, func(w *wreckage) string {
		return w.newStore(w.frames[:1+w.below(len(w.frames)-1)], "an older store")
	}},
	{"a frame changed", false, func(w *wreckage) string {
		f, i := w.copied()
		at := w.below(len(f[i]))
		f[i][at] ^= 1 << w.below(8)
		return w.newStore(f, fmt.Sprintf("bit %d of frame %d, written anew", at, i+1))
	}},
	{"a frame left out", false, func(w *wreckage) string {
		f, i := w.copied()
		return w.newStore(slices.Delete(f, i, i+1), fmt.Sprintf("without frame %d", i+1))
	}},
	{"a frame twice", false, func(w *wreckage) string {
		f, i := w.copied()
		return w.newStore(slices.Insert(f, w.below(len(f)), f[i]), fmt.Sprintf("frame %d twice", i+1))
	}},
	{"two frames swapped", false, func(w *wreckage) string {
		f, i := w.copied()
		j := w.below(len(f))
		f[i], f[j] = f[j], f[i]
		return w.newStore(f, fmt.Sprintf("frames %d and %d swapped", i+1, j+1))
	}},
	{"a frame as if it were the last", false, func(w *wreckage) string {
		f, i := w.copied()
		return w.newStore(append(f, f[i]), fmt.Sprintf("frame %d once more at the end", i+1))
	}},
	{"an event changed, and every header made to agree", true, func(w *wreckage) string {
		f, i := w.copied()
		forged, how := rechained(w, f, i)
		return w.newStore(forged, how)
	}},
}

// rechained changes one event's line and gives every later header the sizes and
// roots that then hold. The cells stay as they were.
func rechained(w *wreckage, frames [][]byte, i int) ([][]byte, string) {
	chain, how := proof.Chain{}, ""
	for at, f := range frames {
		h, lines, err := events.SplitFrame(f)
		must(w.t, err)
		if at == i {
			k := w.below(len(lines))
			lines[k], how = changed(lines[k]), fmt.Sprintf("event %d.%d changed, all headers made to agree", i+1, k)
		}
		h.Size, h.Root = chain.Tree.Size, chain.Tree.Root()
		frames[at], err = events.EncodeFrame(h, lines)
		must(w.t, err)
		if _, _, err := chain.Take(uint64(at)+1, frames[at]); err != nil {
			w.t.Fatal(err)
		}
	}
	return frames, how
}

// changed gives an event's line another sum or time, so that it still decodes
// and moves the same goods.
func changed(line []byte) []byte {
	out := bytes.Clone(line)
	for _, name := range []string{`"sum":"`, `"recorded":"`, `"at":"`} {
		if at := bytes.Index(out, []byte(name)); at >= 0 {
			at += len(name) + 3
			if out[at] == '1' {
				out[at] = '2'
			} else {
				out[at] = '1'
			}
			return out
		}
	}
	out[len(out)/2] ^= 1
	return out
}

func (w *wreckage) below(n int) int { return w.dice.IntN(max(n, 1)) }

func (w *wreckage) noise(n int) []byte {
	b := make([]byte, n)
	for i := range b {
		b[i] = byte(w.dice.Uint32())
	}
	return b
}

// pick chooses a file of the store whose name ends so.
func (w *wreckage) pick(suffix string) string { return w.choose(suffix, isStore) }

// pickBeside chooses among the files that a start would use beside the log.
func (w *wreckage) pickBeside() string {
	return w.choose("", func(name string) bool { return strings.HasPrefix(name, "snapshot") })
}

func (w *wreckage) choose(suffix string, ok func(string) bool) string {
	names := slices.Sorted(maps.Keys(w.files))
	names = slices.DeleteFunc(names, func(n string) bool { return !ok(n) || !strings.HasSuffix(n, suffix) })
	if len(names) == 0 {
		w.t.Fatalf("the floor has no file that ends in %q", suffix)
	}
	return names[w.below(len(names))]
}

// edit rewrites a file.
func (w *wreckage) edit(name, how string, fn func([]byte) []byte) string {
	path := filepath.Join(w.dir, name)
	b, err := os.ReadFile(path)
	must(w.t, err)
	n := len(b)
	b = fn(b)
	must(w.t, os.WriteFile(path, b, 0o600))
	return fmt.Sprintf("%s of %d bytes %s, %d bytes now", name, n, how, len(b))
}

func (w *wreckage) put(name string, b []byte, how string) string {
	return w.edit(name, how, func([]byte) []byte { return b })
}

func (w *wreckage) flip(name string) string {
	at := 0
	said := w.edit(name, "flipped", func(b []byte) []byte {
		if at = w.below(len(b)); len(b) > 0 {
			b[at] ^= 1 << w.below(8)
		}
		return b
	})
	return fmt.Sprintf("%s at %d", said, at)
}

func (w *wreckage) remove(name string) string {
	must(w.t, os.Remove(filepath.Join(w.dir, name)))
	return name + " deleted"
}

// span edits a piece of a file: of any length, or whole disk blocks.
func (w *wreckage) span(name, how string, fn func(b []byte, from, to int) []byte) string {
	from, to := 0, 0
	said := w.edit(name, how, func(b []byte) []byte {
		unit := []int{1, 512, 4096}[w.below(3)]
		from = w.below(len(b)) / unit * unit
		to = min(len(b), from+unit*(1+w.below(16)))
		return fn(b, from, to)
	})
	return fmt.Sprintf("%s, %d to %d", said, from, to)
}

// records edits a block record by record. A record begins with its own length,
// four bytes, little-endian; the highest bit is a flag.
func (w *wreckage) records(how string, fn func([][]byte, int) [][]byte) string {
	at := 0
	said := w.edit(w.pick(".blk"), how, func(b []byte) []byte {
		var list [][]byte
		for len(b) > 0 {
			n := int(binary.LittleEndian.Uint32(b) &^ (1 << 31))
			list, b = append(list, b[:n:n]), b[n:]
		}
		at = w.below(len(list))
		return bytes.Join(fn(list, at), nil)
	})
	return fmt.Sprintf("%s, record %d", said, at+1)
}

// copied gives the frames to be changed, and one of them.
func (w *wreckage) copied() ([][]byte, int) {
	out := make([][]byte, len(w.frames))
	for i, f := range w.frames {
		out[i] = bytes.Clone(f)
	}
	return out, w.below(len(out))
}

// newStore puts a store of these frames in the place of the floor's own: all
// its checksums are right.
func (w *wreckage) newStore(frames [][]byte, how string) string {
	must(w.t, os.RemoveAll(place(w.dir).store()))
	writeStore(w.t, w.dir, w.about.Floor, frames)
	return how
}

package powercut

import (
	"errors"
	"fmt"
	"math/rand/v2"
	"os"
	"path/filepath"
	"slices"
)

// page is the unit in which unsynced writes are lost.
const page = 4096

// Names says by which fsync a name is made to last.
type Names int

// The two models; see the package comment.
const (
	ByFileOrDir Names = iota
	ByDir
)

func (n Names) String() string {
	return []string{"names by file or directory", "names by directory"}[n]
}

// ErrNotAllowed: this system lets nobody trace processes.
var ErrNotAllowed = errors.New("ptrace is not allowed here")

// Kind is what a call does.
type Kind int

// The kinds of calls. For names, Node is the file or directory named and Dir,
// Name where; a rename also has OldDir and OldName.
const (
	Write  Kind = iota // Data at At
	Length             // to At
	Sync               // of Node, a file or a directory
	Make               // a new name, of a new file
	MakeDir
	Rename
	Remove
	Say // Data is a line of standard output
)

// Call is one thing that the program did. Begun and Done are moments: places in
// the one order of all beginnings and endings.
type Call struct {
	Kind          Kind
	Begun, Done   int
	Node          int
	At            int64
	Data          []byte
	Dir, OldDir   int
	Name, OldName string
}

// Tape is a record. Node 0 is the directory itself, which is there.
type Tape struct {
	Calls   []Call // in the order in which they were done
	Moments int
	Dirs    map[int]bool // nodes that are directories
}

// Said gives the lines that the program had begun to write before a moment.
func (t *Tape) Said(moment int) (out []string) {
	for _, c := range t.Calls {
		if c.Kind == Say && c.Begun < moment {
			out = append(out, string(c.Data))
		}
	}
	return out
}

// Cut writes to dir what the disk may hold when the power fails at a moment. The
// dice choose what is lost of that which may be. It tells how many calls were.
func (t *Tape) Cut(moment int, names Names, dice *rand.Rand, dir string) (lost int, err error) {
	d := &disk{tape: t, moment: moment, names: names, dice: dice, files: map[int][]byte{}, entries: map[int]map[string]int{0: {}}}
	d.keep = []float64{0, 0.1, 0.5, 0.9, 1}[dice.IntN(5)]
	d.play()
	return d.lost, d.write(0, dir)
}

// disk is the state of a disk while it is worked out.
type disk struct {
	tape    *Tape
	moment  int
	names   Names
	dice    *rand.Rand
	keep    float64 // how likely it is that something unsynced is kept
	lost    int
	files   map[int][]byte
	entries map[int]map[string]int
}

// play does again what lasts, and what happens to be kept.
func (d *disk) play() {
	synced := d.syncs()
	for _, c := range d.tape.Calls {
		if c.Begun >= d.moment {
			continue
		}
		lasts := func(node int) bool { return c.Done < synced[node] }
		switch c.Kind {
		case Write:
			d.put(c, lasts(c.Node))
		case Length:
			if d.kept(lasts(c.Node)) {
				d.resize(c.Node, int(c.At))
			}
		case Make, MakeDir, Rename, Remove:
			last := lasts(c.Dir)
			if c.Kind != Remove && d.names == ByFileOrDir {
				last = last || lasts(c.Node)
			}
			if d.kept(last) {
				d.name(c)
			}
		}
	}
}

// syncs gives, of each node, the moment at which its last sync that was done
// before the cut had begun: all that was done before lasts.
func (d *disk) syncs() map[int]int {
	out := map[int]int{}
	for _, c := range d.tape.Calls {
		if c.Kind == Sync && c.Done < d.moment {
			out[c.Node] = max(out[c.Node], c.Begun)
		}
	}
	return out
}

func (d *disk) kept(lasts bool) bool {
	if lasts || d.dice.Float64() < d.keep {
		return true
	}
	d.lost++
	return false
}

// put writes, page by page.
func (d *disk) put(c Call, lasts bool) {
	for from := 0; from < len(c.Data); {
		at := int(c.At) + from
		n := min(len(c.Data)-from, page-at%page)
		if d.kept(lasts) {
			if len(d.files[c.Node]) < at+n {
				d.resize(c.Node, at+n)
			}
			copy(d.files[c.Node][at:], c.Data[from:from+n])
		}
		from += n
	}
}

func (d *disk) resize(node, n int) {
	b := d.files[node]
	if n <= len(b) {
		d.files[node] = b[:n:n]
		return
	}
	d.files[node] = append(b, make([]byte, n-len(b))...)
}

func (d *disk) name(c Call) {
	if c.Kind == Rename {
		delete(d.dir(c.OldDir), c.OldName)
	}
	if c.Kind == Remove {
		delete(d.dir(c.Dir), c.Name)
		return
	}
	d.dir(c.Dir)[c.Name] = c.Node
}

func (d *disk) dir(node int) map[string]int {
	if d.entries[node] == nil {
		d.entries[node] = map[string]int{}
	}
	return d.entries[node]
}

// write writes a directory out.
func (d *disk) write(node int, path string) error {
	if err := os.MkdirAll(path, 0o700); err != nil {
		return err
	}
	for name, n := range d.entries[node] {
		to := filepath.Join(path, name)
		var err error
		if d.tape.Dirs[n] {
			err = d.write(n, to)
		} else {
			err = os.WriteFile(to, d.files[n], 0o600)
		}
		if err != nil {
			return err
		}
	}
	return nil
}

// Cuts gives n moments to cut at, in order: a third anywhere, a third right
// after something was said, a third in the middle of what was begun and not yet
// done: around syncs and changes of names.
func (t *Tape) Cuts(n int, dice *rand.Rand) (out []int) {
	var said, busy []int
	for _, c := range t.Calls {
		switch c.Kind {
		case Say:
			said = append(said, c.Begun+1)
		case Write, Length:
		default:
			busy = append(busy, c.Begun, c.Begun+1, c.Done, c.Done+1)
		}
	}
	for i := range n {
		switch from := [][]int{nil, said, busy}[i%3]; {
		case len(from) > 0:
			out = append(out, from[dice.IntN(len(from))])
		default:
			out = append(out, dice.IntN(t.Moments+1))
		}
	}
	slices.Sort(out)
	return out
}

// String tells a call, for the one who looks for what was lost.
func (c Call) String() string {
	word := []string{"write", "length", "sync", "make", "make dir", "rename", "remove", "say"}[c.Kind]
	return fmt.Sprintf("%d-%d %s node %d %s%s at %d, %d bytes", c.Begun, c.Done, word, c.Node, c.Name, c.OldName, c.At, len(c.Data))
}

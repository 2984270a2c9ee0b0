package natslog

import (
	"encoding/binary"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"sync"
	"time"

	"packwright/events"
)

// walk goes over block files record by record before the server reads them. The
// server believes each record's sequence and notes every number that it passes
// over: one flipped bit in a sequence makes it note as many numbers as memory
// holds, and the process dies of it. So no block is given to the server before
// its records were seen to be numbered one after the other. A block is walked
// once: those that the server reads when it starts, before that; others before
// the first frame is asked of them. Contents are not looked at here: they have
// the server's checksums, and the frames prove themselves.
type walk struct {
	mu     sync.Mutex
	blocks []block // by number, as they were at the start
}

type block struct {
	path  string
	first uint64 // the number on its first record
	time  int64  // when that was written, by the server's clock: ns since 1970
	last  bool   // was the newest: its end may be torn
	done  bool
}

// A record is a header of 22 bytes (length, sequence, time, length of the
// subject), subject, contents, and a checksum of 8 bytes. The length counts all;
// its highest bit says that the message's headers, and before them their length
// in 4 bytes, stand between subject and contents.
const (
	recordHead = 22
	recordSum  = 8
	headersBit = 1 << 31
	deletedBit = 1 << 62 // of a sequence: a note that another record was deleted
	erasedBit  = 1 << 63 // of a sequence: the record itself was
)

// recent is how old a block is at most that the server reads when it starts: it
// looks for doublets of the last Duplicates, and then some.
const recent = 10 * time.Minute

// openWalk takes stock of the blocks in dir, which may not exist yet, and walks
// those that the server reads when it starts now. Error: ErrCorrupt, with the place.
func openWalk(dir string, now time.Time) (*walk, error) {
	w := &walk{}
	names, err := filepath.Glob(filepath.Join(dir, "*.blk"))
	if err != nil || len(names) == 0 {
		return w, err
	}
	slices.SortFunc(names, func(a, b string) int { return blockNumber(a) - blockNumber(b) })
	for i, path := range names {
		b := block{path: path, last: i == len(names)-1}
		if err := b.begin(); err != nil {
			return w, err
		}
		if n := len(w.blocks); n > 0 && b.first != 0 && b.first <= w.blocks[n-1].first {
			return w, fmt.Errorf("%w: %s, byte 0: it begins with frame %d, the block before it with frame %d", events.ErrCorrupt, filepath.Base(path), b.first, w.blocks[n-1].first)
		}
		w.blocks = append(w.blocks, b)
	}
	for i := range w.blocks {
		if i+2 >= len(w.blocks) || w.blocks[i+1].time > now.Add(-recent).UnixNano() {
			if err := w.do(i); err != nil {
				return w, err
			}
		}
	}
	return w, nil
}

func blockNumber(path string) int {
	n, _ := strconv.Atoi(strings.TrimSuffix(filepath.Base(path), ".blk"))
	return n
}

// begin reads number and time of a block's first record; both stay 0 if it has none.
func (b *block) begin() error {
	f, err := os.Open(b.path)
	if err != nil {
		return err
	}
	defer f.Close()
	var head [recordHead]byte
	if _, err := io.ReadFull(f, head[:]); err != nil {
		return nil // empty, or torn
	}
	b.first = binary.LittleEndian.Uint64(head[4:]) &^ (deletedBit | erasedBit)
	b.time = int64(binary.LittleEndian.Uint64(head[12:]))
	return nil
}

// over walks the blocks that hold frames from to to, unless they were walked
// before. nil of an external log has none.
func (w *walk) over(from, to uint64) error {
	if w == nil {
		return nil
	}
	w.mu.Lock()
	defer w.mu.Unlock()
	for i := range w.blocks {
		ends := i+1 < len(w.blocks) && w.blocks[i+1].first != 0 && w.blocks[i+1].first <= from
		if !ends && w.blocks[i].first <= to {
			if err := w.do(i); err != nil {
				return err
			}
		}
	}
	return nil
}

func (w *walk) do(i int) error {
	b := &w.blocks[i]
	if b.done {
		return nil
	}
	next, err := w.records(b, nil)
	if err == nil && i+1 < len(w.blocks) && next > 0 && w.blocks[i+1].first != 0 && w.blocks[i+1].first != next {
		err = fmt.Errorf("%w: %s, byte 0: frame %d is due, the record says %d", events.ErrCorrupt, filepath.Base(w.blocks[i+1].path), next, w.blocks[i+1].first)
	}
	b.done = err == nil
	return err
}

// frames gives each frame that stands before the first wrong record.
func (w *walk) frames(each func(seq uint64, frame []byte) error) error {
	w.mu.Lock()
	defer w.mu.Unlock()
	for i := range w.blocks {
		if _, err := w.records(&w.blocks[i], each); err != nil {
			return err
		}
	}
	return nil
}

// records goes over a block and gives the number that is due after it, 0 if it
// holds none. each, which may be nil, is given every frame before what is wrong.
func (w *walk) records(b *block, each func(seq uint64, frame []byte) error) (due uint64, err error) {
	room := blockRooms.Get().(*[]byte)
	defer blockRooms.Put(room)
	raw, err := readInto(room, b.path)
	if err != nil {
		return 0, err
	}
	for at := 0; at < len(raw); {
		n, contents, whole := recordAt(raw[at:])
		if !whole && b.last {
			return due, nil // torn by a crash: the server cuts it off
		}
		place := fmt.Sprintf("%s, byte %d", filepath.Base(b.path), at)
		if !whole {
			return due, fmt.Errorf("%w: %s: the record of frame %d is broken", events.ErrCorrupt, place, due)
		}
		rec := raw[at : at+n]
		at += n
		seq := binary.LittleEndian.Uint64(rec[4:])
		if seq&deletedBit != 0 {
			continue
		}
		seq &^= erasedBit
		switch {
		case due != 0 && seq != due && (seq > due || !b.last || at < len(raw)):
			return due, fmt.Errorf("%w: %s: frame %d is due, the record says %d", events.ErrCorrupt, place, due, seq)
		case seq < due:
			return due, nil // torn
		}
		due = seq + 1
		if each != nil {
			if err := each(seq, rec[contents:n-recordSum]); err != nil {
				return due, err
			}
		}
	}
	return due, nil
}

// recordAt gives the length of the record at the beginning of b, and where in it
// the contents begin. whole: all of it is there, by the measures of the server.
func recordAt(b []byte) (n, contents int, whole bool) {
	if len(b) < recordHead {
		return 0, 0, false
	}
	size := binary.LittleEndian.Uint32(b)
	n = int(size &^ headersBit)
	contents = recordHead + int(binary.LittleEndian.Uint16(b[20:]))
	if n > len(b) || contents+recordSum > n {
		return n, contents, false
	}
	if size&headersBit == 0 {
		return n, contents, true
	}
	room := n - recordSum - contents - 4
	if room < 0 {
		return n, contents, false
	}
	headers := uint64(binary.LittleEndian.Uint32(b[contents:]))
	if headers > uint64(room) {
		return n, n - recordSum, true // the checksum will tell
	}
	return n, contents + 4 + int(headers), true
}

// blockRooms are what blocks are read into, 8 MB each: one for all logs of a
// process as a rule, and none soon after the last block was walked.
var blockRooms = sync.Pool{New: func() any { return new([]byte) }}

// readInto reads a file into room, which grows as need be.
func readInto(room *[]byte, path string) ([]byte, error) {
	f, err := os.Open(path)
	if err != nil {
		return nil, err
	}
	defer f.Close()
	st, err := f.Stat()
	if err != nil {
		return nil, err
	}
	if n := int(st.Size()); cap(*room) < n {
		*room = make([]byte, n)
	}
	n, err := io.ReadFull(f, (*room)[:st.Size()])
	return (*room)[:n], err
}

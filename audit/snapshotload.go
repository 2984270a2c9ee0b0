package audit

import (
	"bufio"
	"bytes"
	"crypto/sha256"
	"encoding/hex"
	"fmt"
	"hash"
	"io"

	json "github.com/goccy/go-json"

	"packwright/events"
)

// Load reads what Save wrote. The sum over all lines and the digest of all
// cells, counted anew, must both agree: a snapshot that fails is an error, to be
// answered by a rebuild from the log.
func Load(r io.Reader) (*Fold, error) {
	l := &loader{r: bufio.NewReaderSize(r, 1<<16), sum: sha256.New()}
	f := New()
	var head snapshotHead
	if l.line(&head); l.err == nil && head.Version != snapshotVersion {
		return nil, fmt.Errorf("load the fold: it is of version %d, this program writes %d", head.Version, snapshotVersion)
	}
	var rest snapshotRest
	l.line(&rest)
	f.last, f.now, f.placed, f.count, f.founded, f.sizes = head.Last, head.Now, head.Placed, head.Count, head.Founded, head.Sizes
	loadShelf(l, &f.lots, head.Rows[0])
	loadShelf(l, &f.runs, head.Rows[1])
	loadShelf(l, &f.places, head.Rows[2])
	loadShelf(l, &f.cartons, head.Rows[3])
	loadShelf(l, &f.plans, head.Rows[4])
	loadShelf(l, &f.matters, head.Rows[5])
	loadShelf(l, &f.benches, head.Rows[6])
	for i := 0; i < head.Books && l.err == nil; i++ {
		var b book
		l.line(&b)
		f.books = append(f.books, b)
	}
	for i := 0; i < head.Pages && l.err == nil; i++ {
		l.check(f.unpackPage(l.raw()))
	}
	l.end()
	if l.err == nil {
		l.check(f.takeRest(rest))
	}
	if l.err != nil {
		return nil, fmt.Errorf("load the fold: %w", l.err)
	}
	if f.digest, f.byStage = f.recount(); f.digest != head.Cells {
		return nil, fmt.Errorf("load the fold: its cells give %s, it was saved with %s", f.digest, head.Cells)
	}
	return f, nil
}

func (f *Fold) takeRest(r snapshotRest) error {
	f.names.List = r.Names
	f.names.index()
	f.loads, f.claims, f.holds, f.badges, f.scales, f.items = r.Loads, r.Claims, r.Holds, r.Badges, r.Scales, r.Items
	f.props, f.matlots, f.serials, f.printed, f.papers, f.origins = r.Props, r.MatLots, r.Serials, r.Printed, r.Papers, r.Origins
	f.lows, f.rates, f.heads, f.days = r.Lows, r.Rates, r.Heads, r.Days
	f.odd, f.paces = r.Odd, r.Paces
	for i, run := range f.runs.Rows {
		run.self = []runID{runID(i)}
	}
	for key, list := range r.Recent {
		b := f.benches.get(key)
		for _, rl := range list {
			e, err := events.Decode([]byte(rl.Line))
			if err != nil || b == nil {
				return fmt.Errorf("an event of bench %q: %v", key, err)
			}
			e.Seq = rl.Seq
			b.Recent.add(&e)
		}
	}
	return nil
}

// recount sums the digest of all cells, and the units at each stage, from nothing.
func (f *Fold) recount() (events.Digest, [stageCount]int) {
	var d events.Digest
	var n [stageCount]int
	for at, p := range f.places.Rows {
		for i := range p.Heaps {
			d.Add(f.hashOf(&p.Heaps[i], placeID(at)), p.Heaps[i].N)
			n[p.Heaps[i].Stage] += p.Heaps[i].N
		}
		for _, m := range p.Marks {
			d.Add(f.markHash(f.unit(m), m), 1)
			n[f.unit(m).Stage]++
		}
	}
	for _, l := range f.lots.Rows {
		for i := range l.Gone {
			d.Add(f.hashOf(&l.Gone[i], 0), l.Gone[i].N)
			n[l.Gone[i].Stage] += l.Gone[i].N
		}
	}
	return d, n
}

// loader reads lines and keeps their sum; the first error stays.
type loader struct {
	r   *bufio.Reader
	sum hash.Hash
	buf bytes.Buffer
	err error
}

func (l *loader) check(err error) {
	if l.err == nil {
		l.err = err
	}
}

// raw gives the next line without its newline; it holds until the next call.
func (l *loader) raw() []byte {
	l.buf.Reset()
	for l.err == nil {
		part, err := l.r.ReadSlice('\n')
		l.buf.Write(part)
		if err == nil {
			l.sum.Write(l.buf.Bytes())
			return l.buf.Bytes()[:l.buf.Len()-1]
		}
		if err != bufio.ErrBufferFull {
			l.err = fmt.Errorf("it is cut short: %w", err)
		}
	}
	return nil
}

func (l *loader) line(v any) {
	if b := l.raw(); l.err == nil {
		l.check(json.Unmarshal(b, v))
	}
}

// end compares the sum with the last line.
func (l *loader) end() {
	want := hex.EncodeToString(l.sum.Sum(nil))
	if got := string(l.raw()); l.err == nil && got != want {
		l.err = fmt.Errorf("its sum is %.16s, its lines give %.16s", got, want)
	}
}

func loadShelf[ID ~int32, T any](l *loader, sh *shelf[ID, T], n int) {
	for i := 1; i < n && l.err == nil; i++ {
		var r row[T]
		if l.line(&r); r.Row == nil {
			l.check(fmt.Errorf("row %d is missing", i))
			return
		}
		sh.Keys = append(sh.Keys, r.Key)
		sh.Rows = append(sh.Rows, r.Row)
	}
	sh.index()
}

package audit

import (
	"bufio"
	"cmp"
	"crypto/sha256"
	"encoding/binary"
	"fmt"
	"hash"
	"io"
	"slices"

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
	if l.head(&head); l.err == nil && head.Version != snapshotVersion {
		return nil, fmt.Errorf("load the fold: it is of version %d, this program writes %d", head.Version, snapshotVersion)
	}
	var rest snapshotRest
	l.json(&rest)
	f.last, f.now, f.placed, f.count, f.founded, f.sizes = head.Last, head.Now, head.Placed, head.Count, head.Founded, head.Sizes
	for i := 0; i < head.Books && l.err == nil; i++ {
		var b book
		l.json(&b)
		f.books = append(f.books, b)
	}
	f.names.List = l.texts(head.Names)
	f.names.at.build(f.names.List)
	f.loadPrinted(l, head.Printed)
	loadShelf(l, &f.lots, head.Rows[0])
	loadShelf(l, &f.runs, head.Rows[1])
	loadShelf(l, &f.places, head.Rows[2])
	loadShelf(l, &f.cartons, head.Rows[3])
	loadShelf(l, &f.plans, head.Rows[4])
	loadShelf(l, &f.matters, head.Rows[5])
	loadShelf(l, &f.benches, head.Rows[6])
	loadShelf(l, &f.loads, head.Rows[7])
	f.loadKin(l, head.Kin)
	f.loadPages(l, head.Pages)
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
	f.loadAsked()
	return f, nil
}

func (f *Fold) loadPrinted(l *loader, n int) {
	for i := 0; i < n && l.err == nil; i++ {
		b, _ := l.row()
		f.printed = append(f.printed, printed{})
		l.check(unpack([]byte(b), &f.printed[i]))
		f.numbered = f.numbered || f.printed[i].Rev != 0
		f.byMark = append(f.byMark, int32(i))
	}
	slices.SortStableFunc(f.byMark, func(a, b int32) int { return cmp.Compare(f.printed[a].From, f.printed[b].From) })
}

func (f *Fold) loadPages(l *loader, n int) {
	for i := 0; i < n && l.err == nil; i++ {
		number, _ := l.row()
		packed, done := l.row()
		no, k := binary.Uvarint([]byte(number))
		if k <= 0 {
			l.check(fmt.Errorf("page %d of the marks has no number", i))
			return
		}
		f.marks.rest[uint32(no)] = packed
		f.marks.order = append(f.marks.order, uint32(no))
		if !done {
			l.check(f.marks.wake(uint32(no)))
		}
	}
}

func (f *Fold) takeRest(r snapshotRest) error {
	f.claims, f.holds, f.badges, f.scales, f.items = r.Claims, r.Holds, r.Badges, r.Scales, r.Items
	f.props, f.matlots, f.serials, f.papers, f.origins = r.Props, r.MatLots, r.Serials, r.Papers, r.Origins
	f.lows, f.rates, f.heads, f.days = r.Lows, r.Rates, r.Heads, r.Days
	f.odd, f.paces, f.templates = r.Odd, r.Paces, r.Templates
	for key, list := range r.Recent {
		b := f.benches.changeOf(key)
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
	for at, p := range f.places.awake() { // what rests is empty
		for i := range p.Heaps {
			d.Add(f.hashOf(&p.Heaps[i], at), p.Heaps[i].N)
			n[p.Heaps[i].Stage] += p.Heaps[i].N
		}
		for _, m := range p.Marks {
			d.Add(f.markHash(f.unit(m), m), 1)
			n[f.unit(m).Stage]++
		}
	}
	for _, l := range f.lots.all() {
		for i := range l.Gone {
			d.Add(f.hashOf(&l.Gone[i], 0), l.Gone[i].N)
			n[l.Gone[i].Stage] += l.Gone[i].N
		}
	}
	return d, n
}

// loader reads records and keeps their sum; the first error stays.
type loader struct {
	r     *bufio.Reader
	sum   hash.Hash
	sheet string // what is left of it
	err   error
}

// biggestRecord is what a record may be at most; a length beyond it is damage.
const biggestRecord = 1 << 30

func (l *loader) check(err error) {
	if l.err == nil {
		l.err = err
	}
}

// head reads the first line.
func (l *loader) head(h *snapshotHead) {
	b, err := l.r.ReadBytes('\n')
	if err != nil {
		l.check(fmt.Errorf("it is cut short: %w", err))
		return
	}
	l.sum.Write(b)
	l.check(json.Unmarshal(b, h))
}

// record gives the next record.
func (l *loader) record() []byte {
	n, err := binary.ReadUvarint(l.r)
	if err == nil && n > biggestRecord {
		err = fmt.Errorf("a record of %d bytes", n)
	}
	if l.err != nil || err != nil {
		l.check(fmt.Errorf("it is cut short: %w", err))
		return nil
	}
	b, err := io.ReadAll(io.LimitReader(l.r, int64(n)))
	if err == nil && uint64(len(b)) < n {
		err = io.ErrUnexpectedEOF
	}
	if err != nil {
		l.check(fmt.Errorf("it is cut short: %w", err))
		return nil
	}
	l.sum.Write(binary.AppendUvarint(nil, n))
	l.sum.Write(b)
	return b
}

func (l *loader) json(v any) {
	if b := l.record(); l.err == nil {
		l.check(json.Unmarshal(b, v))
	}
}

// row takes the next row off the sheet, and says whether it may rest.
func (l *loader) row() (string, bool) {
	if l.sheet == "" {
		l.sheet = string(l.record())
	}
	size, n := uvarint(l.sheet)
	if l.err != nil || n <= 0 || size>>1 > uint64(len(l.sheet)-n) {
		l.check(fmt.Errorf("a sheet is cut short"))
		return "", false
	}
	row := l.sheet[n : n+int(size>>1)]
	l.sheet = l.sheet[n+len(row):]
	return row, size&1 == 1
}

// uvarint is binary.Uvarint for a string.
func uvarint(s string) (uint64, int) {
	return binary.Uvarint([]byte(s[:min(len(s), binary.MaxVarintLen64)]))
}

// texts reads a list of n texts of which the first is empty and not kept.
func (l *loader) texts(n int) []string {
	out := []string{""}
	for i := 1; i < n && l.err == nil; i++ {
		t, _ := l.row()
		out = append(out, t)
	}
	return out
}

// end compares the sum with the last record.
func (l *loader) end() {
	want := l.sum.Sum(nil)
	if got := l.record(); l.err == nil && string(got) != string(want) {
		l.err = fmt.Errorf("its sum is %.8x, its records give %.8x", got, want)
	}
}

// loadShelf takes up the rows of a noun: those that may rest at rest.
func loadShelf[ID ~int32, T any](l *loader, sh *shelf[ID, T], n int) {
	sh.Keys = l.texts(n)
	sh.live, sh.rest = make([]*slot[T], 1, len(sh.Keys)), make([]string, 1, len(sh.Keys))
	sh.live[0] = &slot[T]{}
	for i := 1; i < n && l.err == nil; i++ {
		packed, done := l.row()
		sh.live, sh.rest = append(sh.live, nil), append(sh.rest, packed)
		if !done || sh.done == nil {
			l.check(sh.wake(ID(i)))
		}
	}
	sh.at.build(sh.Keys)
}

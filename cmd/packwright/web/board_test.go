package web

import (
	"bytes"
	"fmt"
	"net/http"
	"regexp"
	"strings"
	"testing"
	"time"

	"packwright/audit"
	"packwright/cmd/packwright/door"
	"packwright/events"
)

// TestBoard: at 17:41 one carton stops the truck, thirteen do not.
func TestBoard(t *testing.T) {
	d := playDesk(t, "17:41")
	page := d.as("maren").opens("/", "NO-GO", "C-07 is blocked: 21 scanned, 20 counted.", "X-02, maren has it", "for 13 of 14:", "truck LD-1 at 18:00, in 19 min",
		`id="box-C-07" class="stop"`, "blocked by X-02", "waits with C-07", "two readings of the log agree", `data-live="board"`, "Show its code")
	d.as("odile").opens("/?at=10:40", "NO-GO")
	if n := strings.Count(page, `id="box-`); n != 14 {
		t.Errorf("%d cartons are drawn", n)
	}
	if strings.Contains(page, "style=") || strings.Contains(page, "<script>") {
		t.Error("style or script stands in the page")
	}
}

// TestDayNamesTheSignedHeads: those of the day alone, whole, as they stand in the
// log; the board does not carry them.
func TestDayNamesTheSignedHeads(t *testing.T) {
	d := playDesk(t, "17:41")
	first := audit.HeadView{Kept: events.At(time.Date(2031, 3, 4, 9, 30, 0, 0, time.UTC)), HeadSigned: events.HeadSigned{Frame: 77, Size: 80, Root: [32]byte{0xab, 0xcd}}}
	before := first
	before.Kept = events.At(time.Date(2031, 3, 3, 23, 59, 59, 0, time.UTC))
	got := headsOf([]audit.HeadView{before, first}, "2031-03-04")
	if len(got) != 1 || got[0] != (SignedRow{"09:30:00", 77, 80, "abcd" + strings.Repeat("0", 60)}) {
		t.Errorf("%+v", got)
	}
	var b strings.Builder
	if err := d.pages.sheets["day"].ExecuteTemplate(&b, "facts", dayPage{Heads: got}); err != nil || !strings.Contains(b.String(), got[0].Root) {
		t.Errorf("%v: %s", err, b.String())
	}
	for _, h := range headsOf(d.heads(t), "2031-03-04") {
		if strings.Contains(d.as("maren").opens("/"), h.Root[:12]) {
			t.Error("the board carries a root")
		}
	}
	if strings.Contains(d.as("maren").opens("/"), "signed") {
		t.Error("the board speaks of signed heads")
	}
}

// TestBoardIsForReaders: who may not read it is shown the page that is theirs.
func TestBoardIsForReaders(t *testing.T) {
	d := playDesk(t, "17:41")
	for badge, to := range map[string]string{"ife": "/bench", "quill": "/plans"} {
		status, _ := d.as(badge).get("/")
		if status != http.StatusSeeOther {
			t.Errorf("%s: %d", badge, status)
		}
		if got := ownPage(door.Who{Badge: badge, Roles: map[string][]events.Role{"ife": {events.Packer}, "quill": {events.Client}}[badge]}); got != to {
			t.Errorf("%s is sent to %s", badge, got)
		}
	}
}

// TestBoardEmptyAndLarge: nothing there yet, and two hundred cartons.
func TestBoardEmptyAndLarge(t *testing.T) {
	p := (&Pages{}).Open()
	large := boardPage{}
	for i := range 200 {
		c := audit.BoardCarton{Carton: fmt.Sprintf("C-%03d", i), State: boxOrder[i%len(boxOrder)], Planned: 12, Scanned: i % 13, Blockers: []string{"X-01"}, Load: "LD-1"}
		b := boxOf(c, nil)
		b.Small = true
		large.Boxes, large.Cartons = append(large.Boxes, b), append(large.Cartons, c)
	}
	for name, page := range map[string]boardPage{"empty": {}, "large": large} {
		var b bytes.Buffer
		if err := p.sheets["board"].ExecuteTemplate(&b, "layout", page); err != nil {
			t.Errorf("%s: %v", name, err)
		}
		if n := strings.Count(b.String(), `id="box-`); n != len(page.Boxes) {
			t.Errorf("%s: %d boxes", name, n)
		}
	}
}

// TestACountedCartonHasACloth: a board may hang where the counter sees it.
func TestACountedCartonHasACloth(t *testing.T) {
	p := (&Pages{}).Open()
	c := audit.BoardCarton{Carton: "C-A", State: audit.Counting, Planned: 183, Scanned: 182, Finish: &audit.Estimate{Minutes: 97, Basis: "97 to place"}}
	page := boardPage{Boxes: []Box{boxOf(c, []Fill{{183, 182}})}, Cartons: []audit.BoardCarton{c}}
	html, err := p.part("board", "board-boxes", page)
	if err != nil {
		t.Fatal(err)
	}
	facts, err := p.part("board", "board-facts", page)
	if err != nil {
		t.Fatal(err)
	}
	if regexp.MustCompile(`\b(183|182|97)\b`).MatchString(html+facts) || strings.Contains(html, `class="st"`) {
		t.Errorf("what was scanned can be seen: %s %s", html, facts)
	}
}

// TestATallyCounts: one stroke is one piece; n of them end at n·pitch − gap, and the
// full plan fills the width.
func TestATallyCounts(t *testing.T) {
	for _, c := range []struct {
		n, full int
		x2      float64
		dash    string
	}{
		{12, 12, 99.4, "3.40 4.60"},
		{15, 15, 101.3, "3.40 3.00"},
		{21, 21, 102.1, "2.65 1.92"},
		{60, 60, 103.3, "0.93 0.67"},
		{61, 61, 104, ""}, // not to be told apart: a block
	} {
		got := Field{X: 8, Y: 8, Wide: 96, High: 42, Full: c.full}.strokes(0, c.n, "st")
		if got.Dash != c.dash || got.X2 < c.x2-.6 || got.X2 > c.x2+.6 {
			t.Errorf("%d of %d: to %.1f, dashes %q; want %.1f, %q", c.n, c.full, got.X2, got.Dash, c.x2, c.dash)
		}
	}
}

// heads are those that the floor has signed.
func (d *deskDay) heads(t *testing.T) (out []audit.HeadView) {
	t.Helper()
	if err := d.Look(t.Context(), "", func(v View) error { out = v.Heads(); return nil }); err != nil {
		t.Fatal(err)
	}
	return out
}

package web

import (
	"bytes"
	"net/http"
	"slices"
	"strings"
	"testing"

	"packwright/audit"
	"packwright/prep"
)

// TestStory: whatever is scanned, the page says first how sure it is.
func TestStory(t *testing.T) {
	d := playDesk(t, "")
	maren := d.as("maren")
	maren.opens("/story", "Scan or type any code")
	maren.opens("/story?code=M-0019", "One piece, exactly.", "printed for run R-07 and scanned into C-02", "received", "ife at ST-2", "10:19:10", "placed in C-02", "13:51:24", "17:54:20",
		"same run R-07: 9", "same material lot BW-18: 33", "BW-18", "What it cannot know", "carton C-02", ">11<")
	maren.opens("/story?code=C-11&item=DSC", "One of 12; the log cannot say which.", "12 of run R-03", "18", "Which piece of a heap it was")
	maren.opens("/story?code=M-0023", "A cancelled label.", "Cancelled at 15:36", "M-0073-", "run R-08")
	for code, says := range map[string]string{"C-02": "11 pieces, each by its mark.", "R-07": "One of 9", "L-02": "L-02", "BW-18": "33 pieces got some of it.", "LD-1": "14 cartons, 221 pieces.",
		"000412": "C-02", "DSC": "every lot of it", "T-02": "in it now"} {
		if code == "R-07" {
			says = "9 pieces, each by its mark."
		}
		maren.opens("/story?code="+code, says)
	}
	c, _, _ := carton18(d)
	maren.opens("/story?code="+c, "C-02")
	maren.opens("/story?code=(00)"+c, "C-02")
	for _, code := range []string{"M-9999", "nonsense", "C-99"} {
		if status, body := maren.get("/story?code=" + code); status != http.StatusNotFound || !strings.Contains(body, "Nothing here matches.") {
			t.Errorf("%s: %d", code, status)
		}
	}
	if status, _ := maren.get("/story?code=X-02"); status != http.StatusSeeOther {
		t.Errorf("a question is told at %d", status)
	}
	if status, _ := d.as("ife").get("/story"); status != http.StatusForbidden {
		t.Error("a packer reads stories")
	}
}

// carton18 gives the 18 digits of C-02.
func carton18(d *deskDay) (code, seal string, err error) {
	f, err := d.fold()
	if err != nil {
		d.t.Fatal(err)
	}
	return f["C-02"], "", nil
}

// TestStoryOfOwnGoods: a client is told of its own goods, of nobody else's, and
// nobody's name.
func TestStoryOfOwnGoods(t *testing.T) {
	d := playDesk(t, "")
	quill := d.as("quill")
	own, others := "", ""
	_ = d.Look(t.Context(), "", func(v View) error {
		for _, b := range v.Balances() {
			if l, err := v.Lot(b.Lot); err == nil {
				if l.Owner == "quill-crate" || strings.Contains(l.Owner, "quill") {
					own = l.Lot
				} else if others == "" {
					others = l.Lot
				}
			}
		}
		return nil
	})
	if own == "" {
		t.Fatal("the client owns nothing in this day")
	}
	page := quill.opens("/story?code="+own, "What it cannot know")
	for _, name := range []string{"tobi", " ife at", "sunniva", "maren", "Made beside it", "share something"} {
		if strings.Contains(page, name) {
			t.Errorf("a client reads %q", name)
		}
	}
	for _, code := range []string{others, "M-0019", "LD-1", "BW-18", "X-02"} {
		if status, body := quill.get("/story?code=" + code); status != http.StatusNotFound || strings.Contains(body, "golem") {
			t.Errorf("a client is told of %s: %d", code, status)
		}
	}
}

// TestNesting: each set is one stretch of the row, whatever its numbers.
func TestNesting(t *testing.T) {
	set := func(key string, list ...prep.Mark) audit.Siblings {
		return audit.Siblings{Axis: audit.ByRun, Key: key, N: len(list), Marks: prep.NewMarks(list...)}
	}
	row, chain := nest([]audit.Siblings{set("outer", 1, 2, 3, 4, 5, 6, 7, 9), set("inner", 4, 5), set("middle", 2, 4, 5, 9), set("apart", 4, 5, 40)})
	if len(chain) != 3 || len(row) != 8 {
		t.Fatalf("%d sets nest in %v", len(chain), row)
	}
	for _, c := range chain {
		at := slices.Index(row, c.marks[0])
		if !slices.Equal(row[at:at+len(c.marks)], c.marks) {
			t.Errorf("%s is torn apart in %v", c.set.Key, row)
		}
	}
}

func TestStoryEmpty(t *testing.T) {
	p := (&Pages{}).Open()
	for _, page := range []storyPage{{}, {Code: "x", Lives: []Life{{}}, Sets: []audit.Siblings{{}}, Beside: &Beside{}, Box: &Box{}, Load: &LoadDrawing{}}} {
		var b bytes.Buffer
		if err := p.sheets["story"].ExecuteTemplate(&b, "layout", page); err != nil {
			t.Error(err)
		}
	}
}

package demo

import (
	"fmt"
	"time"

	"packwright/prep"
	"packwright/workflow"
)

// line is what a carton holds by plan revision 1 and 2.
type line struct {
	item   string
	r1, r2 int
	marks  int   // first mark placed; 0: anonymous
	runs   []int // out totes it comes from, with how many of each
	from   []int
}

// carton is one box of the plan: tare, first reading, bench, when it was opened.
type carton struct {
	no    int
	lines []line
	tare  int
	reads int
	w     who
	open  string
	seal  int
}

var boxes = []carton{
	{1, []line{{"MG3", 12, 12, 1, []int{6}, []int{12}}}, 520, 5530, sunniva, "13:30", 401},
	{2, []line{{"MG3", 12, 11, 13, []int{6, 7}, []int{2, 9}}}, 520, 5165, sunniva, "13:50", 412},
	{3, []line{{"MG4", 12, 12, 24, []int{8}, []int{12}}}, 520, 6049, ife, "13:30", 413},
	{4, []line{{"MG4", 12, 12, 36, []int{8}, []int{12}}}, 520, 6091, ife, "13:50", 403},
	{5, []line{{"TRY", 15, 15, 0, []int{4}, []int{15}}}, 610, 6006, sunniva, "14:10", 404},
	{6, []line{{"TRY", 15, 15, 0, []int{4}, []int{15}}}, 610, 5991, sunniva, "14:30", 407},
	{7, []line{{"PUZ", 15, 15, 0, []int{1}, []int{15}}, {"PLU", 6, 6, 0, []int{5}, []int{6}}}, 610, 11827, sunniva, "17:25", 415},
	{8, []line{{"PUZ", 15, 14, 0, []int{1}, []int{14}}, {"PLU", 6, 6, 0, []int{5}, []int{6}}}, 610, 11503, sunniva, "16:30", 414},
	{9, []line{{"GLD", 14, 14, 0, []int{2}, []int{14}}}, 430, 3013, tobi, "14:40", 408},
	{10, []line{{"GLD", 13, 10, 0, []int{2}, []int{10}}, {"DSC", 6, 6, 0, []int{3}, []int{6}}}, 430, 2993, tobi, "15:10", 411},
	{11, []line{{"DSC", 12, 12, 0, []int{3}, []int{12}}, {"KNF", 12, 12, 60, []int{10}, []int{12}}}, 430, 3710, ife, "14:45", 409},
	{12, []line{{"MUG", 12, 12, 48, []int{9}, []int{12}}}, 610, 11515, ife, "14:15", 406},
	{13, []line{{"WSH", 18, 17, 0, []int{11}, []int{17}}}, 520, 6572, tobi, "13:40", 402},
	{14, []line{{"PLU", 8, 8, 0, []int{5}, []int{8}}, {"BND", 12, 12, 0, []int{12}, []int{12}}, {"RAD", 4, 0, 0, nil, nil}}, 520, 4200, tobi, "14:10", 405},
}

// carton codes and owners.
var codes = []string{"095200000000000011", "095200000000000028", "095200000000000035", "095200000000000042", "095200000000000059",
	"095200000000000066", "095200000000000073", "095200000000000080", "095200000000000097", "095200000000000103",
	"095200000000000110", "095200000000000127", "095200000000000134", "095200000000000141"}

var ownerOf = map[string]string{"PUZ": "quill", "PLU": "quill", "BND": "quill", "RAD": "quill", "SPC": "quill"}

func owner(item string) string {
	if o, ok := ownerOf[item]; ok {
		return o
	}
	return "house"
}

func (c carton) name() string       { return fmt.Sprintf("C-%02d", c.no) }
func (c carton) code() string       { return codes[c.no-1] }
func (c carton) at(k int) time.Time { return clock(c.open).Add(seconds(12 * k)) }
func seal(n int) string             { return fmt.Sprintf("%06d", n) }

// plan releases revision 1 and, when gliders, puzzle and radios are missing, revision 2.
func (x *day) plan() {
	var lines, changes []d
	for _, c := range boxes {
		for _, l := range c.lines {
			lines = append(lines, d{"carton": c.name(), "item": l.item, "q": l.r1, "owner": owner(l.item)})
			if l.r1 != l.r2 {
				changes = append(changes, d{"carton": c.name(), "item": l.item, "owner": owner(l.item), "delta": l.r2 - l.r1})
			}
		}
	}
	x.do(clock("08:30"), odile.at("PHONE-1"), "release", d{"plan": "P-01", "destination_policy": "dest-default", "lines": lines})
	x.do(clock("11:40"), maren, "propose", d{"plan": "P-01", "changes": changes,
		"reason": "3 gliders never came, 1 figure and 1 puzzle diverted, 1 wash leaked, 4 radios held"})
	quill := who{"PHONE-2", "quill"}
	x.do(clock("11:49"), quill, "sign-in", nil)
	x.do(clock("11:50"), quill, "approve", d{"proposal": "PC-01"})
	x.do(clock("11:55"), odile.at("PHONE-1"), "approve", d{"proposal": "PC-01"})
}

// cartons fills, weighs, counts and seals; what went wrong is told elsewhere.
func (x *day) cartons() {
	for _, c := range boxes {
		x.fill(c)
	}
	// ST-1 is away from 14:41 to 14:49:30, in the middle of C-09.
	x.do(clock("14:43"), who{"BOARD", ""}, "quiet", d{"name": "ST-1", "last_seen": clock("14:41")})
	x.do(clock("14:49:40"), tobi, "caught-up", d{"n": 10, "oldest_at": clock("14:41"), "newest_at": clock("14:42:48")})
	x.reopened()
}

func (x *day) fill(c carton) {
	x.do(c.at(0), c.w, "open-carton", d{"carton": c.name(), "plan": "P-01", "box_material": "CB-" + fmt.Sprint(c.tare), "tare_g": c.tare})
	k := 0
	for _, l := range c.lines {
		mark := l.marks
		for i, r := range l.runs {
			for range l.from[i] {
				k++
				data := d{"carton": c.name(), "item": l.item, "from": fmt.Sprintf("T-%02d", 20+r)}
				if mark > 0 {
					data["marks"] = []string{prep.Mark(mark).String()}
					mark++
				}
				x.place(c, k, data)
			}
		}
	}
	x.closeUp(c, k)
}

// place is one scan. The ten gliders placed while the bench was away arrive when it is back.
func (x *day) place(c carton, k int, data d) {
	a := x.do(c.at(k), c.w, "place", data)
	if c.no == 9 && k >= 5 {
		a.At, a.Recorded, a.Offline = c.at(k), clock("14:49:30").Add(time.Duration(k)*100*time.Millisecond), true
	}
	if c.no == 4 && k == 7 { // the reader sees it twice
		x.do(c.at(k).Add(seconds(6)), c.w, "place", data).ends(workflow.Already, "E-CAR-04")
	}
}

// closeUp finishes, weighs, counts and seals after the k-th placement.
func (x *day) closeUp(c carton, k int) {
	weigh := c.at(k).Add(seconds(40))
	sealed := weigh.Add(seconds(180))
	if c.no == 9 {
		weigh, sealed = clock("14:50"), clock("14:51:30")
	}
	x.do(weigh.Add(-seconds(10)), c.w, "finish-carton", d{"carton": c.name()})
	a := x.weigh(weigh, c.w, c, c.reads)
	n := 0
	lines := []d{}
	for _, l := range c.lines {
		if l.r2 > 0 {
			lines = append(lines, d{"item": l.item, "q": l.r2})
			n += l.r2
		}
	}
	switch c.no {
	case 2, 3: // counts agree, weights do not
		a.ends(workflow.Call, "E-CNT-03")
		x.count(weigh.Add(seconds(60)), c.w, c, lines)
		return
	case 7: // one plush short, and lighter
		a.ends(workflow.Call, "E-CNT-03")
		lines[1]["q"] = 5
		x.count(weigh.Add(seconds(60)), c.w, c, lines).ends(workflow.Call, "E-CNT-01")
		return
	}
	x.count(weigh.Add(seconds(60)), c.w, c, lines)
	x.do(weigh.Add(seconds(62)), c.w, "accept-count", d{"carton": c.name()})
	x.do(sealed.Add(-seconds(20)), c.w, "print-labels", d{"carton": c.name(), "kind": "carton", "n": 1, "printer": "LP-0"})
	x.seal(sealed, c.w, c, c.seal)
}

// weigh reads the scale; it needs a second to come to rest.
func (x *day) weigh(t time.Time, w who, c carton, grams int) *Act {
	a := x.do(t.Add(time.Second), w, "weigh", d{"carton": c.name(), "gross_g": grams, "scale": "SC-1", "stable": true})
	a.At = t
	return a
}

func (x *day) count(t time.Time, w who, c carton, lines []d) *Act {
	return x.do(t, w, "enter-count", d{"carton": c.name(), "method": "hand", "lines": lines})
}

func (x *day) seal(t time.Time, w who, c carton, n int) *Act {
	return x.do(t, w, "seal", d{"carton": c.name(), "seal_no": seal(n), "carton_code": c.code()})
}

// reopened: C-05 is opened again to look for a corner that might press, and closed under a new seal.
func (x *day) reopened() {
	c := boxes[4]
	x.do(clock("15:05"), maren, "reopen", d{"carton": c.name(), "reason": "a lid may press on one tray; look"})
	x.do(clock("15:07"), sunniva, "finish-carton", d{"carton": c.name()})
	x.weigh(clock("15:08"), sunniva, c, 6006)
	x.count(clock("15:09"), sunniva, c, []d{{"item": "TRY", "q": 15}})
	x.do(clock("15:09:02"), sunniva, "accept-count", d{"carton": c.name()})
	x.seal(clock("15:12"), sunniva, c, 410)
}

package demo

import (
	"encoding/json"
	"fmt"
	"time"

	"packwright/prep"
)

// catalogue reads the day's items; the file is part of this package, so a
// problem in it is ours.
func catalogue() []prep.Item {
	items, err := prep.ParseItems("items.yaml", Items)
	if err != nil {
		panic(err)
	}
	return items
}

// morning founds the floor and enrols people, benches, items and rules.
func (x *day) morning() {
	x.do(clock("07:25"), odile, "found", d{"floor": Floor, "owner": Owner, "currency": Currency, "epoch": Epoch, "key": PublicKey})
	x.do(clock("07:29"), odile, "sign-in", nil)
	t := clock("07:29:05")
	next := func() time.Time { t = t.Add(time.Second); return t }
	for _, b := range []d{
		{"badge": "maren", "roles": []string{"supervisor", "lead", "packer"}, "recipes_cleared": []string{"*"}},
		{"badge": "tobi", "roles": []string{"packer"}, "recipes_cleared": []string{"*"}},
		{"badge": "ife", "roles": []string{"packer"}, "recipes_cleared": []string{"*"}},
		{"badge": "sunniva", "roles": []string{"packer"}, "recipes_cleared": []string{"*"}},
		{"badge": "quill", "roles": []string{"client"}, "owner_of": "quill"},
	} {
		x.do(next(), odile, "enrol-badge", b)
	}
	for _, s := range []string{"ST-1", "ST-2", "ST-3", "PHONE-1", "PHONE-2"} {
		x.do(next(), odile, "join", d{"name": s})
	}
	for _, it := range catalogue() {
		x.do(next(), odile, "register-item", asData(it))
	}
	x.do(clock("07:50"), odile, "publish-rulebook", d{"source": string(Rules4), "effective": "new-runs"})
	x.do(clock("10:29"), odile.at("PHONE-1"), "publish-rulebook", d{"source": string(Rules5), "effective": "new-runs"})

	x.do(clock("07:55:30"), odile, "sign-out", nil)
	x.do(clock("07:56"), maren, "sign-in", nil)
	x.do(clock("07:56:30"), odile.at("PHONE-1"), "sign-in", nil)
	for i, w := range []who{tobi, ife, sunniva} {
		x.do(clock("07:57").Add(seconds(10*i)), w, "sign-in", nil)
	}
	x.do(clock("07:58"), maren, "check-scale", d{"scale": "SC-1", "ref_g": 5000, "read_g": 5001})
}

func asData(v any) d {
	b, err := json.Marshal(v)
	if err != nil {
		panic(err)
	}
	var out d
	if err := json.Unmarshal(b, &out); err != nil {
		panic(err)
	}
	return out
}

// lot is what was announced and what came.
type lot struct {
	item             string
	announced, comes int
	owner            string
	cost             int // minor units, of one piece
}

// lots are L-01 to L-13, in totes T-01 to T-13.
var lots = []lot{
	{"MG3", 14, 14, "house", 1100}, {"MG3", 10, 10, "house", 1150}, {"TRY", 30, 30, "house", 600}, {"PUZ", 30, 30, "quill", 700},
	{"GLD", 27, 24, "house", 250}, {"DSC", 18, 18, "house", 450}, {"PLU", 20, 20, "quill", 650}, {"MUG", 12, 12, "house", 1400},
	{"WSH", 18, 18, "house", 300}, {"KNF", 12, 12, "house", 800}, {"SPC", 24, 24, "quill", 120}, {"RAD", 4, 4, "quill", 900}, {"MG4", 24, 24, "house", 1250},
}

func lotNo(i int) string  { return fmt.Sprintf("L-%02d", i+1) }
func toteNo(i int) string { return fmt.Sprintf("T-%02d", i+1) }

// intake announces and receives; three gliders never come.
func (x *day) intake() {
	for i, l := range lots {
		x.do(clock("07:30").Add(seconds(60*i)), odile, "announce", d{"lot": lotNo(i), "kind": "bought", "item": l.item,
			"owner": l.owner, "source_ref": fmt.Sprintf("slip %d", 700+i), "qty": l.announced, "unit_cost": l.cost})
		data := d{"lot": lotNo(i), "tote": toteNo(i), "qty": l.comes}
		if l.item == "WSH" {
			data["expiry"] = "2033-01"
		}
		x.do(clock("08:00").Add(seconds(180*i)), []who{tobi, ife, sunniva}[i%3], "receive", data)
	}
	x.do(clock("08:42"), maren, "close-intake", d{"lot": "L-05"})
}

// triage sends all to prep but one crushed corner, one leak and four radios.
func (x *day) triage() {
	t := clock("08:45")
	line := func(i, q int, verdict, grade, reason string) {
		data := d{"lot": lotNo(i), "tote": toteNo(i), "q": q, "verdict": verdict, "grade": grade}
		if reason != "" {
			data["reason"] = reason
		}
		w := []who{tobi, ife, sunniva}[i%3]
		if verdict == "writeoff" || verdict == "divert" {
			w = maren // her word is asked for what does not come back
		}
		x.do(t, w, "triage", data)
		t = t.Add(seconds(200))
	}
	for i, l := range lots {
		switch l.item {
		case "RAD":
			line(i, 4, "hold", "A", "lithium cell")
		case "WSH":
			line(i, 17, "prep", "A", "")
			line(i, 1, "writeoff", "C", "leaks at the pump")
		default:
			if i == 1 {
				line(i, 9, "prep", "A", "")
				line(i, 1, "divert", "B", "crushed corner")
				continue
			}
			line(i, l.comes, "prep", "A", "")
		}
	}
}

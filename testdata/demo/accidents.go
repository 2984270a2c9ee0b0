package demo

import (
	"crypto/sha256"
	"fmt"

	"packwright/events"
	"packwright/workflow"
)

// swappedPair: at the end of R-07 its last closed box stood unlabelled; its
// label M-0023 went on the first no. 4 box of R-08, and M-0024 on the waiting
// no. 3 box. Counts agree everywhere; the weights of C-02 and C-03 do not.
func (x *day) swappedPair() {
	here := maren.at("ST-2")
	c2, c3 := boxes[1], boxes[2]
	x.do(clock("15:30"), maren, "take", d{"mismatch": "X-01"})
	x.do(clock("15:34"), maren, "sign-out", nil)
	x.do(clock("15:34:30"), here, "sign-in", d{"helps": "ife"})
	fix := func(t string, command string, data d) *Act {
		return x.do(clock(t), here, command, data).forMatter("X-01")
	}
	fix("15:35", "hand-over-carton", d{"carton": "C-02", "to": "ST-2"})
	fix("15:36", "take-out", d{"carton": "C-02", "marks": []string{"M-0023"}, "to": "A-ST-2", "reason": "weighs as a no. 4"})
	fix("15:36:20", "void-mark", d{"mark": "M-0023", "reason": "on a no. 4 box"})
	fix("15:38", "take-out", d{"carton": "C-03", "marks": []string{"M-0024"}, "to": "A-ST-2", "reason": "weighs as a no. 3"})
	fix("15:38:20", "void-mark", d{"mark": "M-0024", "reason": "on a no. 3 box"})
	fix("15:39", "remark", d{"lot": "L-02", "run": "R-07", "from": "A-ST-2", "to": "A-ST-2", "how": "replace", "replaces": "M-0024"})
	fix("15:39:40", "place", d{"carton": "C-02", "item": "MG3", "marks": []string{"M-0072"}, "from": "A-ST-2"})
	fix("15:41", "remark", d{"lot": "L-13", "run": "R-08", "from": "A-ST-2", "to": "A-ST-2", "how": "replace", "replaces": "M-0023"})
	fix("15:41:40", "place", d{"carton": "C-03", "item": "MG4", "marks": []string{"M-0073"}, "from": "A-ST-2"})
	fix("15:43:30", "fixed", d{"mismatch": "X-01", "actions": []string{"M-0023 and M-0024 cancelled", "M-0072 to C-02", "M-0073 to C-03"}})

	x.do(clock("15:44:30"), ife, "finish-carton", d{"carton": "C-02"})
	x.weigh(clock("15:45"), ife, c2, 5109)
	x.count(clock("15:46"), here, c2, []d{{"item": "MG3", "q": 11}}).forMatter("X-01")
	x.do(clock("15:46:02"), ife, "accept-count", d{"carton": "C-02"})
	x.do(clock("15:47:30"), ife, "finish-carton", d{"carton": "C-03"})
	x.weigh(clock("15:48"), ife, c3, 6103)
	x.count(clock("15:49"), here, c3, []d{{"item": "MG4", "q": 12}}).forMatter("X-01")
	x.do(clock("15:49:02"), ife, "accept-count", d{"carton": "C-03"})
	x.do(clock("15:49:30"), here, "resolve", d{"mismatch": "X-01", "resolution": "find-swap", "where_was_it": "two labels changed places between R-07 and R-08"})
	x.do(clock("15:49:40"), ife, "print-labels", d{"carton": "C-02", "kind": "carton", "n": 1, "printer": "LP-0"})
	x.do(clock("15:49:50"), ife, "print-labels", d{"carton": "C-03", "kind": "carton", "n": 1, "printer": "LP-0"})
	x.seal(clock("15:50"), ife, c2, c2.seal)
	x.seal(clock("15:53"), ife, c3, c3.seal)
	x.do(clock("15:54"), here, "sign-out", nil)
	x.do(clock("15:55"), maren, "sign-in", nil)
}

// shortCarton: a torn plush was taken out of C-07 without a scan.
func (x *day) shortCarton() {
	c := boxes[6]
	tobi3 := tobi.at("ST-3")
	count := func(t string, plush int) *Act {
		return x.count(clock(t), tobi3, c, []d{{"item": "PUZ", "q": 15}, {"item": "PLU", "q": plush}}).forMatter("X-02")
	}
	x.do(clock("17:41"), maren, "take", d{"mismatch": "X-02"})
	x.do(clock("17:41:30"), tobi, "sign-out", nil)
	x.do(clock("17:42"), tobi3, "sign-in", d{"helps": "sunniva"})
	count("17:43", 5).ends(workflow.Call, "E-CNT-01")
	a := x.do(clock("17:44:30"), sunniva, "take-out", d{"carton": "C-07", "item": "PLU", "lot": "L-07", "q": 1, "to": "A-ST-3", "reason": "bag torn"}).forMatter("X-02")
	a.At, a.Basis = clock("17:28:54"), events.Testimony
	x.do(clock("17:45"), sunniva, "note", d{"mismatch": "X-02", "text": "found on the rework shelf; new bag, closure seen"})
	x.do(clock("17:46"), sunniva, "place", d{"carton": "C-07", "item": "PLU", "from": "A-ST-3"}).forMatter("X-02")
	x.do(clock("17:46:30"), maren, "fixed", d{"mismatch": "X-02", "actions": []string{"plush found on the rework shelf", "bagged anew", "placed in C-07"}})
	x.do(clock("17:46:45"), sunniva, "finish-carton", d{"carton": "C-07"})
	x.weigh(clock("17:47"), sunniva, c, 12136)
	count("17:49", 6)
	x.do(clock("17:49:02"), sunniva, "accept-count", d{"carton": "C-07"})
	x.do(clock("17:50"), maren, "resolve", d{"mismatch": "X-02", "resolution": "find-and-add", "where_was_it": "rework shelf"})
	x.do(clock("17:51:30"), sunniva, "print-labels", d{"carton": "C-07", "kind": "carton", "n": 1, "printer": "LP-0"})
	x.seal(clock("17:52"), sunniva, c, c.seal)
}

// leaving: the truck takes all fourteen.
func (x *day) leaving() {
	x.do(clock("17:20"), maren, "open-load", d{"load": "LD-1", "due": clock("18:00")})
	for i, c := range boxes {
		n := c.seal
		if c.no == 5 {
			n = 410
		}
		x.do(clock("17:54").Add(seconds(20*i)), ife, "dispatch", d{"carton": c.name(), "load": "LD-1", "seal_no_seen": seal(n)})
	}
	x.do(clock("17:59"), maren, "close-load", d{"load": "LD-1"})
	x.signHead(clock("17:59:01"))
	x.do(clock("18:04:30"), maren, "close-day", d{"day": "2031-03-04"})
	for i, w := range []who{tobi.at("ST-3"), ife, sunniva, odile.at("PHONE-1"), {"PHONE-2", "quill"}, maren} {
		x.do(clock("18:05").Add(seconds(i)), w, "sign-out", nil)
	}
	x.signHead(clock("18:05:30"))
}

// claims come six weeks later.
func (x *day) claims() {
	first, second := clock("10:00").AddDate(0, 0, 42), clock("10:00").AddDate(0, 0, 44)
	x.do(first, maren, "sign-in", nil)
	x.do(first.Add(seconds(60)), maren, "open-claim", d{"kind": "damaged", "qty": 1, "amount_minor": 2400,
		"given": d{"mark": "M-0019"}, "due": first.AddDate(0, 0, 14)})
	x.do(first.Add(seconds(120)), maren, "trace-claim", nil).Head = func(h Head) map[string]any {
		return d{"claim": "CL-01", "candidates": []string{"M-0019"}, "size": 1, "query": "mark M-0019", "log_head": h.Seq, "log_root": h.Root}
	}
	x.do(first.Add(seconds(900)), maren, "decide-claim", d{"claim": "CL-01", "finding": "unknown", "cause_code": "crushed", "money_minor": 2400, "statement_digest": statement(1)})
	x.do(first.Add(seconds(960)), maren, "close-claim", d{"claim": "CL-01"})
	x.do(first.Add(seconds(1000)), maren, "sign-out", nil)
	x.do(second, maren, "sign-in", nil)
	x.do(second.Add(seconds(60)), maren, "open-claim", d{"kind": "short", "qty": 2, "amount_minor": 2400,
		"given": d{"item": "DSC", "carton": "C-11"}, "due": second.AddDate(0, 0, 14)})
	x.do(second.Add(seconds(120)), maren, "trace-claim", nil).Head = func(h Head) map[string]any {
		return d{"claim": "CL-02", "size": 12, "query": "item DSC in C-11", "log_head": h.Seq, "log_root": h.Root}
	}
	x.do(second.Add(seconds(900)), maren, "decide-claim", d{"claim": "CL-02", "finding": "destination", "cause_code": "left-complete", "money_minor": 0, "statement_digest": statement(2)})
	x.do(second.Add(seconds(960)), maren, "close-claim", d{"claim": "CL-02"})
	x.do(second.Add(seconds(1000)), maren, "sign-out", nil)
}

// statement is the digest of a page that is said to have been sent.
func statement(n int) string {
	return fmt.Sprintf("%x", sha256.Sum256(fmt.Append(nil, "statement ", n)))
}

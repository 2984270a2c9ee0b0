package audit_test

import (
	"encoding/json"
	"fmt"
	"math"
	"strings"
	"testing"
	"time"

	"packwright/audit"
	"packwright/events"
	"packwright/prep"
)

func damaged(f *floor, claim string, g events.ClaimGiven, qty int) {
	f.do("BOARD", "maren", &events.ClaimOpened{Claim: claim, Kind: "damaged", Given: g, Qty: qty})
}

// near compares with a value of two or three digits.
func near(got prep.Fixed, want float64) bool { return math.Abs(got.Float()-want) <= 0.015*want }

// TestOddsOfSiblings: three claims of the day's window figures, one of them on
// the mark that took over a bare box of R-07.
func TestOddsOfSiblings(t *testing.T) {
	f := lanternDay(t)
	damaged(f, "Q-1", events.ClaimGiven{Mark: 19}, 1)
	damaged(f, "Q-2", events.ClaimGiven{Mark: 72}, 1)
	damaged(f, "Q-2a", events.ClaimGiven{Mark: 72}, 1)                                                                         // said twice
	damaged(f, "Q-3", events.ClaimGiven{Mark: 23}, 1)                                                                          // a label that never sat on a box of R-07
	f.do("BOARD", "maren", &events.ClaimOpened{Claim: "Q-4", Kind: "short", Given: events.ClaimGiven{Carton: "C-02"}, Qty: 1}) // no unit's fault
	list, err := f.read().SiblingsOf(19, 15*time.Minute)
	if err != nil {
		t.Fatal(err)
	}
	for _, s := range list {
		o := s.Odds
		if o.Tested != 7 || len(list) != 7 || o.Background != 15_000 || o.Complaints != 2 || o.Adjusted < o.Chance {
			t.Errorf("%s %s: %+v", s.Axis, s.Key, o)
		}
		// 1 − 0.985⁹ − 9·0.015·0.985⁸ = 0.00755176; by Holm seven times the smallest of seven.
		if s.Axis == audit.ByRun && (s.N != 9 || !near(o.Chance, .0076) || !near(o.Adjusted, .0529) || o.Says != "suggestive only") {
			t.Errorf("%+v", o)
		}
		if (s.Against != nil) != (s.Axis == audit.ByRules) {
			t.Errorf("%s has %+v", s.Axis, s.Against)
		}
	}
	damaged(f, "Q-5", events.ClaimGiven{Mark: 3}, 1)
	list, err = f.read().SiblingsOf(19, 15*time.Minute)
	if err != nil {
		t.Fatal(err)
	}
	for _, s := range list {
		if s.Key == "BW-18" && (s.N != 33 || s.Odds.Complaints != 3 || !near(s.Odds.Chance, .013)) {
			t.Errorf("%+v", s.Odds)
		}
		if s.Axis == audit.ByRules {
			c := s.Against
			if s.N != 23 || s.Odds.Complaints != 3 || !near(s.Odds.Chance, .0048) {
				t.Errorf("%+v", s.Odds)
			}
			if c.These != (audit.Tally{Bad: 3, Of: 23}) || c.Others != (audit.Tally{Bad: 0, Of: 24}) || !near(c.Chance, .109) || c.Says != "suggestive only" {
				t.Errorf("%+v", c)
			}
		}
	}
	var b strings.Builder
	if err := audit.SiblingsText(&b, "M-0019", list); err != nil || !strings.Contains(b.String(), "7 axes, 7 tested against 1.5 % complained of elsewhere") ||
		!strings.Contains(b.String(), "3 of 23 against 0 of 24 by other revisions: one-sided 0.11, suggestive only") {
		t.Error(b.String())
	}
}

// TestWordsOfOdds: one complaint is why one asks; two may suggest; what many
// axes would show anyway does not stand out.
func TestWordsOfOdds(t *testing.T) {
	set := func(k, n int) audit.Siblings { return audit.Siblings{N: n, Odds: audit.Odds{Complaints: k}} }
	for _, c := range []struct {
		sets     []audit.Siblings
		chance   float64
		adjusted float64
		says     string
	}{
		{[]audit.Siblings{set(0, 9)}, 1, 1, "no complaint"},
		{[]audit.Siblings{set(1, 9)}, .127, .127, "nothing: one complaint alone"},
		{[]audit.Siblings{set(2, 9)}, .0076, .0076, "stands out"},
		{[]audit.Siblings{set(2, 9), set(2, 40), set(0, 5), set(1, 80), set(2, 70), set(2, 90), set(1, 9)}, .0076, .0529, "suggestive only"},
		{[]audit.Siblings{set(3, 33), set(0, 0)}, .013, .013, "stands out"}, // an empty set is not tested
		{[]audit.Siblings{set(2, 120)}, .539, .539, "nothing"},
	} {
		got := audit.Judge(c.sets, audit.DefaultBackground)[0].Odds
		if !near(got.Chance, c.chance) || math.Abs(got.Adjusted.Float()-c.adjusted) > .0005 || got.Says != c.says {
			t.Errorf("%+v, want %v, %v, %s", got, c.chance, c.adjusted, c.says)
		}
	}
	if c := audit.Compare(audit.Tally{Bad: 1, Of: 2}, audit.Tally{}); c != nil {
		t.Errorf("compared with nothing: %+v", c)
	}
}

// TestClassComplaints: a claim without a mark counts where all that it can mean
// lie, and nowhere else.
func TestClassComplaints(t *testing.T) {
	f := lanternDay(t)
	damaged(f, "Q-1", events.ClaimGiven{Item: "DSC", Carton: "C-11"}, 2)
	damaged(f, "Q-2", events.ClaimGiven{Item: "DSC"}, 1)
	fold := f.read()
	for _, c := range []struct {
		axis audit.Axis
		key  string
		k    int
	}{{audit.ByRun, "R-03", 2}, {audit.ByLot, "L-06", 2}, {audit.ByCarton, "C-11", 2}, {audit.ByCarton, "C-10", 0}, {audit.ByRun, "R-10", 0}} {
		s, err := fold.SiblingsAlong(c.axis, c.key)
		if err != nil || s.Odds.Complaints != c.k {
			t.Errorf("%s %s: %+v, %v", c.axis, c.key, s.Odds, err)
		}
	}
}

// TestMatured: the floor's own background, once its cartons left long enough ago.
func TestMatured(t *testing.T) {
	f := lanternDay(t)
	damaged(f, "Q-1", events.ClaimGiven{Mark: 19}, 1)
	if got := f.read().Matured(audit.MaturedAfter); got != (audit.Tally{}) {
		t.Errorf("on the same day %+v", got)
	}
	f.now = f.now.Add(46 * 24 * time.Hour)
	damaged(f, "Q-2", events.ClaimGiven{Item: "PLU", Carton: "C-14"}, 3)
	if got := f.read().Matured(audit.MaturedAfter); got != (audit.Tally{Bad: 4, Of: 221}) {
		t.Errorf("46 days later %+v", got)
	}
}

// TestNextForSiblings: while units are here, what to do is said with its size.
func TestNextForSiblings(t *testing.T) {
	f := lanternDay(t)
	noon := f.until("13:52:00")
	if s, _ := noon.SiblingsAlong(audit.ByMaterial, "BW-18"); s.Next != "" {
		t.Error(s.Next)
	}
	e := events.Event{Data: &events.ClaimOpened{Claim: "Q-1", Kind: "damaged", Given: events.ClaimGiven{Mark: 19}, Qty: 1}}
	e.Seq, e.At, e.Recorded, e.Station = events.Seq{Frame: noon.Last().Frame + 1}, noon.Now(), noon.Now(), "BOARD"
	if err := noon.Apply(&e); err != nil {
		t.Fatal(err)
	}
	s, err := noon.SiblingsAlong(audit.ByMaterial, "BW-18")
	if err != nil || !strings.HasPrefix(s.Next, "hold the 33 still here, or look at 21 of them: 0 of 21 bad rules out 3 or more bad of 33 at 95 %") {
		t.Errorf("%s, %v", s.Next, err)
	}
	held, blocks, said := 0, 0, ""
	for _, n := range s.Steps {
		var c struct {
			Type string `json:"type"`
			Data struct {
				From, Stage, MatLot, Reason string
				Q                           int
				Marks                       prep.Marks
			} `json:"data"`
		}
		if said += n.Does + " " + n.Line + "; "; n.Command == "" {
			continue
		}
		if err := json.Unmarshal([]byte(n.Command), &c); err != nil || c.Data.Reason == "" {
			t.Errorf("%s, %v", n.Command, err)
		}
		switch {
		case c.Type == "hold" && c.Data.Q == len(c.Data.Marks) && c.Data.From != "" && c.Data.Stage == "prepped":
			held += c.Data.Q
		case c.Type == "block-lot" && c.Data.MatLot == "BW-18":
			blocks++
		default:
			t.Errorf("%s", n.Command)
		}
	}
	if blocks != 1 || held == 0 || held >= 33 || !strings.Contains(said, fmt.Sprintf("%d lie in cartons that are not sealed", 33-held-s.Sealed)) ||
		!strings.Contains(said, "packwright inspect-plan --n 33 --bad 3 --conf 0.95") {
		t.Errorf("%d held, %d blocks: %s", held, blocks, said)
	}
}

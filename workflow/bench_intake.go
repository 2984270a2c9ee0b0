package workflow

import (
	"fmt"

	"packwright/events"
)

// lot takes the code on a lot's papers: it has arrived. In a house without
// totes the lot is its own tote, and there after.
func (b *Bench) lot(f *Floor, s Scan) Said {
	l := f.Lots[s.Code]
	switch {
	case l == nil:
		return no(s.Code+" is not announced.", "Set it aside and call.")
	case !f.policy.Totes && l.Received > 0:
		return b.tote(f, s)
	case l.Closed:
		return no(s.Code+" is closed.", "Scan its tote.")
	case !f.policy.Totes:
		return b.receive(s.Code, s.Code)
	}
	b.want = &want{"Scan the tote it goes into.", func(b *Bench, f *Floor, t Scan) (Said, bool) {
		if t.Class != ScanTote {
			return Said{}, false
		}
		return b.receive(s.Code, t.Code), true
	}}
	return prompt(s.Code+" arrives.", b.want.text)
}

// receive asks how many arrived. Nobody is told how many were announced.
func (b *Bench) receive(lot, tote string) Said {
	return b.howMany("How many of "+lot+" arrived?", func(n int) Said {
		return b.give("receive", map[string]any{"lot": lot, "tote": tote, "qty": n}, func(f *Floor) Said {
			return Said{Text: fmt.Sprintf("%d received into %s.", n, tote), Next: "Scan it to look them over."}
		})
	})
}

// triage waits for the verdict on what a tote holds.
func (b *Bench) triage(tote string, n int) Said {
	w := &want{text: "PREP, HOLD or DIVERT; digits first for a part."}
	judge := func(verdict events.Verdict, reason string) Said {
		ask := map[string]any{"tote": tote, "verdict": verdict, "reason": reason}
		q, given := b.said()
		if !given {
			q = n
		}
		ask["q"] = q
		return b.give("triage", ask, func(f *Floor) Said {
			if left := f.receivedIn(tote); left > 0 {
				return b.triage(tote, left)
			}
			return prompt(fmt.Sprintf("%s is triaged.", tote), "Scan it again to prep it.")
		})
	}
	w.takes = func(b *Bench, f *Floor, s Scan) (Said, bool) {
		switch {
		case s.Class == ScanDigit, s.Class == ScanNumber:
			b.want = w
			if s.Class == ScanNumber {
				b.number = ""
			}
			b.number += s.Code
			return prompt(b.number+" of them.", w.text), true
		case s.Class == ScanCard && s.Code == "PREP":
			return judge(events.ToPrep, ""), true
		case s.Class == ScanCard && s.Code == "HOLD":
			return judge(events.ToHold, "set aside at triage"), true
		case s.Class == ScanCard && s.Code == "DIVERT":
			return b.cause("DIVERT.", func(cause string) Said { return judge(events.ToDivert, cause) }), true
		}
		return Said{}, false
	}
	b.want = w
	return prompt(fmt.Sprintf("%s: %d to look at.", tote, n), w.text)
}

func (f *Floor) receivedIn(tote string) (n int) {
	for _, c := range f.Ledger.At(tote) {
		if c.Stage == events.Received {
			n += c.Qty()
		}
	}
	return n
}

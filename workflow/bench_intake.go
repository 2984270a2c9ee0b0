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
	return b.wants(s.Code+" arrives.", "Scan the tote it goes into.", then{Do: "arrive", Lot: s.Code})
}

func (b *Bench) arrives(f *Floor, t then, s Scan) (Said, bool) {
	if s.Class != ScanTote {
		return Said{}, false
	}
	return b.receive(t.Lot, s.Code), true
}

// receive asks how many arrived. Nobody is told how many were announced.
func (b *Bench) receive(lot, tote string) Said {
	return b.howMany("How many of "+lot+" arrived?", then{Do: "receive", Lot: lot, Tote: tote})
}

func (b *Bench) receives(f *Floor, t then, n int) Said {
	ask := map[string]any{"lot": t.Lot, "tote": t.Tote, "qty": n}
	return b.give("receive", ask, then{Do: "say", Text: fmt.Sprintf("%d received into %s.", n, t.Tote), To: "Scan it to look them over."})
}

// verdicts is what a tote that is looked over waits for.
const verdicts = "PREP, HOLD or DIVERT; digits first for a part."

// triage waits for the verdict on what a tote holds.
func (b *Bench) triage(tote string, n int) Said {
	return b.wants(fmt.Sprintf("%s: %d to look at.", tote, n), verdicts, then{Do: "triage", Tote: tote, N: n})
}

func (b *Bench) judges(f *Floor, t then, s Scan) (Said, bool) {
	switch {
	case s.Class == ScanDigit, s.Class == ScanNumber:
		if s.Class == ScanNumber {
			b.Number = ""
		}
		if len(b.Number)+len(s.Code) > countMost {
			b.Number = ""
			b.Want = &want{t, verdicts}
			return no("That number is too long.", "Begin it again."), true
		}
		b.Number += s.Code
		return b.wants(b.Number+" of them.", verdicts, t), true
	case s.Class == ScanCard && s.Code == "PREP":
		return b.judge(t, events.ToPrep, ""), true
	case s.Class == ScanCard && s.Code == "HOLD":
		return b.judge(t, events.ToHold, "set aside at triage"), true
	case s.Class == ScanCard && s.Code == "DIVERT":
		return b.cause("DIVERT.", then{Do: "divert", Tote: t.Tote, N: t.N}), true
	}
	return Said{}, false
}

func (b *Bench) diverts(f *Floor, t then, cause string) Said {
	return b.judge(t, events.ToDivert, cause)
}

// judge gives the verdict on so many as said, or on all.
func (b *Bench) judge(t then, verdict events.Verdict, reason string) Said {
	q, given := b.said()
	if !given {
		q = t.N
	}
	ask := map[string]any{"tote": t.Tote, "verdict": verdict, "reason": reason, "q": q}
	return b.give("triage", ask, then{Do: "judged", Tote: t.Tote})
}

func (b *Bench) judged(f *Floor, t then) Said {
	if left := f.receivedIn(t.Tote); left > 0 {
		return b.triage(t.Tote, left)
	}
	return prompt(t.Tote+" is triaged.", "Scan it again to prep it.")
}

func (f *Floor) receivedIn(tote string) (n int) {
	for _, c := range f.Ledger.At(tote) {
		if c.Stage == events.Received {
			n += c.Qty()
		}
	}
	return n
}

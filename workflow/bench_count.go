package workflow

import (
	"strconv"

	"packwright/events"
)

// finish begins the count of the carton in hand. From here the bench is blind.
func (b *Bench) finish(f *Floor) Said {
	if b.Carton == "" {
		return no("No carton is in hand.", "Scan a carton first.")
	}
	return b.give("finish-carton", map[string]any{"carton": b.Carton}, then{Do: "finished"})
}

func (b *Bench) finished(f *Floor, t then) Said {
	b.Hand, b.Number, b.Lines, b.Line = HandCount, "", nil, ""
	return b.proceed(f, t)
}

// proceed says what a finished carton wants next, and asks for its certificate
// as soon as there may be one. It tells no number.
func (b *Bench) proceed(f *Floor, _ then) Said {
	c := f.Cartons[b.Carton]
	switch {
	case c == nil:
		return Said{}
	case c.State == CartonCounted && c.Bench != b.Station:
		b.Hand, b.Carton = HandFree, ""
		return prompt(c.Carton+" is counted.", "Back to "+c.Bench+": it seals it.")
	case c.State == CartonCounted && !c.Label:
		return b.give("print-labels", map[string]any{"carton": c.Carton, "kind": events.CartonLabel}, then{Do: "proceed"})
	case c.State == CartonCounted && c.Weight == nil && f.policy.Scale:
		return prompt(c.Carton+" is counted.", "Stick its label, close it, weigh it.")
	case c.State == CartonCounted:
		return prompt(c.Carton+" is counted.", "Stick its label, close it, scan the seal.")
	case c.State != CartonCounting:
		return b.goOn(f, c.Carton)
	}
	weighs := f.policy.Scale && f.expect(c).tells() || c.Count == nil && !f.byHand(c)
	switch {
	case b.handCounts(f, c):
		return prompt("Count what is in "+c.Carton+".", "Digits, then ENTER.")
	case c.Weight == nil && weighs:
		return prompt("Now weigh "+c.Carton+".", "Hands off the scale.")
	case c.Count == nil && f.waiver(c) == "":
		return prompt("The scale cannot vouch. Count what is in "+c.Carton+".", "Digits, then ENTER.")
	}
	return b.give("accept-count", map[string]any{"carton": c.Carton}, then{Do: "proceed"})
}

// byHand says whether a carton is to be counted by hand in any case.
func (f *Floor) byHand(c *Carton) bool {
	return f.policy.HandCount || c.Keyed || len(f.scannedLines(c)) != 1
}

// handCounts says whether hands count a finished carton now.
func (b *Bench) handCounts(f *Floor, c *Carton) bool {
	return c.Count == nil && f.byHand(c) || b.recount(f, c)
}

// recount says whether a carton in question is to be counted anew: by another
// person than counted it last, or since it was put right.
func (b *Bench) recount(f *Floor, c *Carton) bool {
	m, s := f.matterOn(c.Carton), f.Stations[b.Station]
	if m == nil || c.Count == nil {
		return false
	}
	other := len(s.Sessions) > 0 && s.Sessions[0].Badge != c.Count.By
	return other || !m.Fixed.IsZero() && !m.FixedSeq.Less(c.Count.Seq)
}

// numeral takes a number card that follows no piece: it is a number said at once.
func (b *Bench) numeral(f *Floor, s Scan) Said {
	b.Number = strconv.Itoa(s.N)
	return prompt(b.Number+".", "ENTER, READY, or PREP.")
}

// said takes the number that was given; ok false: none was.
func (b *Bench) said() (n int, ok bool) {
	n, err := strconv.Atoi(b.Number)
	b.Number = ""
	return n, err == nil
}

// enter ends a number: of an item's line, or the count.
func (b *Bench) enter(f *Floor) Said {
	if b.Hand != HandCount {
		return no("No number is wanted now.", "Scan a tote, a carton or a piece.")
	}
	n, given := b.said()
	if b.Line != "" {
		if !given {
			return no("No number yet.", "Digits, then ENTER.")
		}
		b.Lines = append(b.Lines, events.CountLine{Item: b.Line, Q: n})
		b.Line = ""
		return prompt("Noted.", "Next item, or ENTER when all are counted.")
	}
	ask := map[string]any{"carton": b.Carton}
	switch {
	case len(b.Lines) > 0 && !given:
		ask["lines"] = b.Lines
	case given && len(b.Lines) == 0:
		ask["total"] = n
	default:
		return no("No number yet.", "Digits, then ENTER.")
	}
	b.Lines = nil
	return b.give("enter-count", ask, then{Do: "proceed"})
}

// counted takes a unit's code while a carton is being counted: the item whose
// number comes next.
func (b *Bench) counted(f *Floor, s Scan) Said {
	c := f.Cartons[b.Carton]
	if c != nil && c.State == CartonCounted {
		if seal := sealOf(s); seal != "" {
			return b.seals(f, seal)
		}
		return no(b.Carton+" is counted.", "Scan its seal, or TAKE OUT.")
	}
	if s.Class != ScanItem || s.Item == "" {
		return no(b.Carton+" is finished.", "Count it, or TAKE OUT.")
	}
	b.Line, b.Number = s.Item, ""
	return prompt("How many "+s.Item+"?", "Digits, then ENTER.")
}

// weight takes a scale's reading: of a finished carton, or of an empty box.
func (b *Bench) weight(f *Floor, s Scan) Said {
	if b.Hand != HandCount {
		if b.Hand == HandCarton {
			return no(b.Carton+" is not finished.", "FINISH CARTON, then weigh.")
		}
		b.Tare = s.Mass
		return prompt("Empty box "+s.Mass.String()+".", "Scan the code of its carton.")
	}
	ask := map[string]any{"carton": b.Carton, "gross_g": s.Mass}
	if b.Scale != "" {
		ask["scale"] = b.Scale
	}
	return b.give("weigh", ask, then{Do: "proceed"})
}

// seal takes a seal's number.
func (b *Bench) seal(f *Floor, s Scan) Said {
	if b.Hand != HandCount && b.Hand != HandCarton {
		return no("No carton is in hand.", "Scan the carton, then its seal.")
	}
	return b.seals(f, s.Code)
}

func (b *Bench) seals(f *Floor, seal string) Said {
	ask := map[string]any{"carton": b.Carton, "seal_no": seal}
	if b.SSCC != "" {
		ask["carton_code"] = b.SSCC
	}
	return b.give("seal", ask, then{Do: "sealed", Text: b.Carton + " is sealed with " + seal + ".", To: "Set it down. Scan the next."})
}

func (b *Bench) sealed(f *Floor, t then) Said {
	b.Carton, b.SSCC = "", ""
	return b.putDown(f, t)
}

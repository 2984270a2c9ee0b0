package workflow

import (
	"fmt"
	"slices"
	"strings"

	"packwright/events"
	"packwright/prep"
)

// carton takes a carton's code: to open it, to go on with it, to count or to
// seal it, or to load it.
func (b *Bench) carton(f *Floor, s Scan) Said {
	c := f.Cartons[s.Code]
	switch {
	case s.Code == "" && b.Hand == HandCount:
		b.sscc = s.SSCC
		return prompt("Carton number read.", "Now the seal.")
	case s.Code == "":
		return no("No carton here has that number.", "Scan the carton's own code.")
	case b.Hand == HandLoad:
		return b.loads(f, s.Code)
	case b.Hand == HandCarton && b.Carton != s.Code && f.inHandAt(b.Carton, b.Station) && b.tapped != s.Code:
		b.tapped = s.Code
		return no("Still in "+b.Carton+".", "Scan "+s.Code+" again to switch.")
	}
	b.tapped = ""
	if c == nil || c.State == CartonPlanned || c.Bench != b.Station {
		ask := map[string]any{"carton": s.Code}
		if b.tare > 0 {
			ask["tare_g"] = b.tare
		}
		return b.give("open-carton", ask, func(f *Floor) Said { b.tare = 0; return b.goOn(f, s.Code) })
	}
	return b.goOn(f, s.Code)
}

// inHandAt says whether a carton is open at a bench.
func (f *Floor) inHandAt(carton, station string) bool {
	c := f.Cartons[carton]
	return c != nil && c.State == CartonOpen && c.Bench == station
}

// goOn takes a carton in hand as it stands.
func (b *Bench) goOn(f *Floor, code string) Said {
	c := f.Cartons[code]
	if c == nil {
		return no("No carton has that code.", "Scan it again, or call.")
	}
	b.Carton, b.Tote, b.number, b.lines, b.line, b.sscc = code, "", "", nil, "", ""
	switch c.State {
	case CartonOpen:
		b.Hand = HandCarton
		if n := f.Ledger.QtyAt(code); n > 0 {
			return prompt(fmt.Sprintf("%s has %d in it.", code, n), "Scan a piece, or the tote it comes from.")
		}
		return prompt(code+" is open.", "Scan a piece, or the tote it comes from.")
	case CartonCounting, CartonCounted:
		b.Hand = HandCount
		return b.proceed(f)
	}
	b.Hand = HandFree
	return prompt(code+" is "+string(c.State)+".", "Look at the board.")
}

// place puts a piece into the carton in hand.
func (b *Bench) place(f *Floor, s Scan) Said {
	ask := b.piece(s)
	ask["carton"] = b.Carton
	if s.Class == ScanItem && b.Tote != "" && slices.ContainsFunc(f.Ledger.At(b.Tote), func(c *Cell) bool { return c.Item == s.Item }) {
		ask["from"] = b.Tote
	}
	tally := func(f *Floor) Said {
		if s.Class == ScanItem && s.Serial == "" {
			b.alike = func(b *Bench, n int) Said { return b.more(ask, n) }
		}
		return b.tally(f)
	}
	return b.give("place", ask, tally)
}

// more places n − 1 more pieces like the last: said, not scanned, so that the
// carton is counted by hand.
func (b *Bench) more(ask map[string]any, n int) Said {
	ask["q"] = n - 1
	said := b.give("place", ask, b.tally)
	said.Command.Basis = events.Keyed
	return said
}

// tally tells how many are in, while the carton is open.
func (b *Bench) tally(f *Floor) Said {
	if !f.inHandAt(b.Carton, b.Station) {
		return Said{}
	}
	return Said{Text: fmt.Sprintf("%d in %s.", f.Ledger.QtyAt(b.Carton), b.Carton)}
}

// piece names a scanned piece in a command. What the floor does not know goes
// as it was read: the floor says so, and keeps that it was seen.
func (b *Bench) piece(s Scan) map[string]any {
	switch {
	case s.Class == ScanMark:
		return map[string]any{"marks": prep.Marks{s.Mark}}
	case s.Item == "":
		return map[string]any{"code": strings.TrimSpace(s.Raw)}
	case s.Serial != "":
		return map[string]any{"item": s.Item, "serials": []string{s.Serial}}
	}
	return map[string]any{"item": s.Item, "q": 1}
}

// pour puts a whole tote into the carton in hand.
func (b *Bench) pour(f *Floor) Said {
	if b.Tote == "" {
		b.want = &want{"Scan the tote to pour.", func(b *Bench, f *Floor, s Scan) (Said, bool) {
			if s.Class != ScanTote && s.Class != ScanLot {
				return Said{}, false
			}
			b.Tote = s.Code
			return b.pour(f), true
		}}
		return prompt("POUR.", b.want.text)
	}
	return b.give("place", map[string]any{"carton": b.Carton, "from": b.Tote, "pour": true}, b.tally)
}

// takeOut takes the next piece out of the carton in hand. A tote scanned first
// says where it goes, and so of which lot it is; otherwise the aside tote.
func (b *Bench) takeOut(f *Floor) Said {
	to := ""
	w := &want{text: "Scan the piece, or first the tote it goes to."}
	w.takes = func(b *Bench, f *Floor, s Scan) (Said, bool) {
		switch s.Class {
		case ScanTote, ScanLot, ScanAside:
			to, b.want = s.Code, w
			return prompt("To "+to+".", "Now the piece."), true
		case ScanMark, ScanItem:
			ask := b.piece(s)
			ask["carton"], ask["reason"] = b.Carton, "taken out at the bench"
			if to != "" {
				ask["to"] = to
			}
			return b.give("take-out", ask, func(f *Floor) Said {
				b.Hand = HandCarton
				return b.tally(f)
			}), true
		}
		return Said{}, false
	}
	b.want = w
	return prompt("Out of "+b.Carton+".", w.text)
}

// loads wants the seal of a carton that goes onto the load in hand.
func (b *Bench) loads(f *Floor, carton string) Said {
	b.want = &want{"Scan the seal on " + carton + ".", func(b *Bench, f *Floor, s Scan) (Said, bool) {
		seal := sealOf(s)
		if seal == "" {
			return Said{}, false
		}
		return b.give("dispatch", map[string]any{"carton": carton, "load": b.Load, "seal_no_seen": seal}, func(f *Floor) Said {
			n := 0
			if l := f.Loads[b.Load]; l != nil {
				n = len(l.Cartons)
			}
			return Said{Text: fmt.Sprintf("%s is on %s: %d.", carton, b.Load, n)}
		}), true
	}}
	return prompt(carton+" for "+b.Load+".", b.want.text)
}

// sealOf reads a scan as a seal's number; empty: it cannot be one.
func sealOf(s Scan) string {
	switch {
	case s.Class == ScanSeal:
		return s.Code
	case s.Class == ScanDigit && len(s.Code) > 1, s.Class == ScanMaterial, s.Class == ScanItem && s.Item == "":
		return strings.TrimSpace(s.Raw)
	}
	return ""
}

func (b *Bench) load(f *Floor, s Scan) Said {
	if f.Loads[s.Code] == nil || f.Loads[s.Code].Closed {
		return no(s.Code+" is not open.", "A supervisor opens loads.")
	}
	b.Load, b.Hand = s.Code, HandLoad
	return prompt("Loading "+s.Code+".", "Scan a carton, then its seal.")
}

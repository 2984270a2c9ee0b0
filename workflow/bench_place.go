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
		b.SSCC = s.SSCC
		return prompt("Carton number read.", "Now the seal.")
	case s.Code == "":
		return no("No carton here has that number.", "Scan the carton's own code.")
	case b.Hand == HandLoad:
		return b.loads(f, s.Code)
	case b.Hand == HandCarton && b.Carton != s.Code && f.inHandAt(b.Carton, b.Station) && b.Tapped != s.Code:
		b.Tapped = s.Code
		return no("Still in "+b.Carton+".", "Scan "+s.Code+" again to switch.")
	}
	b.Tapped = ""
	if c != nil && c.State == CartonCounting && c.Bench != b.Station && b.Hand != HandCarton {
		return b.goOn(f, s.Code) // brought here to be counted
	}
	if c == nil || c.State == CartonPlanned || c.Bench != b.Station {
		ask := map[string]any{"carton": s.Code}
		if b.Tare > 0 {
			ask["tare_g"] = b.Tare
		}
		return b.give("open-carton", ask, then{Do: "opened-carton", Carton: s.Code})
	}
	return b.goOn(f, s.Code)
}

func (b *Bench) openedCarton(f *Floor, t then) Said {
	b.Tare = 0
	return b.goOn(f, t.Carton)
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
	b.Carton, b.Tote, b.Number, b.Lines, b.Line, b.SSCC = code, "", "", nil, "", ""
	switch c.State {
	case CartonOpen:
		b.Hand = HandCarton
		if n := f.Ledger.QtyAt(code); n > 0 {
			return prompt(fmt.Sprintf("%s has %d in it.", code, n), "Scan a piece, or the tote it comes from.")
		}
		return prompt(code+" is open.", "Scan a piece, or the tote it comes from.")
	case CartonCounting, CartonCounted:
		b.Hand = HandCount
		return b.proceed(f, then{})
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
	kept := then{Do: "tally"}
	if s.Class == ScanItem && s.Serial == "" {
		kept.Ask = ask
	}
	return b.give("place", ask, kept)
}

// more places n − 1 more pieces like the last: said, not scanned, so that the
// carton is counted by hand.
func (b *Bench) more(ask map[string]any, n int) Said {
	ask["q"] = n - 1
	said := b.give("place", ask, then{Do: "tally"})
	said.Command.Basis = events.Keyed
	return said
}

// placed tells how many are in; a number card may follow a code that names no
// single piece.
func (b *Bench) placed(f *Floor, t then) Said {
	b.Alike = t.Ask
	return b.tally(f)
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
		return b.wants("POUR.", "Scan the tote to pour.", then{Do: "pour"})
	}
	return b.give("place", map[string]any{"carton": b.Carton, "from": b.Tote, "pour": true}, then{Do: "tally"})
}

func (b *Bench) pours(f *Floor, _ then, s Scan) (Said, bool) {
	if s.Class != ScanTote && s.Class != ScanLot {
		return Said{}, false
	}
	b.Tote = s.Code
	return b.pour(f), true
}

// takeOut takes the next piece out of the carton in hand. A tote scanned first
// says where it goes, and so of which lot it is; otherwise the aside tote.
func (b *Bench) takeOut(f *Floor) Said {
	return b.wants("Out of "+b.Carton+".", "Scan the piece, or first the tote it goes to.", then{Do: "take-out"})
}

func (b *Bench) takesOut(f *Floor, t then, s Scan) (Said, bool) {
	switch s.Class {
	case ScanTote, ScanLot, ScanAside:
		t.To = s.Code
		return b.wants("To "+t.To+".", "Now the piece.", t), true
	case ScanMark, ScanItem:
		ask := b.piece(s)
		ask["carton"], ask["reason"] = b.Carton, "taken out at the bench"
		if t.To != "" {
			ask["to"] = t.To
		}
		return b.give("take-out", ask, then{Do: "taken-out"}), true
	}
	return Said{}, false
}

func (b *Bench) takenOut(f *Floor, _ then) Said {
	b.Hand = HandCarton
	return b.tally(f)
}

// loads wants the seal of a carton that goes onto the load in hand.
func (b *Bench) loads(f *Floor, carton string) Said {
	return b.wants(carton+" for "+b.Load+".", "Scan the seal on "+carton+".", then{Do: "load", Carton: carton})
}

func (b *Bench) loadsSealed(f *Floor, t then, s Scan) (Said, bool) {
	seal := sealOf(s)
	if seal == "" {
		return Said{}, false
	}
	ask := map[string]any{"carton": t.Carton, "load": b.Load, "seal_no_seen": seal}
	return b.give("dispatch", ask, then{Do: "loaded", Carton: t.Carton}), true
}

func (b *Bench) loaded(f *Floor, t then) Said {
	n := 0
	if l := f.Loads[b.Load]; l != nil {
		n = len(l.Cartons)
	}
	return Said{Text: fmt.Sprintf("%s is on %s: %d.", t.Carton, b.Load, n)}
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

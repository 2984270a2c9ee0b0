package workflow

import (
	"strings"

	"packwright/prep"
)

// Class says what kind of thing a scanned code names. The class must fit the
// moment: a carton's code is never taken for a tote's.
type Class string

// The classes.
const (
	ScanTote     Class = "tote"
	ScanCarton   Class = "carton"
	ScanLot      Class = "lot"
	ScanRun      Class = "run"
	ScanStation  Class = "station"
	ScanAside    Class = "aside"
	ScanLoad     Class = "load"
	ScanMatter   Class = "mismatch"
	ScanBadge    Class = "badge"
	ScanMark     Class = "mark"
	ScanItem     Class = "item"
	ScanMaterial Class = "material"
	ScanSeal     Class = "seal"
	ScanWeight   Class = "weight"
	ScanCard     Class = "card"
	ScanDigit    Class = "digit"
	ScanNumber   Class = "number"
	ScanTest     Class = "test"
)

// Scan is one code that was in front of the reader.
type Scan struct {
	Raw    string // as it arrived
	Class  Class
	Code   string // own code, badge, card, seal or material lot, without its check sign
	Signed bool   // it carried a check sign, and that fits

	Mark    prep.Mark
	Item    string    // the floor's item code; empty: no item has that number
	GTIN    prep.GTIN // as read
	Serial  string    // the maker's, AI (21)
	Batch   string    // AI (10)
	Expiry  string    // AI (15) or (17), YYMMDD
	N       int       // of a digit or number card
	Mass    prep.Mass // of a scale's reading
	SSCC    prep.SSCC // of a carton's label
	Finding string    // of the test card: what is wrong with the keyboard; empty: nothing
}

// prefixes name the floor's own classes; the longest that fits is meant.
var prefixes = []struct {
	prefix string
	class  Class
}{
	{"ST-", ScanStation}, {"LD-", ScanLoad}, {"T-", ScanTote}, {"C-", ScanCarton}, {"L-", ScanLot}, {"R-", ScanRun},
	{"A-", ScanAside}, {"X-", ScanMatter}, {"B-", ScanBadge},
}

// classOf gives the own class a code begins with, or "".
func classOf(code string) Class {
	for _, p := range prefixes {
		if strings.HasPrefix(code, p.prefix) && len(code) > len(p.prefix) {
			return p.class
		}
	}
	return ""
}

// ParseScan reads what a scanner or a hand has typed. With a floor it knows
// items, seals and codes that are there, and takes own codes without their
// check sign only when they are; without one (nil) it goes by the form alone.
// Errors are *prep.InputError: read again, never a guess.
func ParseScan(raw string, f *Floor) (Scan, error) {
	s, err := parseScan(strings.TrimSpace(raw), f)
	s.Raw = raw
	return s, err
}

func parseScan(raw string, f *Floor) (Scan, error) {
	if raw == "" {
		return Scan{}, prep.Input("nothing was read", "scan again")
	}
	if finding, ok := keyboard(raw); ok {
		return Scan{Class: ScanTest, Finding: finding}, nil
	}
	if prep.IsElements(raw) {
		return parseElements(raw, f)
	}
	if len(raw) > 3 && raw[0] == ']' { // a symbology identifier of a plain symbol
		raw = raw[3:]
	}
	code, signed, right := unsigned(raw)
	if signed && !right && (classOf(code) != "" || parseCard(code) != nil) {
		return Scan{}, prep.Input("the check sign of this code does not fit", "read it again")
	}
	if c := parseCard(code); c != nil {
		c.Signed = right
		return *c, nil
	}
	if s, ok := parseOwn(code, right, f); ok {
		return s, nil
	}
	if s, ok := parseNumber(raw, f); ok {
		return s, nil
	}
	if m, err := prep.ParseMark(raw); err == nil {
		return Scan{Class: ScanMark, Mark: m, Code: m.String()}, nil
	} else if strings.HasPrefix(strings.ToUpper(raw), "M-") || len(raw) == len(prep.Mark(0).Code()) && plainWord(raw) && !strings.ContainsAny(raw, "-_") {
		return Scan{}, prep.Input("the check sign of this label does not fit", "read it again, or set the piece aside")
	}
	return parseKnown(raw, f)
}

// parseOwn reads a code of the floor's own classes.
func parseOwn(code string, signed bool, f *Floor) (Scan, bool) {
	for _, as := range []string{code, strings.ToUpper(code)} {
		class := classOf(as)
		if class == "" {
			continue
		}
		s := Scan{Class: class, Code: as, Signed: signed}
		if class == ScanBadge {
			s.Code = code[2:] // a badge keeps its case
		}
		if signed && as != code {
			return Scan{}, false // a reader does not type small letters
		}
		if f == nil || signed || f.knows(s) {
			return s, true
		}
	}
	return Scan{}, false
}

// knows says whether an own code is there.
func (f *Floor) knows(s Scan) bool {
	switch s.Class {
	case ScanTote:
		return f.Totes[s.Code] != nil || f.Ledger.QtyAt(s.Code) > 0
	case ScanCarton:
		return f.Cartons[s.Code] != nil || f.planOf(&Carton{Carton: s.Code}) != nil
	case ScanLot:
		return f.Lots[s.Code] != nil
	case ScanRun:
		return f.Runs[s.Code] != nil
	case ScanStation:
		return f.Stations[s.Code] != nil
	case ScanAside:
		return f.isAside(s.Code)
	case ScanLoad:
		return f.Loads[s.Code] != nil
	case ScanMatter:
		return f.Matters[s.Code] != nil
	case ScanBadge:
		return f.Badges[s.Code] != nil
	}
	return false
}

// parseNumber reads a row of digits: an item number, a carton number, else a
// seal. Eight digits may be an item number or a mark's code: what the floor
// knows is meant.
func parseNumber(raw string, f *Floor) (Scan, bool) {
	if strings.Trim(raw, "0123456789") != "" || len(raw) < 3 || len(raw) > 20 {
		return Scan{}, false
	}
	if c, err := prep.ParseSSCC(raw); err == nil {
		return carton(c, f), true
	}
	m, notMark := prep.ParseMark(raw)
	g, err := prep.ParseGTIN(raw)
	switch known := f != nil && err == nil && f.Codes[g.Norm14()] != ""; {
	case known, err == nil && notMark != nil:
		return item(g, f), true
	case notMark == nil && (f == nil || f.Printed.Has(m)):
		return Scan{Class: ScanMark, Mark: m, Code: m.String()}, true
	case err == nil:
		return item(g, f), true
	}
	return Scan{Class: ScanSeal, Code: raw}, true
}

func item(g prep.GTIN, f *Floor) Scan {
	s := Scan{Class: ScanItem, GTIN: g}
	if f != nil {
		s.Item = f.Codes[g.Norm14()]
	}
	return s
}

func carton(c prep.SSCC, f *Floor) Scan {
	s := Scan{Class: ScanCarton, SSCC: c}
	if f != nil {
		s.Code = f.SSCCs[c]
	}
	return s
}

// parseElements reads an element string.
func parseElements(raw string, f *Floor) (Scan, error) {
	parts, err := prep.ParseElements(raw)
	if err != nil {
		return Scan{}, err
	}
	if c := parts.Get("00"); c != "" {
		return carton(prep.SSCC(c), f), nil
	}
	g := parts.Get("01")
	if g == "" {
		return Scan{}, prep.Input("this symbol names no item and no carton", "scan another symbol of the pack")
	}
	s := item(prep.GTIN(g), f)
	s.Serial, s.Batch, s.Expiry = parts.Get("21"), parts.Get("10"), parts.Get("17")
	if s.Expiry == "" {
		s.Expiry = parts.Get("15")
	}
	return s, nil
}

// parseKnown reads what is known only by being there: item codes, stations
// with a name of their own, lots of material, and a scale's reading.
func parseKnown(raw string, f *Floor) (Scan, error) {
	if m, err := prep.ParseMass(raw); err == nil {
		return Scan{Class: ScanWeight, Mass: m}, nil
	}
	if f != nil {
		switch {
		case f.Items[raw] != nil:
			return Scan{Class: ScanItem, Item: raw}, nil
		case f.Stations[raw] != nil:
			return Scan{Class: ScanStation, Code: raw}, nil
		case f.materialOf(raw) != "":
			return Scan{Class: ScanMaterial, Code: raw}, nil
		}
	}
	if finding, ok := mistyped(raw); ok {
		return Scan{}, prep.Input(finding, "then scan the test card")
	}
	if materialLot(raw) {
		return Scan{Class: ScanMaterial, Code: raw}, nil
	}
	if classOf(strings.ToUpper(raw)) != "" {
		return Scan{}, prep.Input("that code is not known and has no check sign", "scan its label, or type the sign too")
	}
	return Scan{}, prep.Input("unknown code", "put the piece in the aside tote")
}

// materialLot says whether a code has the form of a material's lot: two to four
// capital letters, a hyphen, and what the maker or the floor numbered it, as in BW-18.
func materialLot(raw string) bool {
	word, number, ok := strings.Cut(raw, "-")
	if !ok || len(word) < 2 || len(word) > 4 || !plainWord(number) || classOf(raw) != "" {
		return false
	}
	return strings.IndexFunc(word, func(r rune) bool { return r < 'A' || r > 'Z' }) < 0
}

// materialOf says which material a lot is, as it was received or used here; ""
// when nothing of it is known.
func (f *Floor) materialOf(lot string) string {
	if m := f.MatLots[lot]; m != nil {
		return m.Material
	}
	return ""
}

package workflow

import (
	"fmt"
	"strings"
	"testing"

	"packwright/prep"
)

// scanFloor is a floor on which a few codes are known.
func scanFloor() *Floor {
	f := NewFloor(nil)
	f.Items["PUZ"] = &prep.Item{Item: "PUZ"}
	f.Codes["09520000010041"] = "PUZ"
	f.Badges["ife"] = &Badge{Badge: "ife"}
	f.Stations["ST-2"] = &Station{Name: "ST-2"}
	f.Stations["BOARD"] = &Station{Name: "BOARD"}
	f.Totes["T-05"] = &Tote{Tote: "T-05"}
	f.Cartons["C-07"] = &Carton{Carton: "C-07"}
	f.Lots["L-11/B"] = &Lot{Lot: "L-11/B"}
	f.Runs["R-06"] = &Run{Run: "R-06", Materials: map[string]string{"bubble-wrap": "BW-18", "tape": "roll7"}}
	f.MatLots["roll7"] = &MatLot{MatLot: "roll7", Material: "tape"}
	f.SSCCs["095200000000000073"] = "C-07"
	f.Printed.Add(prep.MarksFromTo(1, 79)...)
	return f
}

func TestParseScan(t *testing.T) {
	f := scanFloor()
	for _, x := range []struct {
		raw  string
		want Scan
	}{
		{"T-05", Scan{Class: ScanTote, Code: "T-05"}},
		{" t-05\r\n", Scan{Class: ScanTote, Code: "T-05"}},
		{"T-05.I", Scan{Class: ScanTote, Code: "T-05", Signed: true}},
		{Signed("T-99"), Scan{Class: ScanTote, Code: "T-99", Signed: true}}, // new here, and signed
		{"C-07", Scan{Class: ScanCarton, Code: "C-07"}},
		{"(00)095200000000000073", Scan{Class: ScanCarton, Code: "C-07", SSCC: "095200000000000073"}},
		{"]C100095200000000000073", Scan{Class: ScanCarton, Code: "C-07", SSCC: "095200000000000073"}},
		{"095200000000000011", Scan{Class: ScanCarton, SSCC: "095200000000000011"}},
		{Signed("L-11/B"), Scan{Class: ScanLot, Code: "L-11/B", Signed: true}},
		{"R-06", Scan{Class: ScanRun, Code: "R-06"}},
		{"ST-2", Scan{Class: ScanStation, Code: "ST-2"}},
		{"BOARD", Scan{Class: ScanStation, Code: "BOARD"}},
		{"A-ST-2", Scan{Class: ScanAside, Code: "A-ST-2"}},
		{Signed("LD-1"), Scan{Class: ScanLoad, Code: "LD-1", Signed: true}},
		{"B-ife", Scan{Class: ScanBadge, Code: "ife"}},
		{Signed("B-ife"), Scan{Class: ScanBadge, Code: "ife", Signed: true}},
		{"M-0019", Scan{Class: ScanMark, Code: "M-0019", Mark: 19}},
		{prep.Mark(19).Display(), Scan{Class: ScanMark, Code: "M-0019", Mark: 19}},
		{prep.Mark(19).Code(), Scan{Class: ScanMark, Code: "M-0019", Mark: 19}},
		{strings.ToLower(prep.Mark(19).Code()), Scan{Class: ScanMark, Code: "M-0019", Mark: 19}},
		{"9520000010041", Scan{Class: ScanItem, GTIN: "9520000010041", Item: "PUZ"}},
		{"]E09520000010041", Scan{Class: ScanItem, GTIN: "9520000010041", Item: "PUZ"}},
		{"9520000010010", Scan{Class: ScanItem, GTIN: "9520000010010"}}, // a good number of no item here
		{"(01)09520000010041(17)330100(10)W5(21)a-1", Scan{Class: ScanItem, GTIN: "09520000010041", Item: "PUZ", Serial: "a-1", Batch: "W5", Expiry: "330100"}},
		{"]d20109520000010041\x1d21a-1", Scan{Class: ScanItem, GTIN: "09520000010041", Item: "PUZ", Serial: "a-1"}}, // a needless separator
		{"]d2010952000001004121a-1", Scan{Class: ScanItem, GTIN: "09520000010041", Item: "PUZ", Serial: "a-1"}},
		{"PUZ", Scan{Class: ScanItem, Item: "PUZ"}},
		{"BW-18", Scan{Class: ScanMaterial, Code: "BW-18"}},
		{"roll7", Scan{Class: ScanMaterial, Code: "roll7"}},
		{"000415", Scan{Class: ScanSeal, Code: "000415"}},
		{"12136 g", Scan{Class: ScanWeight, Mass: 12136 * prep.Gram}},
		{"12,14 kg", Scan{Class: ScanWeight, Mass: 12140 * prep.Gram}},
		{"!TAKE-OUT", Scan{Class: ScanCard, Code: "TAKE-OUT"}},
		{Signed("!FINISH-CARTON"), Scan{Class: ScanCard, Code: "FINISH-CARTON", Signed: true}},
		{digitCode(7), Scan{Class: ScanDigit, Code: "7", N: 7, Signed: true}},
		{numberCode(12), Scan{Class: ScanNumber, Code: "12", N: 12, Signed: true}},
		{TestCard, Scan{Class: ScanTest}},
	} {
		got, err := ParseScan(x.raw, f)
		x.want.Raw = x.raw
		if err != nil || got != x.want {
			t.Errorf("%q: %+v, %v\nwant %+v", x.raw, got, err, x.want)
		}
	}
}

func TestParseScanRefuses(t *testing.T) {
	f := scanFloor()
	for raw, want := range map[string]string{
		"":               "nothing was read",
		"T-05.K":         "the check sign of this code does not fit; read it again",
		"T-99":           "that code is not known and has no check sign",
		"B-rook":         "that code is not known and has no check sign",
		"M-0019-Z":       "check sign",
		"9520000010042":  "", // a seal by its form: no item number
		"hello":          "unknown code; put the piece in the aside tote",
		"!DANCE":         "unknown code",
		"(01)0952000001": "wrong length",
		"(10)W5":         "this symbol names no item and no carton",
		"t-05.i":         "Caps Lock is on. Press it once, then scan again.; then scan the test card",
		"Tß05.I":         "The keyboard is German, not US.",
	} {
		s, err := ParseScan(raw, f)
		if want == "" {
			if err != nil || s.Class != ScanSeal {
				t.Errorf("%q: %+v, %v", raw, s, err)
			}
			continue
		}
		if err == nil || !strings.Contains(err.Error(), want) {
			t.Errorf("%q: %v, want %s", raw, err, want)
		}
	}
}

// Without a floor the form alone speaks.
func TestParseScanByForm(t *testing.T) {
	for raw, want := range map[string]Class{"T-99": ScanTote, "B-anyone": ScanBadge, "BW-18": ScanMaterial, "9520000010010": ScanItem, "M-0019": ScanMark} {
		if s, err := ParseScan(raw, nil); err != nil || s.Class != want {
			t.Errorf("%q: %+v, %v", raw, s, err)
		}
	}
}

// An example of ISO/IEC 7064 MOD 37-2 in wide use: a donation number as blood
// banks write it, G1234 98 654321, has the sign H (from memory).
func TestCheckSign(t *testing.T) {
	if got := signOf("G123498654321"); got != 'H' {
		t.Errorf("sign %c", got)
	}
	slips, swaps := 0, 0
	for _, code := range []string{"T-05", "C-1407", "L-11/B", "ST-12", "B-sunniva", "!FINISH-CARTON", "LD-1", "X-02", "R-108"} {
		for i := range code {
			if strings.IndexByte(signAlphabet[:36], code[i]&^0x20) < 0 && (code[i] < '0' || code[i] > '9') {
				continue
			}
			for _, c := range signAlphabet[:36] {
				wrong := code[:i] + string(c) + code[i+1:]
				if !strings.EqualFold(wrong, code) {
					slips++
					if signOf(wrong) == signOf(code) {
						t.Errorf("%s for %s is not seen", wrong, code)
					}
				}
			}
			if i > 0 && !strings.EqualFold(code[i-1:i], code[i:i+1]) && strings.IndexByte("-/!", code[i-1]) < 0 {
				swaps++
				if wrong := code[:i-1] + string(code[i]) + string(code[i-1]) + code[i+1:]; signOf(wrong) == signOf(code) {
					t.Errorf("%s for %s is not seen", wrong, code)
				}
			}
		}
	}
	if slips < 1000 || swaps < 20 {
		t.Errorf("only %d slips and %d swaps tried", slips, swaps)
	}
}

// Eight digits may be an item number or the code of a mark: what the floor knows is meant.
func TestEightDigits(t *testing.T) {
	f := scanFloor()
	var m prep.Mark
	for n := prep.Mark(1); n < 4_000_000 && m == 0; n++ {
		if c := n.Code(); strings.Trim(c, "0123456789") == "" {
			if _, err := prep.ParseGTIN(c); err == nil {
				m = n
			}
		}
	}
	if m == 0 {
		t.Skip("no mark's code among the first four million is also an item number")
	}
	code := m.Code()
	if s, err := ParseScan(code, f); err != nil || s.Class != ScanItem {
		t.Errorf("%s before mark %s was printed: %+v, %v", code, m, s, err)
	}
	f.Printed.Add(m)
	if s, err := ParseScan(code, f); err != nil || s.Class != ScanMark || s.Mark != m {
		t.Errorf("%s after: %+v, %v", code, s, err)
	}
	f.Codes[prep.GTIN(code).Norm14()] = "PUZ"
	if s, err := ParseScan(code, f); err != nil || s.Class != ScanItem || s.Item != "PUZ" {
		t.Errorf("%s as an item's: %+v, %v", code, s, err)
	}
}

func TestTestCard(t *testing.T) {
	for _, m := range mistakes {
		arrived := m.come(TestCard)
		s, err := ParseScan(arrived, nil)
		if err != nil || s.Class != ScanTest || s.Finding != m.says {
			t.Errorf("%q: %+v, %v, want %s", arrived, s, err, m.says)
		}
		if n := len(strings.Fields(m.says)); n > 12 {
			t.Errorf("%q has %d words", m.says, n)
		}
		// what a mistake does to a signed code, its reading undoes
		for _, code := range []string{"T-05", "C-07", "B-ife", "!HOLD", "ST-2", "L-11/B"} {
			if got := m.sent(m.come(Signed(code))); got != Signed(code) {
				t.Errorf("%s: %q comes back as %q", m.says, Signed(code), got)
			}
		}
	}
	if s, _ := ParseScan("!TEST-aqwzmyAQWZMY-012345678/.", nil); s.Class != ScanTest || s.Finding == "" {
		t.Errorf("a lost sign: %+v", s)
	}
}

func TestCardsAreTold(t *testing.T) {
	seen := map[string]bool{}
	for _, code := range Sheet(60) {
		s, err := ParseScan(code, nil)
		if err != nil || seen[code] {
			t.Errorf("%s: %+v, %v", code, s, err)
		}
		seen[code] = true
		if s.Class == ScanCard && s.Code == "" {
			t.Errorf("%s says nothing", code)
		}
	}
}

func FuzzParseScan(f *testing.F) {
	for _, s := range []string{"T-05.I", "(01)09520000010041(21)x", "]d2010952000001004121a", "!HOLD", "M-0019-X", "12 kg", "Tß05", "\x1d", "#1", "N-12"} {
		f.Add(s)
	}
	floor := scanFloor()
	f.Fuzz(func(t *testing.T, raw string) {
		s, err := ParseScan(raw, floor)
		if err == nil && s.Class == "" {
			t.Errorf("%q was read as nothing", raw)
		}
		again, err2 := ParseScan(raw, floor)
		if fmt.Sprint(s, err) != fmt.Sprint(again, err2) {
			t.Errorf("%q is read in two ways", raw)
		}
		if err == nil && s.Class == ScanItem && s.Item == "" && s.GTIN == "" {
			t.Errorf("%q names an item without a number", raw)
		}
	})
}

package prep

import (
	"strings"
	"testing"

	"pgregory.net/rapid"
)

func TestCheckDigitPublished(t *testing.T) {
	for _, r := range checkRows(t, "gs1-keys.txt", "digit") {
		got, err := CheckDigit(r.col[0])
		if err != nil || string(got) != r.col[1] {
			t.Errorf("%s: CheckDigit(%s) = %c, %v; want %s (%s)", r.place, r.col[0], got, err, r.col[1], r.source)
		}
	}
	for _, r := range checkRows(t, "gs1-keys.txt", "right") {
		if !checked(r.col[0]) {
			t.Errorf("%s: %s is right by %s", r.place, r.col[0], r.source)
		}
	}
	for _, r := range checkRows(t, "gs1-keys.txt", "wrong") {
		if checked(r.col[0]) {
			t.Errorf("%s: %s is wrong by %s", r.place, r.col[0], r.source)
		}
	}
	for _, s := range []string{"", " 23456789012345675", "12a"} {
		if _, err := CheckDigit(s); err == nil {
			t.Errorf("CheckDigit(%q) must be refused", s)
		}
	}
}

func TestKeysPublished(t *testing.T) {
	for _, r := range checkRows(t, "gs1-keys.txt", "gtin") {
		g, err := ParseGTIN(r.col[0])
		if err != nil || string(g) != r.col[0] || len(g.Norm14()) != 14 || !strings.HasSuffix(string(g.Norm14()), r.col[0]) {
			t.Errorf("%s: ParseGTIN(%s) = %s, %v; figure %s", r.place, r.col[0], g, err, r.col[1])
		}
	}
	for _, r := range checkRows(t, "gs1-keys.txt", "sscc") {
		if c, err := ParseSSCC(r.col[0]); err != nil || string(c) != r.col[0] {
			t.Errorf("%s: ParseSSCC(%s) = %s, %v; figure %s", r.place, r.col[0], c, err, r.col[1])
		}
	}
	for _, r := range checkRows(t, "gs1-keys.txt", "build") {
		c, err := NextSSCC(r.col[0], r.int(t, 1), int64(r.int(t, 2)))
		if err != nil || string(c) != r.col[3] {
			t.Errorf("%s: NextSSCC = %s, %v; want %s", r.place, c, err, r.col[3])
		}
	}
}

func TestKeysRefused(t *testing.T) {
	for _, s := range []string{"", "123", "1234567890", "01234567890a", "012345678906", "9501101531001", "1.23457E+11"} {
		if g, err := ParseGTIN(s); err == nil {
			t.Errorf("ParseGTIN(%q) = %s", s, g)
		}
	}
	for _, s := range []string{"", "39512345123456789", "395123451234567896", "3951234512345678950"} {
		if c, err := ParseSSCC(s); err == nil {
			t.Errorf("ParseSSCC(%q) = %s", s, c)
		}
	}
	for _, c := range []struct {
		prefix string
		ext    int
		serial int64
	}{{"9520000", 10, 1}, {"9520000", 0, -1}, {"9520000", 0, 1e9}, {"95", 0, 1}, {"95a0000", 0, 1}, {"952000000000", 0, 10000}} {
		if s, err := NextSSCC(c.prefix, c.ext, c.serial); err == nil {
			t.Errorf("NextSSCC(%v) = %s", c, s)
		}
	}
}

// Each built number reads back, and a slip of any one digit is caught: the
// weights 1 and 3 have no divisor in common with ten.
func TestSSCCSlips(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		c, err := NextSSCC("9520000", rapid.IntRange(0, 9).Draw(t, "ext"), rapid.Int64Range(0, 999_999_999).Draw(t, "serial"))
		if err != nil {
			t.Fatal(err)
		}
		if _, err := ParseSSCC(string(c)); err != nil {
			t.Fatal(err)
		}
		i := rapid.IntRange(0, 17).Draw(t, "place")
		by := byte(rapid.IntRange(1, 9).Draw(t, "by"))
		slip := []byte(c)
		slip[i] = '0' + (slip[i]-'0'+by)%10
		if _, err := ParseSSCC(string(slip)); err == nil {
			t.Fatalf("%s read for %s", slip, c)
		}
	})
}

func TestElementsPublished(t *testing.T) {
	for _, r := range checkRows(t, "gs1-elements.txt", "same") {
		bracketed, err := ParseElements(r.col[0])
		if err != nil {
			t.Errorf("%s: %v", r.place, err)
			continue
		}
		raw, err := ParseElements(r.col[1])
		if err != nil {
			t.Errorf("%s: %v", r.place, err)
			continue
		}
		scan, err := ParseElements("]C1" + strings.ReplaceAll(r.col[1][1:], "^", "\x1d"))
		if err != nil {
			t.Errorf("%s: %v", r.place, err)
			continue
		}
		if bracketed.Raw() != r.col[1] || raw.String() != r.col[0] || scan.String() != r.col[0] {
			t.Errorf("%s: %s gives %s; %s gives %s; the scan gives %s", r.place, r.col[0], bracketed.Raw(), r.col[1], raw, scan)
		}
	}
	for _, r := range checkRows(t, "gs1-elements.txt", "reject") {
		if e, err := ParseElements(r.col[0]); err == nil {
			t.Errorf("%s: %s read as %s", r.place, r.col[0], e)
		}
	}
}

func TestElementsTogether(t *testing.T) {
	for _, kind := range []string{"together", "apart"} {
		for _, r := range checkRows(t, "gs1-elements.txt", kind) {
			e, err := ParseElements(r.col[0])
			if err != nil {
				t.Errorf("%s: %v", r.place, err)
				continue
			}
			if err := e.Check(); (err == nil) != (kind == "together") {
				t.Errorf("%s: %s: %v, want %s", r.place, e, err, kind)
			}
		}
	}
}

func TestElementsRefused(t *testing.T) {
	for _, s := range []string{"", "(", "()", "(01)", "^", "]C1", "^01123", "^0109501101530004", "^10ABC^", "^99ABC",
		"(17)260230", "(17)26020a", "(37)123456789", "(10)ABC DEF", "(10)ÄBC", "(420)123456789012345678901", "(01)09501101530003x"} {
		if e, err := ParseElements(s); err == nil {
			t.Errorf("%q read as %s", s, e)
		} else if err.Error() == "" {
			t.Errorf("%q refused without a word", s)
		}
	}
}

func TestElementsBracketInValue(t *testing.T) {
	e := Elements{{"01", "09501101530003"}, {"10", "A(1)(21)B"}}
	back, err := ParseElements(e.String())
	if err != nil || back.Raw() != e.Raw() {
		t.Fatalf("%s came back as %s, %v", e, back, err)
	}
	if e.Get("10") != "A(1)(21)B" || e.Get("21") != "" {
		t.Errorf("Get = %q, %q", e.Get("10"), e.Get("21"))
	}
}

func TestIsElements(t *testing.T) {
	for s, want := range map[string]bool{"(00)395123451234567895": true, "]C100": true, "]d201": true, "^00": true, "\x1d00": true, "": false, "]E04512345678906": false, "4512345678906": false, "M-0019-X": false} {
		if IsElements(s) != want {
			t.Errorf("IsElements(%q) = %v", s, !want)
		}
	}
	c, _ := ParseSSCC("395123451234567895")
	if e, err := ParseElements(c.Elements()); err != nil || e.Get("00") != string(c) {
		t.Errorf("%v, %v", e, err)
	}
}

// No identifier is the beginning of another, so reading them from the front is
// not ambiguous.
func TestIdentifiersPrefixFree(t *testing.T) {
	for a := range aiTable {
		for b := range aiTable {
			if a != b && strings.HasPrefix(b, a) {
				t.Errorf("%s begins %s", a, b)
			}
		}
	}
}

func FuzzElements(f *testing.F) {
	f.Add("(01)09501101530003(10)A1")
	f.Add("]C100395123451234567895")
	f.Add("^0110857674002017101152KMB")
	f.Fuzz(func(t *testing.T, s string) {
		e, err := ParseElements(s)
		if err != nil {
			return
		}
		again, err := ParseElements(e.Raw())
		if err != nil || again.String() != e.String() {
			t.Fatalf("%q read as %s, whose raw form %q reads as %s, %v", s, e, e.Raw(), again, err)
		}
	})
}

package label

import (
	"fmt"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"github.com/boombuler/barcode/code128"

	"packwright/prep"
)

// checks gives the rows of a kind from testdata/checks/code128.txt.
func checks(t *testing.T, kind string) (rows [][]string) {
	t.Helper()
	b, err := os.ReadFile(filepath.Join("..", "..", "testdata", "checks", "code128.txt"))
	if err != nil {
		t.Fatal(err)
	}
	for line := range strings.Lines(string(b)) {
		col := strings.Split(line, "|")
		for i := range col {
			col[i] = strings.TrimSpace(col[i])
		}
		if col[0] == kind {
			rows = append(rows, col[1:])
		}
	}
	if len(rows) == 0 {
		t.Fatalf("there are no checks %q", kind)
	}
	return rows
}

// code128Widths are the bars and spaces of each codeword, from 0 on (ISO/IEC
// 15417, table 1); written here anew, not taken from the library.
var code128Widths = strings.Fields(`
	212222 222122 222221 121223 121322 131222 122213 122312 132212 221213 221312 231212 112232 122132 122231 113222
	123122 123221 223211 221132 221231 213212 223112 312131 311222 321122 321221 312212 322112 322211 212123 212321
	232121 111323 131123 131321 112313 132113 132311 211313 231113 231311 112133 112331 132131 113123 113321 133121
	313121 211331 231131 213113 213311 213131 311123 311321 331121 312113 312311 332111 314111 221411 431111 111224
	111422 121124 121421 141122 141221 112214 112412 122114 122411 142112 142211 241211 221114 413111 241112 134111
	111242 121142 121241 114212 124112 124211 411212 421112 421211 212141 214121 412121 111143 111341 131141 114113
	114311 411113 411311 113141 114131 311141 411131 211412 211214 211232`)

// codewords reads a symbol: each codeword, without the stop.
func codewords(t *testing.T, modules []bool) (out []int) {
	t.Helper()
	var widths strings.Builder
	for i := 0; i < len(modules); {
		j := i
		for j < len(modules) && modules[j] == modules[i] {
			j++
		}
		fmt.Fprint(&widths, j-i)
		i = j
	}
	row := widths.String()
	for len(row) > 7 {
		n := slices.Index(code128Widths, row[:6])
		if n < 0 {
			t.Fatalf("no codeword has the widths %s", row[:6])
		}
		out, row = append(out, n), row[6:]
	}
	if row != "2331112" {
		t.Fatalf("the symbol ends with %s, not with the stop", row)
	}
	return out
}

// TestCodewords: our symbols are the published ones, codeword by codeword.
func TestCodewords(t *testing.T) {
	for _, c := range checks(t, "codewords") {
		s, err := Code128(strings.ReplaceAll(c[0], "^", string(code128.FNC1)))
		if err != nil {
			t.Fatal(err)
		}
		if got := fmt.Sprint(codewords(t, s.Rows[0])); got != "["+c[2]+"]" {
			t.Errorf("%s: %s, want %s", c[0], got, c[2])
		}
		if fmt.Sprint(s.modules()) != c[1] {
			t.Errorf("%s has %d modules, want %s", c[0], s.modules(), c[1])
		}
	}
	for _, c := range checks(t, "bits") {
		s, err := Code128(c[0])
		if err != nil {
			t.Fatal(err)
		}
		bits := ""
		for _, dark := range s.Rows[0] {
			bits += map[bool]string{true: "1", false: "0"}[dark]
		}
		if bits != c[1] {
			t.Errorf("%s: %s, want %s", c[0], bits, c[1])
		}
	}
}

// TestCartonNumber: the number of a carton is a GS1-128, and nothing shorter.
func TestCartonNumber(t *testing.T) {
	s, err := CartonNumber("095200000000000073")
	if err != nil {
		t.Fatal(err)
	}
	if got := codewords(t, s.Rows[0]); got[0] != 105 || got[1] != 102 || s.modules() != prep.SSCCSymbol.Modules {
		t.Errorf("begins with %v and has %d modules", got[:2], s.modules())
	}
	if s.Below != "(00) 0 9520 0000 0000 0007 3" || s.Says != "00095200000000000073" {
		t.Errorf("reads %s, %s", s.Below, s.Says)
	}
	if _, err := CartonNumber("095200000000000074"); err == nil {
		t.Error("a wrong check digit is drawn")
	}
}

func TestItemNumber(t *testing.T) {
	for _, c := range []struct {
		gtin              prep.GTIN
		name, says, below string
		modules           int
	}{
		{"9520000010010", "EAN-13", "9520000010010", "9 520000 010010", 95},
		{"09520000010010", "EAN-13", "9520000010010", "9 520000 010010", 95}, // filled up: the same number
		{"614141000036", "UPC-A", "614141000036", "6 14141 00003 6", 95},
		{"95200002", "EAN-8", "95200002", "9520 0002", 67},
		{"19520000010017", "GS1-128", "0119520000010017", "(01) 1 95 20000 01001 7", 134},
	} {
		s, err := ItemNumber(c.gtin)
		if err != nil || s.Name != c.name || s.Says != c.says || s.Below != c.below || s.modules() != c.modules {
			t.Errorf("%s: %s %s %q of %d modules, %v", c.gtin, s.Name, s.Says, s.Below, s.modules(), err)
		}
	}
	if _, err := ItemNumber("9520000010011"); err == nil {
		t.Error("a wrong check digit is drawn")
	}
}

// TestQuietOfNorm: each kind keeps the quiet zones of its norm, or more.
func TestQuietOfNorm(t *testing.T) {
	ean, _ := ItemNumber("9520000010010")
	upc, _ := ItemNumber("614141000036")
	ean8, _ := ItemNumber("95200002")
	own, _ := Code128("T-05.I")
	dm, _ := DataMatrix("T-05.I")
	qr, _ := QR("T-05.I")
	for _, c := range []struct {
		s           Symbol
		left, right int
	}{{ean, 11, 7}, {upc, 9, 9}, {ean8, 7, 7}, {own, 10, 10}, {dm, 1, 1}, {qr, 4, 4}} {
		if c.s.Left < c.left || c.s.Right < c.right {
			t.Errorf("%s keeps %d and %d modules of quiet, its norm wants %d and %d", c.s.Name, c.s.Left, c.s.Right, c.left, c.right)
		}
		if c.s.linear() && c.s.fits.Quiet > c.s.Left+c.s.Right {
			t.Errorf("%s is fitted with %d modules of quiet and drawn with %d", c.s.Name, c.s.fits.Quiet, c.s.Left+c.s.Right)
		}
	}
}

package label

import (
	"fmt"
	"strconv"
	"strings"

	"github.com/boombuler/barcode"
	"github.com/boombuler/barcode/code128"
	"github.com/boombuler/barcode/datamatrix"
	"github.com/boombuler/barcode/ean"
	"github.com/boombuler/barcode/qr"

	"packwright/prep"
)

// Symbol is a code as modules, dark ones true. A linear one has one row.
type Symbol struct {
	Name        string // of its kind
	Says        string // what a reader reports
	Below       string // the same for people; empty: it stands elsewhere
	Rows        [][]bool
	Left, Right int // quiet zones in modules; of square codes on all sides

	fits prep.LabelSymbol // linear: what its norm allows
}

func (s Symbol) linear() bool { return len(s.Rows) == 1 }
func (s Symbol) modules() int { return len(s.Rows[0]) }

// across is the whole width in modules, with quiet zones.
func (s Symbol) across() int { return s.Left + s.modules() + s.Right }

// rows reads modules off a code of the library, which draws one dot a module.
func rows(c barcode.Barcode) [][]bool {
	b := c.Bounds()
	out := make([][]bool, b.Dy())
	for y := range out {
		out[y] = make([]bool, b.Dx())
		for x := range out[y] {
			r, _, _, _ := c.At(b.Min.X+x, b.Min.Y+y).RGBA()
			out[y][x] = r == 0
		}
	}
	return out
}

// ItemNumber is the symbol of an item number: EAN-13, UPC-A or EAN-8, and
// GS1-128 with AI (01) for one of 14 digits that is no shorter number.
func ItemNumber(g prep.GTIN) (Symbol, error) {
	g, err := prep.ParseGTIN(string(g))
	if err != nil {
		return Symbol{}, err
	}
	if short, ok := strings.CutPrefix(string(g), "0"); ok && len(g) == 14 {
		g = prep.GTIN(short)
	}
	digits := string(g)
	s := Symbol{Says: digits}
	switch len(g) {
	case 14:
		s, err = gs1("01"+digits, prep.GTIN128Symbol)
		s.Below = "(01) " + groups(digits, 1, 2, 5, 5, 1)
		return s, err
	case 13:
		s.fits, s.Left, s.Right, s.Below = prep.EAN13Symbol, 11, 7, groups(digits, 1, 6, 6)
	case 12:
		s.fits, s.Left, s.Right, s.Below = prep.UPCASymbol, 9, 9, groups(digits, 1, 5, 5, 1)
		digits = "0" + digits // the same bars
	case 8:
		s.fits, s.Left, s.Right, s.Below = prep.EAN8Symbol, 7, 7, groups(digits, 4, 4)
	}
	code, err := ean.Encode(digits)
	if err != nil {
		return Symbol{}, prep.Input(digits+": "+err.Error(), "read the number again")
	}
	s.Name, s.Rows = s.fits.Name, rows(code)
	return s, nil
}

// CartonNumber is the GS1-128 of a carton number, AI (00).
func CartonNumber(c prep.SSCC) (Symbol, error) {
	c, err := prep.ParseSSCC(string(c))
	if err != nil {
		return Symbol{}, err
	}
	s, err := gs1("00"+string(c), prep.SSCCSymbol)
	s.Below = "(00) " + groups(string(c), 1, 4, 4, 4, 4, 1)
	return s, err
}

func gs1(elements string, fits prep.LabelSymbol) (Symbol, error) {
	s, err := Code128(string(code128.FNC1) + elements)
	s.Name, s.Says, s.fits = "GS1-128", elements, fits
	return s, err
}

// Code128 is a symbol of a code of the floor's own.
func Code128(code string) (Symbol, error) {
	c, err := code128.Encode(code)
	if err != nil {
		return Symbol{}, prep.Input(strconv.Quote(code)+" has signs that Code 128 does not, or too many", "use letters, digits and signs of ASCII")
	}
	s := Symbol{Name: "Code 128", Says: code, Below: code, Rows: rows(c), Left: 10, Right: 10}
	s.fits = prep.LabelSymbol{Name: s.Name, Modules: s.modules(), Quiet: s.Left + s.Right}
	return s, nil
}

// DataMatrix is a square code without words below. The norm wants one module of
// quiet; two are kept.
func DataMatrix(code string) (Symbol, error) {
	c, err := datamatrix.Encode(code)
	if err != nil {
		return Symbol{}, prep.Input(strconv.Quote(code)+" is too long for a square code", "use a shorter one")
	}
	return Symbol{Name: "Data Matrix", Says: code, Rows: rows(c), Left: 2, Right: 2}, nil
}

// QR is the other square code, which more readers know; it is larger.
func QR(code string) (Symbol, error) {
	c, err := qr.Encode(code, qr.M, qr.Auto)
	if err != nil {
		return Symbol{}, prep.Input(strconv.Quote(code)+" is too long for a square code", "use a shorter one")
	}
	return Symbol{Name: "QR", Says: code, Rows: rows(c), Left: 4, Right: 4}, nil
}

// fit gives the module width in dots for a linear symbol in a room of so many
// dots. Errors: *prep.InputError with the reason why none fits.
func (p *page) fit(s Symbol, room int) (dots int, err error) {
	width := (int64(room)*int64(prep.Inch) + int64(p.DPI) - 1) / int64(p.DPI)
	f, err := prep.FitLabel(s.fits, prep.Length(width), p.Height, p.DPI)
	if err == nil && !f.Fits {
		why := strings.TrimSuffix(f.Why, "; the label is "+prep.Length(width).String())
		err = prep.Input(fmt.Sprintf("the %s of %s does not go onto this %s at %d dpi, where it has %s of the width: %s", s.Name, s.Says, p.stock, p.DPI, prep.Length(width), why),
			"take a larger label, a finer printer, or a shorter code")
	}
	return f.Dots, err
}

// square gives the module width in dots for a square code in a room of so many
// dots a side.
func (p *page) square(s Symbol, room int) (dots int, err error) {
	dots = min(room/s.across(), p.u(16)) // 2 mm are enough for any reader
	if dots < prep.LeastDots {
		return 0, prep.Input(fmt.Sprintf("the %s of %s would have modules of %d dots on this %s at %d dpi; %d are the least", s.Name, s.Says, dots, p.stock, p.DPI, prep.LeastDots),
			"take a larger label, a finer printer, or a shorter code")
	}
	return dots, nil
}

// groups puts spaces between groups of digits.
func groups(digits string, sizes ...int) string {
	var parts []string
	for _, n := range sizes {
		parts = append(parts, digits[:n])
		digits = digits[n:]
	}
	return strings.Join(parts, " ")
}

package prep

import (
	"math"
	"strconv"
)

// Length is a length in micrometres (µm). JSON: a decimal number of millimetres.
type Length int64

// Exact lengths: an inch is 25.4 mm (international yard and pound agreement, 1959).
const (
	Micrometre Length = 1
	MM         Length = 1000
	CM         Length = 10 * MM
	Inch       Length = 25400
)

// Mass is a mass in milligrams. JSON: a decimal number of grams.
type Mass int64

// Masses. Pound and Ounce are rounded to the milligram; ParseMass and the
// float views use the exact 453.59237 g.
const (
	Milligram Mass = 1
	Gram      Mass = 1000
	Kilogram  Mass = 1000 * Gram
	Pound     Mass = 453592
	Ounce     Mass = 28350
)

// Inches is the length in inches, for formulas that are stated in inches.
func (l Length) Inches() float64 { return float64(l) / 25400 }

// Millimetres is the length in millimetres, for formulas.
func (l Length) Millimetres() float64 { return float64(l) / 1000 }

// Grams is the mass in grams, for formulas.
func (m Mass) Grams() float64 { return float64(m) / 1000 }

// Pounds is the mass in avoirdupois pounds of 453.59237 g, for formulas.
func (m Mass) Pounds() float64 { return float64(m) / 453592.37 }

// String gives millimetres: "158.75 mm".
func (l Length) String() string { return string(appendDecimal(nil, int64(l), 3)) + " mm" }

// InchString gives inches with at most three decimals, rounded half away
// from zero: "6.25 in".
func (l Length) InchString() string {
	return string(appendDecimal(nil, mulDiv(int64(l), 10, 254), 3)) + " in"
}

// String gives grams, or kilograms from 10 kg: "540 g", "12.5 kg".
func (m Mass) String() string {
	if m >= 10*Kilogram || m <= -10*Kilogram {
		return string(appendDecimal(nil, int64(m), 6)) + " kg"
	}
	return string(appendDecimal(nil, int64(m), 3)) + " g"
}

// PoundString gives pounds with at most two decimals, rounded half away from
// zero: "39.68 lb".
func (m Mass) PoundString() string {
	return string(appendDecimal(nil, mulDiv(int64(m), 10000, 45359237), 2)) + " lb"
}

func (l Length) MarshalJSON() ([]byte, error) { return appendDecimal(nil, int64(l), 3), nil }
func (m Mass) MarshalJSON() ([]byte, error)   { return appendDecimal(nil, int64(m), 3), nil }

func (l *Length) UnmarshalJSON(b []byte) error { return unmarshalDecimal(b, 3, (*int64)(l)) }
func (m *Mass) UnmarshalJSON(b []byte) error   { return unmarshalDecimal(b, 3, (*int64)(m)) }

func unmarshalDecimal(b []byte, places int, into *int64) error {
	if isNull(b) {
		return nil
	}
	v, err := parseDecimal(b, places)
	if err != nil {
		return err
	}
	*into = v
	return nil
}

// Dims are the three outside sides of a thing, or the three inside sides of a
// box, in any order. JSON: an array of three numbers of millimetres.
type Dims [3]Length

// String gives "158.75×114.3×88.9 mm".
func (d Dims) String() string {
	b := appendDecimal(nil, int64(d[0]), 3)
	b = append(b, "×"...)
	b = appendDecimal(b, int64(d[1]), 3)
	b = append(b, "×"...)
	b = appendDecimal(b, int64(d[2]), 3)
	return string(b) + " mm"
}

// Sorted returns the sides from the longest to the shortest.
func (d Dims) Sorted() Dims {
	if d[0] < d[1] {
		d[0], d[1] = d[1], d[0]
	}
	if d[1] < d[2] {
		d[1], d[2] = d[2], d[1]
	}
	if d[0] < d[1] {
		d[0], d[1] = d[1], d[0]
	}
	return d
}

// MarshalJSON gives [mm, mm, mm].
func (d Dims) MarshalJSON() ([]byte, error) {
	b := make([]byte, 0, 32)
	for i, l := range d {
		b = append(b, "[,,"[i])
		b = appendDecimal(b, int64(l), 3)
	}
	return append(b, ']'), nil
}

// UnmarshalJSON wants exactly three numbers.
func (d *Dims) UnmarshalJSON(b []byte) error {
	if isNull(b) {
		return nil
	}
	var out Dims
	n, start := 0, 1
	for i := 1; i < len(b); i++ {
		if b[i] != ',' && b[i] != ']' {
			continue
		}
		if n == 3 {
			return notThreeSides(b)
		}
		v, err := parseDecimal(trimSpace(b[start:i]), 3)
		if err != nil {
			return err
		}
		out[n] = Length(v)
		n, start = n+1, i+1
	}
	if n != 3 || b[0] != '[' {
		return notThreeSides(b)
	}
	*d = out
	return nil
}

func notThreeSides(b []byte) *InputError {
	return Input(strconv.Quote(string(b))+" is not three sides", "write length, width and height in millimetres")
}

func trimSpace(b []byte) []byte {
	for len(b) > 0 && (b[0] == ' ' || b[0] == '\t' || b[0] == '\n' || b[0] == '\r') {
		b = b[1:]
	}
	for len(b) > 0 && (b[len(b)-1] == ' ' || b[len(b)-1] == '\t' || b[len(b)-1] == '\n' || b[len(b)-1] == '\r') {
		b = b[:len(b)-1]
	}
	return b
}

// Fixed is a dimensionless number in millionths: a z value, a probability, a
// ratio. JSON: a decimal number. It exists so that what is written to the log
// reads back as the same number everywhere.
type Fixed int64

// FixedOf rounds f to the nearest millionth, half away from zero. Not-a-number
// gives 0 and what is out of range gives the nearest end of the range.
func FixedOf(f float64) Fixed {
	x := math.Round(f * 1e6)
	switch {
	case x != x:
		return 0
	case x >= math.MaxInt64:
		return math.MaxInt64
	case x <= -math.MaxInt64:
		return -math.MaxInt64
	}
	return Fixed(x)
}

// Float is the number as a float, for formulas and display.
func (f Fixed) Float() float64 { return float64(f) / 1e6 }

// String gives the shortest exact decimal.
func (f Fixed) String() string { return string(appendDecimal(nil, int64(f), 6)) }

func (f Fixed) MarshalJSON() ([]byte, error)  { return appendDecimal(nil, int64(f), 6), nil }
func (f *Fixed) UnmarshalJSON(b []byte) error { return unmarshalDecimal(b, 6, (*int64)(f)) }

package prep

import (
	"math"
	"math/bits"
	"strconv"
	"strings"
)

// Money is an amount in thousandths of a currency's minor unit (a thousandth
// of a cent). JSON: a decimal number of minor units, exactly: 115.417.
//
// Which currency that is, is one setting of the floor (Currency) and is not
// carried by each number: a floor never adds two currencies. Sums are kept at
// full fineness and rounded only when they are shown.
type Money int64

// MinorUnit is one minor unit of the currency, such as a cent.
const MinorUnit Money = 1000

// Rounded gives whole minor units, half away from zero.
func (m Money) Rounded() int64 { return mulDiv(int64(m), 1, int64(MinorUnit)) }

// Tenths gives tenths of a minor unit, half away from zero: for comparing
// recipes whose difference is less than a minor unit.
func (m Money) Tenths() int64 { return mulDiv(int64(m), 1, int64(MinorUnit)/10) }

// Times is m·num/den, rounded half away from zero to a thousandth of a minor
// unit. den must not be 0; a result out of range is held at the end of the range.
func (m Money) Times(num, den int64) Money { return Money(mulDiv(int64(m), num, den)) }

// String gives minor units in full: "115.417".
func (m Money) String() string { return string(appendDecimal(nil, int64(m), 3)) }

func (m Money) MarshalJSON() ([]byte, error)  { return appendDecimal(nil, int64(m), 3), nil }
func (m *Money) UnmarshalJSON(b []byte) error { return unmarshalDecimal(b, 3, (*int64)(m)) }

// ParseMoney reads a decimal number of minor units, as in JSON: "24.5" is
// twenty-four and a half cents. For amounts as people write them, see Currency.Parse.
func ParseMoney(s string) (Money, error) {
	v, err := parseDecimal([]byte(strings.TrimSpace(s)), 3)
	if err != nil {
		return 0, err
	}
	return Money(v), nil
}

// Currency is the floor's one currency: its ISO 4217 code and how many decimal
// digits its minor unit has (2 for most, 0 or 3 for some).
type Currency struct {
	Code   string `json:"code"`
	Digits int    `json:"digits"`
}

// Parse reads an amount in major units, "16.50" or "16,50". "1,200" could be
// meant in two ways and is refused.
func (c Currency) Parse(s string) (Money, error) {
	s = strings.TrimSpace(s)
	if before, after, comma := strings.Cut(s, ","); comma {
		if len(after) == 3 && strings.Trim(before, "0") != "" {
			return 0, Input(strconv.Quote(s)+" can be read as "+before+"."+after+" or as "+before+after, "write it with a point or without a thousands sign")
		}
		s = before + "." + after
	}
	v, err := parseDecimal([]byte(s), c.Digits+3)
	if err != nil {
		return 0, err
	}
	return Money(v), nil
}

// Format shows an amount in major units, rounded to the minor unit half away
// from zero: "1.15 USD".
func (c Currency) Format(m Money) string {
	v := m.Rounded()
	sign := ""
	if v < 0 {
		sign, v = "-", -v
	}
	s := strconv.FormatInt(v, 10)
	if c.Digits > 0 {
		if len(s) <= c.Digits {
			s = strings.Repeat("0", c.Digits+1-len(s)) + s
		}
		s = s[:len(s)-c.Digits] + "." + s[len(s)-c.Digits:]
	}
	return strings.TrimRight(sign+s+" "+c.Code, " ")
}

// mulDiv is a·b/c rounded half away from zero, through 128 bits; a result that
// does not fit is held at the end of the range. c must not be 0.
func mulDiv(a, b, c int64) int64 {
	neg := (a < 0) != (b < 0) != (c < 0)
	hi, lo := bits.Mul64(magnitude(a), magnitude(b))
	d := magnitude(c)
	lo, carry := bits.Add64(lo, d/2, 0)
	hi += carry
	q := uint64(math.MaxInt64)
	if hi < d {
		if x, _ := bits.Div64(hi, lo, d); x < q {
			q = x
		}
	}
	if neg {
		return -int64(q)
	}
	return int64(q)
}

func magnitude(v int64) uint64 {
	if v < 0 {
		return -uint64(v)
	}
	return uint64(v)
}

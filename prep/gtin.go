package prep

import (
	"math"
	"strconv"
	"strings"
)

// GTIN is a Global Trade Item Number as it was written: 8, 12, 13 or 14 digits
// with a right check digit (GS1 General Specifications, section 7.9). Compare
// two by Norm14: the same item may be written in several lengths.
type GTIN string

// SSCC is a Serial Shipping Container Code, the number of one carton: 18
// digits, of which the last is a check digit.
type SSCC string

// CheckDigit returns the check digit, '0' to '9', for the digits before it:
// from the right, weights 3, 1, 3, ...; the check digit fills the sum up to a
// multiple of ten. Example: "629104150021" sums to 57 and gives '3'.
func CheckDigit(digits string) (byte, error) {
	if !onlyDigits(digits) {
		return 0, Input(strconv.Quote(digits)+" is not a row of digits", "write digits only")
	}
	sum, weight := 0, 3
	for i := len(digits) - 1; i >= 0; i-- {
		sum += int(digits[i]-'0') * weight
		weight = 4 - weight
	}
	return byte('0' + (10-sum%10)%10), nil
}

// checked tells whether the last digit of a row of digits is its check digit.
func checked(s string) bool {
	if len(s) < 2 {
		return false
	}
	c, err := CheckDigit(s[:len(s)-1])
	return err == nil && c == s[len(s)-1]
}

// ParseGTIN reads 8, 12, 13 or 14 digits and verifies the check digit.
func ParseGTIN(s string) (GTIN, error) {
	s = strings.TrimSpace(s)
	if !onlyDigits(s) || (len(s) != 8 && (len(s) < 12 || len(s) > 14)) {
		return "", Input(strconv.Quote(s)+" is not an item number", "it has 8, 12, 13 or 14 digits; keep leading zeros")
	}
	if !checked(s) {
		return "", Input("the check digit of "+s+" does not fit", "read the number again")
	}
	return GTIN(s), nil
}

// Norm14 fills the number up to 14 digits with leading zeros.
func (g GTIN) Norm14() GTIN {
	if len(g) >= 14 {
		return g
	}
	return GTIN(strings.Repeat("0", 14-len(g))) + g
}

// ParseSSCC reads 18 digits and verifies the check digit.
func ParseSSCC(s string) (SSCC, error) {
	s = strings.TrimSpace(s)
	if len(s) != 18 || !onlyDigits(s) {
		return "", Input(strconv.Quote(s)+" is not a carton number", "it has 18 digits")
	}
	if !checked(s) {
		return "", Input("the check digit of carton number "+s+" does not fit", "read the number again")
	}
	return SSCC(s), nil
}

// Elements gives the number with its application identifier, "(00)…".
func (c SSCC) Elements() string { return "(00)" + string(c) }

// NextSSCC builds a carton number: extension digit, company prefix, serial
// reference filled up so that both have 16 digits, check digit. The prefix has
// 3 to 12 digits and must be the floor's own; 952 is the range for
// demonstrations. A serial reference is not used again within twelve months.
func NextSSCC(prefix string, ext int, serial int64) (SSCC, error) {
	if !onlyDigits(prefix) || len(prefix) < 3 || len(prefix) > 12 {
		return "", Input(strconv.Quote(prefix)+" is not a company prefix", "it has 3 to 12 digits")
	}
	if ext < 0 || ext > 9 {
		return "", Input("extension digit "+strconv.Itoa(ext)+" is out of range", "take 0 to 9")
	}
	room := 16 - len(prefix)
	if serial < 0 || float64(serial) >= math.Pow10(room) {
		return "", Input("serial "+strconv.FormatInt(serial, 10)+" does not fit beside prefix "+prefix,
			"take the next extension digit, or start the serials again after twelve months")
	}
	n := strconv.FormatInt(serial, 10)
	s := strconv.Itoa(ext) + prefix + strings.Repeat("0", room-len(n)) + n
	c, err := CheckDigit(s)
	return SSCC(s + string(c)), err
}

package prep

import (
	"strconv"
	"strings"
)

// Mark is the serial of one unit, counted up by one floor and never used twice.
// It has three written forms:
//
//	wire     M-0019     at least four digits; JSON and events
//	display  M-0019-X   with a check sign; screens and the text of a label
//	code     111111MX   eight signs; the symbol a reader scans
//
// Each checked form carries a sum over a prime field of the signs of its own
// kind, so that every slip of one sign and every swap of two adjacent signs
// changes it: the code form mod 31 over base-31 digits, the display form mod 19
// over decimal ones. One sum cannot serve both, because a slip in a decimal
// digit carries through several base-31 digits: by the code's sum M-0090 and
// M-0093 would share a sign. The sign of the display form is always a letter,
// so that a hyphen misread as a digit cannot turn M-1000-… into an unchecked
// M-10000…. The tests walk all slips and swaps.
//
// A code of digits alone can be the number of an item as well (a GTIN-8: 254 of
// the first million marks, from M-0968 on, all beginning 11). Who reads
// scans asks the reader's symbology or the catalogue first.
type Mark uint32

// markAlphabet leaves out 0, O, I, L and U; the place of a sign is its value.
const markAlphabet = "123456789ABCDEFGHJKMNPQRSTVWXYZ"

const (
	markBase   = 31 // a prime: the checks below need it
	markDigits = 7  // 31^7 > 2^32
)

var markValue = func() (v [256]int8) {
	for i := range v {
		v[i] = -1
	}
	for i := range len(markAlphabet) {
		c := markAlphabet[i]
		v[c] = int8(i)
		v[c|0x20] = int8(i) // lower case; a no-op for digits
	}
	return v
}()

// String gives the wire form, M-0019.
func (m Mark) String() string { return string(m.append(nil)) }

// Display gives the form for people, M-0019-X. The check sign is the letter of
// value counter + 17 mod 19: no d·10^k with d of 1 to 9 (a slip) and no
// 9·d·10^k (a swap of adjacent digits) is divisible by 19.
func (m Mark) Display() string { return string(append(m.append(nil), '-', m.displayCheck())) }

// displayLetters are those of markAlphabet without B, S and Z, which are
// misread for 8, 5 and 2.
const displayLetters = "ACDEFGHJKMNPQRTVWXY"

func (m Mark) displayCheck() byte {
	return displayLetters[(uint64(m)+17)%uint64(len(displayLetters))]
}

// Code gives the eight signs of the symbol: the counter in seven base-31
// digits, then the sign of value Σ(i+2)·v mod 31, i counted from 0 at the left.
func (m Mark) Code() string {
	var b [markDigits + 1]byte
	n, sum := uint32(m), 0
	for i := markDigits - 1; i >= 0; i-- {
		v := int(n % markBase)
		n /= markBase
		b[i] = markAlphabet[v]
		sum += (i + 2) * v
	}
	b[markDigits] = markAlphabet[sum%markBase]
	return string(b[:])
}

func (m Mark) append(b []byte) []byte {
	b = append(b, 'M', '-')
	for limit := Mark(1000); limit > 1 && m < limit; limit /= 10 {
		b = append(b, '0')
	}
	return strconv.AppendUint(b, uint64(m), 10)
}

// ParseMark reads any of the three forms, upper or lower case. A check sign
// that does not fit, or a number written in another way than String writes it,
// is an *InputError: the sign is there to be believed.
func ParseMark(s string) (Mark, error) {
	s = strings.TrimSpace(s)
	if len(s) < 2 || s[1] != '-' {
		return parseMarkCode(s)
	}
	number, check, checked := strings.Cut(s[2:], "-")
	m, ok := parseMarkNumber([]byte(number))
	if !ok || (s[0] != 'M' && s[0] != 'm') || (checked && len(check) != 1) {
		return 0, notMark(s)
	}
	if checked && check[0]&^0x20 != m.displayCheck() {
		return 0, readMarkAgain(s)
	}
	return m, nil
}

func parseMarkCode(s string) (Mark, error) {
	if len(s) != markDigits+1 {
		return 0, notMark(s)
	}
	var n uint64
	sum := 0
	for i := range markDigits {
		v := markValue[s[i]]
		if v < 0 {
			return 0, notMark(s)
		}
		n = n*markBase + uint64(v)
		sum += (i + 2) * int(v)
	}
	if int(markValue[s[markDigits]]) != sum%markBase || n > 1<<32-1 {
		return 0, readMarkAgain(s)
	}
	return Mark(n), nil
}

// parseMarkNumber reads four to ten digits with no more leading zeros than String writes.
func parseMarkNumber(b []byte) (Mark, bool) {
	if len(b) < 4 || len(b) > 10 || (len(b) > 4 && b[0] == '0') {
		return 0, false
	}
	var n uint64
	for _, c := range b {
		if c < '0' || c > '9' {
			return 0, false
		}
		n = n*10 + uint64(c-'0')
	}
	return Mark(n), n <= 1<<32-1
}

func notMark(s string) *InputError {
	return Input(strconv.Quote(s)+" is not a mark", "scan the square code, or type it like "+Mark(19).Display())
}

func readMarkAgain(s string) *InputError {
	return Input("the check sign of mark "+strconv.Quote(s)+" does not fit", "read it again; if it still does not fit, set the piece aside")
}

// MarshalText gives the wire form.
func (m Mark) MarshalText() ([]byte, error) { return m.append(nil), nil }

// UnmarshalText takes any form that ParseMark takes.
func (m *Mark) UnmarshalText(b []byte) error {
	if len(b) > 2 && b[0] == 'M' && b[1] == '-' {
		if n, ok := parseMarkNumber(b[2:]); ok {
			*m = n
			return nil
		}
	}
	n, err := ParseMark(string(b))
	if err != nil {
		return err
	}
	*m = n
	return nil
}

package prep

import (
	"math"
	"strconv"
)

// Measures, money and probabilities are whole numbers of a small unit, and on
// the wire decimal numbers of a larger one: 158.75 (mm) is 158750 µm. The two
// functions here are the inverse of each other; neither passes through a float.

// appendDecimal writes v·10^-places without trailing zeros.
func appendDecimal(b []byte, v int64, places int) []byte {
	u := uint64(v)
	if v < 0 {
		b = append(b, '-')
		u = -u
	}
	scale := uint64(1)
	for range places {
		scale *= 10
	}
	b = strconv.AppendUint(b, u/scale, 10)
	frac := u % scale
	if frac == 0 {
		return b
	}
	b = append(b, '.')
	for frac > 0 {
		scale /= 10
		b = append(b, byte('0'+frac/scale))
		frac %= scale
	}
	return b
}

// parseDecimal reads a JSON number and returns it times 10^places. A number
// finer than that, or too large, is an error: it is never rounded on reading.
func parseDecimal(b []byte, places int) (int64, *InputError) {
	i, neg := 0, false
	if len(b) > 0 && b[0] == '-' {
		neg, i = true, 1
	}
	var u uint64
	digits, frac, seenPoint := 0, 0, false
	for ; i < len(b); i++ {
		c := b[i]
		if c == '.' && !seenPoint && digits > 0 {
			seenPoint = true
			continue
		}
		if c < '0' || c > '9' {
			break
		}
		if u > (math.MaxUint64-9)/10 {
			return 0, tooLarge(b)
		}
		u = u*10 + uint64(c-'0')
		digits++
		if seenPoint {
			frac++
		}
	}
	if digits == 0 || (seenPoint && frac == 0) {
		return 0, notNumber(b)
	}
	exp := 0
	if i < len(b) {
		if b[i] != 'e' && b[i] != 'E' {
			return 0, notNumber(b)
		}
		var err error
		if exp, err = strconv.Atoi(string(b[i+1:])); err != nil || exp > 40 || exp < -40 {
			return 0, notNumber(b)
		}
	}
	return shiftDecimal(b, u, places-frac+exp, neg)
}

// shiftDecimal multiplies u by 10^shift, exactly, and applies the sign.
func shiftDecimal(b []byte, u uint64, shift int, neg bool) (int64, *InputError) {
	for ; shift > 0 && u > 0; shift-- {
		if u > math.MaxUint64/10 {
			return 0, tooLarge(b)
		}
		u *= 10
	}
	for ; shift < 0 && u > 0; shift++ {
		if u%10 != 0 {
			return 0, Input(strconv.Quote(string(b))+" is finer than can be kept", "round it")
		}
		u /= 10
	}
	if u > math.MaxInt64 {
		return 0, tooLarge(b)
	}
	if neg {
		return -int64(u), nil
	}
	return int64(u), nil
}

func notNumber(b []byte) *InputError {
	return Input(strconv.Quote(string(b))+" is not a number", "write digits with a decimal point")
}

func tooLarge(b []byte) *InputError {
	return Input(strconv.Quote(string(b))+" is too large", "check the number")
}

func isNull(b []byte) bool { return string(b) == "null" }

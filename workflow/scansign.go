package workflow

import "strings"

// signAlphabet is that of ISO/IEC 7064 MOD 37-2: the place of a sign is its value.
const signAlphabet = "0123456789ABCDEFGHIJKLMNOPQRSTUVWXYZ*"

// Signed gives a code of the floor's own as its label carries it: with a full
// stop and a check sign, T-05.U. The sign is ISO/IEC 7064 MOD 37-2 over the
// letters and digits of the code, so that a slip of one of them, and a swap of
// two neighbours, is always seen. Upper and lower case are one.
func Signed(code string) string { return code + "." + string(signOf(code)) }

// signOf works out the check sign: with p doubled and added to from the left,
// p + sign is 1 modulo 37.
func signOf(code string) byte {
	p := 0
	for _, c := range []byte(strings.ToUpper(code)) {
		if v := strings.IndexByte(signAlphabet[:36], c); v >= 0 {
			p = (p + v) * 2 % 37
		}
	}
	return signAlphabet[(38-p)%37]
}

// unsigned splits the check sign off a code: signed says that there is one,
// right that it fits.
func unsigned(s string) (code string, signed, right bool) {
	i := len(s) - 2
	if i < 1 || s[i] != '.' {
		return s, false, false
	}
	sign := s[i+1] &^ 0x20
	if s[i+1] < 'A' {
		sign = s[i+1]
	}
	return s[:i], true, sign == signOf(s[:i])
}

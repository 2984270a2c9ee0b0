package prep

import (
	"strings"
)

const numberHint = "write at least 5, over 5, under 5, at most 5, exactly 5, from 2 to 5, or unknown"

// parseNumberTest reads a threshold in words for a fact of the given kind:
// "at least 127 mm", "over 0", "from 2 to 5", "unknown", "over 20 kg or unknown".
func parseNumberTest(s string, kind factKind) (readyTest, error) {
	t := readyTest{}
	t.lo, t.hi = bounds()
	phrase := strings.Join(strings.Fields(strings.ToLower(s)), " ")
	if rest, ok := strings.CutSuffix(phrase, " or unknown"); ok {
		t.want, phrase = bitUnknown, rest
	}
	if phrase == unknownWord {
		t.want = bitUnknown
		return t, nil
	}
	t.number = true
	if rest, ok := strings.CutPrefix(phrase, "from "); ok {
		from, to, ok := strings.Cut(rest, " to ")
		if !ok {
			return t, Input(quoted(s)+" is half a range", numberHint)
		}
		return t, rangeTest(&t, from, to, kind)
	}
	for _, form := range numberForms {
		rest, ok := strings.CutPrefix(phrase, form.words+" ")
		if !ok {
			continue
		}
		v, err := quantity(rest, kind)
		if err != nil {
			return t, err
		}
		form.set(&t, v)
		return t, nil
	}
	return t, Input(quoted(s)+" is not a threshold", numberHint)
}

var numberForms = []struct {
	words string
	set   func(*readyTest, int64)
}{
	{"at least", func(t *readyTest, v int64) { t.lo = v }},
	{"at most", func(t *readyTest, v int64) { t.hi = v }},
	{"over", func(t *readyTest, v int64) { t.lo = v + 1 }},
	{"under", func(t *readyTest, v int64) { t.hi = v - 1 }},
	{"exactly", func(t *readyTest, v int64) { t.lo, t.hi = v, v }},
}

func rangeTest(t *readyTest, from, to string, kind factKind) error {
	lo, err := quantity(from, kind)
	if err != nil {
		return err
	}
	hi, err := quantity(to, kind)
	if err != nil {
		return err
	}
	if lo > hi {
		return Input("the range from "+from+" to "+to+" is empty", "write the smaller number first")
	}
	t.lo, t.hi = lo, hi
	return nil
}

// quantity reads a number of the kind's own unit (millimetres, grams, minor
// units, pieces), or with a unit written after it.
func quantity(s string, kind factKind) (int64, error) {
	s = strings.TrimSpace(s)
	switch kind {
	case asLength:
		v, err := ParseLength(withUnit(s, " mm"))
		return checkedQuantity(int64(v), s, err)
	case asMass:
		v, err := ParseMass(withUnit(s, " g"))
		return checkedQuantity(int64(v), s, err)
	case asMoney:
		v, err := ParseMoney(s)
		return checkedQuantity(int64(v), s, err)
	}
	return wholeNumber(s)
}

// largestQuantity keeps sums of thresholds and item measures far from overflow.
const largestQuantity = 1 << 50

func checkedQuantity(v int64, s string, err error) (int64, error) {
	if err != nil {
		return 0, err
	}
	if v > largestQuantity || v < -largestQuantity {
		return 0, Input(quoted(s)+" is too large", "check the number")
	}
	return v, nil
}

func withUnit(s, unit string) string {
	if s != "" && strings.Trim(s, "-0123456789.,") == "" {
		return s + unit
	}
	return s
}

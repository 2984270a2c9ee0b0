package prep

import (
	"math/big"
	"strconv"
	"strings"
	"unicode"
)

// Micrometres and milligrams per unit as exact fractions. The inch is 25.4 mm
// and the pound 453.59237 g exactly (1959 agreement); a mil is 0.001 in.
var (
	lengthUnits = map[string]*big.Rat{
		"um": big.NewRat(1, 1), "µm": big.NewRat(1, 1), "μm": big.NewRat(1, 1),
		"mm": big.NewRat(1000, 1), "cm": big.NewRat(10000, 1), "m": big.NewRat(1000000, 1),
		"in": big.NewRat(25400, 1), "inch": big.NewRat(25400, 1), "inches": big.NewRat(25400, 1),
		`"`: big.NewRat(25400, 1), "″": big.NewRat(25400, 1), "”": big.NewRat(25400, 1),
		"ft": big.NewRat(304800, 1), "foot": big.NewRat(304800, 1), "feet": big.NewRat(304800, 1),
		"'": big.NewRat(304800, 1), "′": big.NewRat(304800, 1),
		"mil": big.NewRat(254, 10), "mils": big.NewRat(254, 10),
	}
	massUnits = map[string]*big.Rat{
		"mg": big.NewRat(1, 1), "g": big.NewRat(1000, 1), "kg": big.NewRat(1000000, 1),
		"lb": big.NewRat(45359237, 100), "lbs": big.NewRat(45359237, 100),
		"oz": big.NewRat(45359237, 1600),
	}
	vulgar = map[rune]*big.Rat{
		'½': big.NewRat(1, 2), '¼': big.NewRat(1, 4), '¾': big.NewRat(3, 4),
		'⅛': big.NewRat(1, 8), '⅜': big.NewRat(3, 8), '⅝': big.NewRat(5, 8), '⅞': big.NewRat(7, 8),
		'⅓': big.NewRat(1, 3), '⅔': big.NewRat(2, 3),
	}
)

const (
	lengthHint = "write a number and a unit, such as 8 1/2 in, 21.6 cm or 159 mm"
	massHint   = "write a number and a unit, such as 540 g, 1.2 lb or 12 oz"
)

// ParseLength reads a length as people write it: 8 1/2", 8.5in, 2¼ in,
// 21,6 cm, 5 ft 2 in, 1.5 mil. The unit is never guessed. The result is
// rounded half away from zero to the micrometre.
func ParseLength(s string) (Length, error) {
	v, err := parseMeasure(s, lengthUnits, lengthHint)
	return Length(v), err
}

// ParseMass reads a mass as people write it: 540g, 1.2 lb, 12 oz, 1 lb 3 oz.
// The unit is never guessed. The result is rounded half away from zero to the
// milligram.
func ParseMass(s string) (Mass, error) {
	v, err := parseMeasure(s, massUnits, massHint)
	return Mass(v), err
}

// ParseDims reads three sides joined by x or ×: "6.25x4.5x3.5in",
// "6.25 × 4.5 × 3.5 in", "159x114x89mm", "10 cm x 4 in x 30 mm". A side without
// a unit takes the unit of the last side.
func ParseDims(s string) (Dims, error) {
	parts := strings.FieldsFunc(s, func(r rune) bool { return r == 'x' || r == 'X' || r == '×' || r == '*' })
	if len(parts) != 3 {
		return Dims{}, Input(strconv.Quote(s)+" is not three sides", "write them like 6.25x4.5x3.5in")
	}
	last := strings.TrimSpace(parts[2])
	unit := last[len(strings.TrimRightFunc(last, isUnitSign)):]
	var d Dims
	for i, p := range parts {
		if strings.IndexFunc(p, isUnitSign) < 0 {
			p += unit
		}
		l, err := ParseLength(p)
		if err != nil {
			return Dims{}, err
		}
		d[i] = l
	}
	return d, nil
}

func isUnitSign(r rune) bool {
	return r == '"' || r == '\'' || r == '″' || r == '′' || r == '”' || unicode.IsLetter(r)
}

// parseMeasure adds up one or more (quantity, unit) pairs exactly and rounds once.
func parseMeasure(s string, units map[string]*big.Rat, hint string) (int64, error) {
	sum := new(big.Rat)
	rest := strings.TrimSpace(s)
	if rest == "" {
		return 0, Input("a measure is missing", hint)
	}
	for rest != "" {
		cut := strings.IndexFunc(rest, isUnitSign)
		if cut < 0 {
			return 0, Input(strconv.Quote(s)+" has no unit", hint)
		}
		q, err := parseQuantity(strings.TrimSpace(rest[:cut]), s, hint)
		if err != nil {
			return 0, err
		}
		name, after := takeUnit(rest[cut:])
		factor, ok := units[strings.ToLower(name)]
		if !ok {
			return 0, Input(strconv.Quote(s)+": unit "+strconv.Quote(name)+" is not known here", hint)
		}
		sum.Add(sum, q.Mul(q, factor))
		rest = strings.TrimSpace(after)
	}
	v, ok := roundRat(sum)
	if !ok {
		return 0, Input(strconv.Quote(s)+" is too large", "check the number and the unit")
	}
	return v, nil
}

// takeUnit splits a unit off the front: one quote sign, or letters and a full stop.
func takeUnit(s string) (name, rest string) {
	for i, r := range s {
		if i == 0 && !unicode.IsLetter(r) {
			return s[:len(string(r))], s[len(string(r)):]
		}
		if !unicode.IsLetter(r) {
			return s[:i], strings.TrimPrefix(s[i:], ".")
		}
	}
	return s, ""
}

// parseQuantity reads "8", "8.5", "21,6", "1/2", "8 1/2", "8-1/2", "2¼".
func parseQuantity(q, whole, hint string) (*big.Rat, error) {
	bad := Input(strconv.Quote(whole)+" is not a measure", hint)
	sum := new(big.Rat)
	for r, v := range vulgar {
		if rest, found := strings.CutSuffix(q, string(r)); found {
			if q = strings.TrimSpace(rest); q == "" {
				return sum.Set(v), nil
			}
			sum.Set(v)
			break
		}
	}
	parts := strings.FieldsFunc(q, func(r rune) bool { return unicode.IsSpace(r) || r == '-' })
	if len(parts) == 0 || len(parts) > 2 || strings.HasPrefix(q, "-") {
		return nil, bad
	}
	if len(parts) == 2 && (!strings.Contains(parts[1], "/") || !onlyDigits(parts[0])) {
		return nil, bad
	}
	for _, p := range parts {
		v, err := parseNumber(p, whole)
		if err != nil {
			return nil, err
		}
		if v == nil {
			return nil, bad
		}
		sum.Add(sum, v)
	}
	return sum, nil
}

// parseNumber reads one decimal or one fraction; nil without error means that
// it is neither.
func parseNumber(p, whole string) (*big.Rat, error) {
	if len(p) > 18 {
		return nil, Input(strconv.Quote(whole)+" has too many digits", "check the number")
	}
	if num, den, ok := strings.Cut(p, "/"); ok {
		if !onlyDigits(num) || !onlyDigits(den) || strings.Trim(den, "0") == "" {
			return nil, nil
		}
		v, _ := new(big.Rat).SetString(p)
		return v, nil
	}
	if before, after, ok := strings.Cut(p, ","); ok {
		if len(after) == 3 && strings.Trim(before, "0") != "" {
			return nil, Input(strconv.Quote(whole)+" can be read as "+before+"."+after+" or as "+before+after,
				"write it with a point or without a thousands sign")
		}
		p = before + "." + after
	}
	if strings.Trim(p, "0123456789.") != "" || strings.Count(p, ".") > 1 || strings.Trim(p, ".") == "" {
		return nil, nil
	}
	v, ok := new(big.Rat).SetString(p)
	if !ok {
		return nil, nil
	}
	return v, nil
}

func onlyDigits(s string) bool { return s != "" && strings.Trim(s, "0123456789") == "" }

// roundRat rounds a non-negative fraction half away from zero.
func roundRat(r *big.Rat) (int64, bool) {
	twice := new(big.Int).Mul(r.Num(), big.NewInt(2))
	twice.Add(twice, r.Denom())
	twice.Div(twice, new(big.Int).Mul(r.Denom(), big.NewInt(2)))
	return twice.Int64(), twice.IsInt64()
}

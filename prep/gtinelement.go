package prep

import (
	"strconv"
	"strings"
)

// Element is one part of an element string: an application identifier (AI) of
// two to four digits and its value.
type Element struct{ AI, Value string }

// Elements are the parts of one symbol, in the order they were read.
type Elements []Element

// fnc1 stands for the separator sign in the raw form, as in the published
// vectors; readers transmit it as ASCII 29.
const fnc1 = '^'

// symbologyFNC1 are the symbology identifiers (ISO/IEC 15424) of symbols that
// carry element strings: GS1-128, DataBar, DataMatrix, QR.
var symbologyFNC1 = []string{"]C1", "]e0", "]d2", "]Q3"}

// IsElements tells whether a scan announces itself as an element string.
func IsElements(s string) bool {
	return strings.HasPrefix(s, "(") || s != "" && (s[0] == fnc1 || s[0] == 29) || symbologyPrefix(s) != ""
}

func symbologyPrefix(s string) string {
	for _, p := range symbologyFNC1 {
		if strings.HasPrefix(s, p) {
			return p
		}
	}
	return ""
}

// ParseElements reads an element string with brackets, "(01)…(10)…", where a
// bracket inside a value is written "\(", or raw: a symbology identifier, ^ or
// ASCII 29, then AIs and values, each of variable length ended by ^ or ASCII 29.
// Every value is held against its AI's length, character set, check digit and
// calendar. Which AIs may stand together is asked by Check.
func ParseElements(s string) (Elements, error) {
	if strings.HasPrefix(s, "(") {
		return parseBracketed(s)
	}
	if p := symbologyPrefix(s); p != "" {
		return parseRaw(s, s[len(p):])
	}
	if s != "" && (s[0] == fnc1 || s[0] == 29) {
		return parseRaw(s, s[1:])
	}
	return nil, Input(strconv.Quote(s)+" is not an element string", "scan the symbol, or type the identifiers in brackets: (01)…(10)…")
}

func parseBracketed(s string) (Elements, error) {
	var out Elements
	for rest := s; rest != ""; {
		ai, after, ok := strings.Cut(rest[1:], ")")
		a, known := aiTable[ai]
		if !ok || !known {
			return nil, unknownAI(s, ai)
		}
		var value strings.Builder
		i := 0
		for ; i < len(after) && after[i] != '('; i++ {
			if after[i] == '\\' && i+1 < len(after) && after[i+1] == '(' {
				i++
			}
			value.WriteByte(after[i])
		}
		rest = after[i:]
		if err := a.check(ai, value.String()); err != nil {
			return nil, err
		}
		out = append(out, Element{ai, value.String()})
	}
	return out, nil
}

func parseRaw(whole, s string) (Elements, error) {
	var out Elements
	for s != "" {
		ai, a, ok := leadingAI(s)
		if !ok {
			return nil, unknownAI(whole, s[:min(4, len(s))])
		}
		s = s[len(ai):]
		end := strings.IndexFunc(s, func(r rune) bool { return r == fnc1 || r == 29 })
		next := end + 1
		if end < 0 {
			end, next = len(s), len(s)
		}
		if a.predefined && a.max < end {
			end, next = a.max, a.max
		}
		if err := a.check(ai, s[:end]); err != nil {
			return nil, err
		}
		out = append(out, Element{ai, s[:end]})
		if s = s[next:]; s == "" && next > end && !a.predefined {
			return nil, Input(strconv.Quote(whole)+" ends with a separator", "scan the symbol again")
		}
	}
	if out == nil {
		return nil, Input(strconv.Quote(whole)+" is empty", "scan the symbol again")
	}
	return out, nil
}

// leadingAI finds the AI at the front; no AI of the table is the beginning of another.
func leadingAI(s string) (string, aiRule, bool) {
	for n := 2; n <= 4 && n <= len(s); n++ {
		if a, ok := aiTable[s[:n]]; ok {
			return s[:n], a, true
		}
	}
	return "", aiRule{}, false
}

func unknownAI(s, ai string) *InputError {
	return Input(strconv.Quote(s)+": identifier "+strconv.Quote(ai)+" is not known here", "scan the symbol again, or use the item number under it")
}

// Get returns the value of an AI, "" when it is not there.
func (e Elements) Get(ai string) string {
	for _, p := range e {
		if p.AI == ai {
			return p.Value
		}
	}
	return ""
}

// String gives the form with brackets.
func (e Elements) String() string {
	var b strings.Builder
	for _, p := range e {
		b.WriteString("(" + p.AI + ")" + strings.ReplaceAll(p.Value, "(", `\(`))
	}
	return b.String()
}

// Raw gives the form for a symbol: ^ in front, and ^ after every value whose
// length is not fixed by its AI, except the last.
func (e Elements) Raw() string {
	b := []byte{fnc1}
	for i, p := range e {
		b = append(append(b, p.AI...), p.Value...)
		if i < len(e)-1 && !aiTable[p.AI].predefined {
			b = append(b, fnc1)
		}
	}
	return string(b)
}

package workflow

import (
	"strings"
	"unicode"
)

// A reader types its codes like a keyboard, as if for the United States. Where
// the bench expects another keyboard, or Caps Lock is on, other signs arrive.

// TestCard is what the test card of a bench says: the signs that wander most.
const TestCard = "!TEST-aqwzmyAQWZMY-0123456789/."

// layout is a keyboard that a bench may be set to: signs as sent, and as they arrive.
type layout struct {
	name       string
	sent, come []rune
}

// layouts are from memory of common keyboards; only the signs that codes use.
var layouts = []layout{
	{"German", []rune("yzYZ-/#*()"), []rune("zyZYß-§()=")},
	{"French", []rune("aqwzAQWZmM0123456789-/.!#*()"), []rune("qazwQAZW,?à&é\"'(-è_ç)!:13890")},
	{"Spanish or Italian", []rune("-/*()"), []rune("'-()=")},
	{"Nordic", []rune("-/*()"), []rune("+-()=")},
}

// turn replaces signs of one list by those of the other.
func turn(s string, from, to []rune) string {
	return strings.Map(func(r rune) rune {
		for i := range from {
			if from[i] == r {
				return to[i]
			}
		}
		return r
	}, s)
}

// swapCase is what Caps Lock does.
func swapCase(s string) string {
	return strings.Map(func(r rune) rune {
		if unicode.IsUpper(r) {
			return unicode.ToLower(r)
		}
		return unicode.ToUpper(r)
	}, s)
}

// mistake is a way in which a bench's keyboard may be set wrongly.
type mistake struct {
	says string // what, in at most 12 words
	sent func(arrived string) string
	come func(sent string) string
}

var mistakes = func() (all []mistake) {
	all = append(all, mistake{"Caps Lock is on. Press it once, then scan again.", swapCase, swapCase})
	for _, l := range layouts {
		sent := func(s string) string { return turn(s, l.come, l.sent) }
		come := func(s string) string { return turn(s, l.sent, l.come) }
		says := "The keyboard is " + l.name + ", not US."
		all = append(all, mistake{says, sent, come},
			mistake{says + " Caps Lock too.", func(s string) string { return swapCase(sent(s)) }, func(s string) string { return come(swapCase(s)) }})
	}
	return all
}()

// keyboard judges what arrived when the test card was scanned: right is an
// empty finding. ok false: it was not the test card.
func keyboard(arrived string) (finding string, ok bool) {
	if arrived == TestCard {
		return "", true
	}
	for _, m := range mistakes {
		if m.come(TestCard) == arrived {
			return m.says, true
		}
	}
	if strings.HasPrefix(arrived, TestCard[:6]) {
		return "The reader changes or drops signs. Reset it, then scan again.", true
	}
	return "", false
}

// mistyped looks whether a scan that says nothing is a signed code of the
// floor's own seen through a wrong keyboard.
func mistyped(arrived string) (finding string, ok bool) {
	for _, m := range mistakes {
		code, signed, right := unsigned(m.sent(arrived))
		if signed && right && (strings.HasPrefix(code, "!") || classOf(code) != "") {
			return m.says, true
		}
	}
	return "", false
}

package workflow

import (
	"strings"

	"packwright/prep"
)

// What a hand keys is a number of pieces, or, where a step asks what a pack says,
// a value: a date, a lot, a serial.
const (
	countMost = 4 // digits of a number of pieces
	// valueMost is the length of the longest batch, AI (10), or serial, AI (21), in
	// the GS1 General Specifications.
	valueMost = 20
	digits    = "0123456789"
)

// valueStep gives the step in hand that waits for a value.
func (b *Bench) valueStep(f *Floor) (prep.Step, bool) {
	r := f.runAt(b.Station)
	if r == nil || b.Hand != HandRun || b.Want != nil {
		return prep.Step{}, false
	}
	step, ok := unchecked(r, f.recipeOf(r), 1)
	if !ok {
		step, ok = closing(r, f.recipeOf(r))
	}
	return step, ok && step.Check == prep.CheckValue
}

// valued takes a whole value where a step waits for one: a date, or a code that
// names nothing on this floor. What the floor knows is meant as ever.
func (b *Bench) valued(f *Floor, raw string) (Scan, bool) {
	text := strings.TrimSpace(raw)
	if len(text) < 4 || len(text) > valueMost || !(plainWord(text) || dated(text)) {
		return Scan{}, false
	}
	if _, waits := b.valueStep(f); !waits || !f.nameless(text) {
		return Scan{}, false
	}
	return Scan{Raw: raw, Class: ScanDigit, Code: text}, true
}

// dated says whether a text is a date as YYYY-MM-DD or YYYY-MM.
func dated(text string) bool {
	if len(text) != len("2033-01") && len(text) != len("2033-01-31") {
		return false
	}
	for i := range len(text) {
		if hyphen := i == 4 || i == 7; hyphen != (text[i] == '-') || !hyphen && (text[i] < '0' || text[i] > '9') {
			return false
		}
	}
	return true
}

// nameless says whether a code is of nothing that this floor knows, and does not
// look like a code of its own or an item's long number that was read amiss.
func (f *Floor) nameless(text string) bool {
	if strings.HasPrefix(strings.ToUpper(text), "M-") || classOf(strings.ToUpper(text)) != "" {
		return false
	}
	if _, wrong := mistyped(text); wrong {
		return false
	}
	s, err := ParseScan(text, f)
	switch {
	case err != nil, s.Class == ScanSeal:
		return true
	case s.Class == ScanItem:
		return s.Item == "" && len(text) == len("20330131")
	case s.Class == ScanMaterial:
		return f.materialOf(text) == ""
	}
	return false
}

// digit adds to a number; to a value, as much as a value may hold. A whole value
// takes the place of what was keyed before it.
func (b *Bench) digit(f *Floor, s Scan) Said {
	most, end := countMost, "ENTER"
	if _, waits := b.valueStep(f); waits {
		most, end = valueMost, "DONE"
		if len(s.Code) > countMost || strings.Trim(b.Number, digits) != "" {
			b.Number = ""
		}
	}
	if len(b.Number)+len(s.Code) > most {
		b.Number = ""
		return no("That number is too long.", "Begin it again.")
	}
	b.Number += s.Code
	return prompt("So far "+b.Number+".", "More digits, or "+end+".")
}

// isCount says whether what was keyed can be a number of pieces.
func isCount(text string) bool {
	return len(text) <= countMost && strings.Trim(text, digits) == ""
}

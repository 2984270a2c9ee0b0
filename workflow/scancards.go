package workflow

import (
	"strconv"
	"strings"
)

// Card is a printed card that a hand in a glove can scan instead of typing.
type Card struct {
	Word string // as in !TAKE-OUT
	Says string // what it does, for its back
}

// Code is what the card's symbol carries.
func (c Card) Code() string { return Signed("!" + c.Word) }

// Cards lists the action cards in the order of the sheet they are printed on.
// Beside them there are ten digit cards (#0 to #9) and number cards (N-2 …).
var Cards = []Card{
	{"DONE", "the step on the screen is done"},
	{"READY", "the pieces of this run are finished: all, or so many as said"},
	{"SPOILED", "one was damaged here; then a card for the cause"},
	{"TEAR", "cause: torn"},
	{"HEAT", "cause: heat"},
	{"STAIN", "cause: stain"},
	{"CRUSH", "cause: crushed"},
	{"DROP", "cause: dropped"},
	{"OTHER", "cause: another"},
	{"OUT-OF", "the roll or pack is used up; then scan the next"},
	{"RE-PRINT", "a label tore or jammed; then scan it"},
	{"FINISH-RUN", "this run is over"},
	{"PREP", "these may be prepped: all, or so many as said"},
	{"DIVERT", "these go another way; then a card for the cause"},
	{"HOLD", "set these aside; then scan the piece or its tote"},
	{"POUR", "the whole tote goes into this carton"},
	{"TAKE-OUT", "the next piece comes out of this carton"},
	{"FINISH-CARTON", "this carton is full; count it"},
	{"ENTER", "the number is complete"},
	{"TAKE-BACK", "take the last action back"},
	{"CANCEL", "forget what was begun; nothing is kept"},
	{"PAUSE", "this run rests; scan its tote to go on"},
	{"HAND-OVER", "another bench has this; then scan that bench"},
	{"SIGN-OUT", "this badge leaves this bench"},
	{"HELP", "call the supervisor"},
}

// digitCode and numberCode are what digit cards and number cards carry.
func digitCode(n int) string  { return Signed("#" + strconv.Itoa(n)) }
func numberCode(n int) string { return Signed("N-" + strconv.Itoa(n)) }

// Sheet lists the codes of all cards of a bench: actions, digits, numbers up to most.
func Sheet(most int) (codes []string) {
	for _, c := range Cards {
		codes = append(codes, c.Code())
	}
	for n := range 10 {
		codes = append(codes, digitCode(n))
	}
	for n := 2; n <= most; n++ {
		codes = append(codes, numberCode(n))
	}
	return append(codes, TestCard)
}

func knownCard(word string) bool {
	for i := range Cards {
		if Cards[i].Word == word {
			return true
		}
	}
	return false
}

// parseCard reads !WORD, #7 and N-12 without their sign. nil: it is no card.
func parseCard(code string) *Scan {
	up := strings.ToUpper(code)
	if word, ok := strings.CutPrefix(up, "!"); ok && knownCard(word) {
		return &Scan{Class: ScanCard, Code: word}
	}
	if digit, ok := strings.CutPrefix(up, "#"); ok && len(digit) == 1 && digit[0] >= '0' && digit[0] <= '9' {
		return &Scan{Class: ScanDigit, Code: digit, N: int(digit[0] - '0')}
	}
	if number, ok := strings.CutPrefix(up, "N-"); ok {
		if n, err := strconv.Atoi(number); err == nil && n > 1 && n <= 999 {
			return &Scan{Class: ScanNumber, Code: number, N: n}
		}
	}
	return nil
}

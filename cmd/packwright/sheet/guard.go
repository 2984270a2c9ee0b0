package sheet

import (
	"regexp"
	"strings"
)

// formulaSigns are what a cell begins with that a spreadsheet may run as a formula:
// as OWASP's page "CSV Injection" lists them, the line feed and the wide forms of the
// signs included.
const formulaSigns = "=+-@\t\r\n＝＋－＠"

// plainNumber is text that a spreadsheet reads as a number, sign and all.
var plainNumber = regexp.MustCompile(`^[+-]?[0-9]+(\.[0-9]+)?$`)

// Guard writes a cell's text so that a spreadsheet shows it and does not run it: with
// an apostrophe before it where it begins like a formula. Numbers stay numbers. Parse
// takes the apostrophe off again. It holds for a table that is read as it was
// written, with commas; a program that splits the cells otherwise splits them after
// the guard.
func Guard(text string) string {
	if !likeFormula(text) || plainNumber.MatchString(text) {
		return text
	}
	return "'" + text
}

func likeFormula(text string) bool {
	for _, first := range text {
		return strings.ContainsRune(formulaSigns, first)
	}
	return false
}

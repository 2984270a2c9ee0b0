package prep

import (
	"strconv"
	"strings"
	"unicode/utf8"
)

// InputError says that something a person wrote or scanned cannot be taken:
// where it stands, what is wrong with it, and what to do about it. It is for
// the person who can mend the input; nothing has been changed when it appears.
//
// Line and Col count from 1, Col in characters (not bytes); 0 means unknown.
// Snippet, when set, is the source line that Line names, without its newline.
type InputError struct {
	File      string
	Line, Col int
	What, Do  string
	Snippet   string
}

// Input returns an InputError that has no place in a file: a scan, a typed
// measure, a flag.
func Input(what, do string) *InputError { return &InputError{What: what, Do: do} }

// Error gives "file:line:col: what; do", leaving out the parts that are not known.
func (e *InputError) Error() string {
	var b strings.Builder
	b.WriteString(e.File)
	if e.Line > 0 {
		if e.File != "" {
			b.WriteByte(':')
		}
		b.WriteString(strconv.Itoa(e.Line))
		if e.Col > 0 {
			b.WriteByte(':')
			b.WriteString(strconv.Itoa(e.Col))
		}
	}
	if b.Len() > 0 {
		b.WriteString(": ")
	}
	b.WriteString(e.What)
	if e.Do != "" {
		b.WriteString("; ")
		b.WriteString(e.Do)
	}
	return b.String()
}

// Show gives Error and, when the source line is known, that line with a caret
// under the column. Tabs before the column are kept so that the caret lines up.
func (e *InputError) Show() string {
	if e.Snippet == "" {
		return e.Error()
	}
	gutter := "    "
	if e.Line > 0 {
		gutter = leftPad(strconv.Itoa(e.Line), 4)
	}
	out := e.Error() + "\n" + gutter + " | " + e.Snippet
	if e.Col <= 0 {
		return out
	}
	return out + "\n" + strings.Repeat(" ", utf8.RuneCountInString(gutter)) + " | " + caretIndent(e.Snippet, e.Col) + "^"
}

func caretIndent(line string, col int) string {
	var b strings.Builder
	at := 1
	for _, r := range line {
		if at >= col {
			break
		}
		if r == '\t' {
			b.WriteByte('\t')
		} else {
			b.WriteByte(' ')
		}
		at++
	}
	for ; at < col; at++ {
		b.WriteByte(' ')
	}
	return b.String()
}

func leftPad(s string, n int) string {
	if len(s) >= n {
		return s
	}
	return strings.Repeat(" ", n-len(s)) + s
}

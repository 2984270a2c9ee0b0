package sheet

import (
	"bytes"
	"fmt"
	"strings"
	"unicode/utf8"

	"golang.org/x/text/encoding"
	"golang.org/x/text/encoding/charmap"
	"golang.org/x/text/encoding/unicode"

	"packwright/prep"
)

// decode turns a file's bytes into text, whatever wrote them: the byte-order
// mark decides, then zero bytes at every second place, then valid UTF-8; what
// is left is taken for Windows-1252, with a warning.
func (t *Table) decode(src []byte) (string, error) {
	utf16 := func(e unicode.Endianness) encoding.Encoding { return unicode.UTF16(e, unicode.UseBOM) }
	switch wide, big := wideOrder(src); {
	case bytes.HasPrefix(src, []byte("\xef\xbb\xbf")):
		return t.checked(string(src[3:]))
	case wide && len(src)%2 == 1:
		return "", &prep.InputError{File: t.File, What: "the file breaks off in the middle of a sign", Do: "save it again"}
	case wide && big:
		return t.through(utf16(unicode.BigEndian), src)
	case wide:
		return t.through(utf16(unicode.LittleEndian), src)
	case utf8.Valid(src):
		return t.checked(string(src))
	}
	text, err := t.through(charmap.Windows1252, src)
	if err == nil {
		t.Warnings = append(t.Warnings, &prep.InputError{File: t.File, What: "not UTF-8; it was read as Windows-1252", Do: "look at signs such as é and ö"})
	}
	return text, err
}

func (t *Table) through(e encoding.Encoding, src []byte) (string, error) {
	out, err := e.NewDecoder().Bytes(src)
	if err != nil {
		return "", &prep.InputError{File: t.File, What: "the file is not text: " + err.Error(), Do: "save it as CSV in UTF-8"}
	}
	return t.checked(string(out))
}

// wideOrder says whether the bytes are UTF-16, and whether the high byte comes first.
func wideOrder(src []byte) (wide, big bool) {
	switch {
	case bytes.HasPrefix(src, []byte("\xff\xfe")):
		return true, false
	case bytes.HasPrefix(src, []byte("\xfe\xff")):
		return true, true
	}
	head := src[:min(len(src), 200)&^1]
	var zeros [2]int
	for i, b := range head {
		if b == 0 {
			zeros[i%2]++
		}
	}
	half := len(head) / 2
	if half > 0 && zeros[0]*10 >= half*7 && zeros[1] == 0 {
		return true, true
	}
	return half > 0 && zeros[1]*10 >= half*7 && zeros[0] == 0, false
}

// checked refuses text that no table holds, and brings line ends to one form.
func (t *Table) checked(text string) (string, error) {
	if !strings.Contains(text, "\n") {
		text = strings.ReplaceAll(text, "\r", "\n")
	}
	line := 1
	for _, r := range text {
		switch {
		case r == '\n':
			line++
		case r < ' ' && r != '\t' && r != '\r', r == utf8.RuneError:
			return "", &prep.InputError{File: t.File, Line: line, What: fmt.Sprintf("the sign %U belongs in no table", r), Do: "save the file as CSV in UTF-8, or as a workbook"}
		}
	}
	return text, nil
}

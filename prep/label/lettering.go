package label

import (
	"fmt"
	"strings"
	"sync"

	"golang.org/x/image/font"
	"golang.org/x/image/font/gofont/gobold"
	"golang.org/x/image/font/gofont/goregular"
	"golang.org/x/image/font/opentype"
	"golang.org/x/image/font/sfnt"
	"golang.org/x/image/math/fixed"

	"packwright/prep"
)

// typeface is one weight of the type, with the width of each sign in units of
// the em.
type typeface struct {
	ttf  []byte
	font *sfnt.Font

	mu     sync.Mutex
	buf    sfnt.Buffer
	widths map[rune]int
}

var faces = sync.OnceValue(func() (out [2]*typeface) {
	for i, ttf := range [][]byte{goregular.TTF, gobold.TTF} {
		f, err := opentype.Parse(ttf)
		if err != nil {
			panic(err) // the type is part of the program
		}
		out[i] = &typeface{ttf: ttf, font: f, widths: map[rune]int{}}
	}
	return out
})

func face(bold bool) *typeface {
	if bold {
		return faces()[1]
	}
	return faces()[0]
}

// width gives a sign's width in units of the em, -1 for one the type has not.
func (t *typeface) width(r rune) int {
	t.mu.Lock()
	defer t.mu.Unlock()
	if w, ok := t.widths[r]; ok {
		return w
	}
	w := -1
	if i, err := t.font.GlyphIndex(&t.buf, r); err == nil && i != 0 {
		units := fixed.Int26_6(t.font.UnitsPerEm())
		if a, err := t.font.GlyphAdvance(&t.buf, i, units, font.HintingNone); err == nil {
			w = int(a)
		}
	}
	t.widths[r] = w
	return w
}

// measure gives the length of a line in dots, rounded up.
func measure(s string, bold bool, size int) int {
	t, sum := face(bold), 0
	for _, r := range s {
		sum += max(0, t.width(r))
	}
	em := int(t.font.UnitsPerEm())
	return (sum*size + em - 1) / em
}

// settable refuses words with signs that the type does not have: a box on a
// label tells nobody anything.
func settable(s string) error {
	for _, r := range s {
		if face(false).width(r) < 0 || face(true).width(r) < 0 {
			return prep.Input(fmt.Sprintf("the sign %q (U+%04X) in %q cannot be printed", r, r, s), "write it in Latin, Greek or Cyrillic letters")
		}
	}
	return nil
}

// wrap breaks words into lines no longer than width; a word that is longer by
// itself is broken where it must be.
func wrap(s string, bold bool, size, width int) (lines []string) {
	line := ""
	for _, word := range strings.Fields(s) {
		if longer := strings.TrimSpace(line + " " + word); measure(longer, bold, size) <= width {
			line = longer
			continue
		}
		if line != "" {
			lines = append(lines, line)
		}
		for measure(word, bold, size) > width {
			head := cut(word, bold, size, width)
			if head == "" || head == word {
				break
			}
			lines, word = append(lines, head), word[len(head):]
		}
		line = word
	}
	if line != "" {
		lines = append(lines, line)
	}
	return lines
}

// cut gives as much of the beginning as is no longer than width.
func cut(s string, bold bool, size, width int) string {
	end := 0
	for i, r := range s {
		if measure(s[:i+len(string(r))], bold, size) > width {
			break
		}
		end = i + len(string(r))
	}
	return s[:end]
}

package web

import (
	"html/template"
	"regexp"
	"testing"
)

// wrapped is a code within a sentence, as codes marks it.
var wrapped = regexp.MustCompile(`<span class="code">([^<]*)</span>`)

// TestCodesStayWhole: codes are kept on one line, words are not, and nothing is let through.
func TestCodesStayWhole(t *testing.T) {
	for text, want := range map[string]template.HTML{
		"C-07 is short":                `<span class="code">C-07</span> is short`,
		"X-02 · C-07 and A-ST-1":       `<span class="code">X-02</span> · <span class="code">C-07</span> and <span class="code">A-ST-1</span>`,
		"M-0001-Y, BW-18":              `<span class="code">M-0001-Y</span>, <span class="code">BW-18</span>`,
		"NO-GO; find-and-add, 12-13":   `NO-GO; find-and-add, 12-13`,
		`<b>"LD-1"</b> & C-07's sheet`: `&lt;b&gt;&#34;<span class="code">LD-1</span>&#34;&lt;/b&gt; &amp; <span class="code">C-07</span>&#39;s sheet`,
	} {
		if got := codes(text); got != want {
			t.Errorf("%s: %s, want %s", text, got, want)
		}
	}
}

package workflow

import (
	"strings"
	"testing"
)

// A step that wants a value takes a whole date or serial, by digit cards, keys or
// a reader; what the floor knows stays what it is, and a number of pieces stays short.
func TestBenchTakesValues(t *testing.T) {
	story := tellTo(t, `use run-ready
10:05 ST-3 sunniva open-run tote=T-09 bench_clear=yes
10:05:20 ST-3 sunniva draw-material material=bag-8x12 matlot=BG-9
10:05:21 ST-3 sunniva draw-material material=closure-seal matlot=CT-1
10:06:00 ST-3 sunniva check-step step=look-over
10:06:05 ST-3 scan T-09`)
	cards := func(text string) (out []string) {
		for _, c := range text {
			out = append(out, "#"+string(c))
		}
		return out
	}
	for _, c := range []struct {
		name  string
		scans []string
		value string // what DONE then gives; empty: nothing was taken
	}{
		{"digit cards", cards("20330131"), "20330131"},
		{"four digits and more", []string{"2033", "0131"}, "20330131"},
		{"eight digits at once", []string{"20330131"}, "20330131"},
		{"a date", []string{"2033-01-31"}, "2033-01-31"},
		{"a month", []string{"2033-01"}, "2033-01"},
		{"a date after wrong digits", []string{"203", "2033-01-31"}, "2033-01-31"},
		{"digits after a date", []string{"2033-01-31", "2033", "0201"}, "20330201"},
		{"a lot's code", []string{"K7731B"}, "K7731B"},
		{"a serial of twenty", []string{strings.Repeat("1", 19) + "7"}, strings.Repeat("1", 19) + "7"},
		{"one of twenty-one", []string{strings.Repeat("1", 21)}, ""},
		{"too many digit cards", cards(strings.Repeat("12", 10) + "3"), ""},
		{"the item's own code", []string{"9520000010096"}, ""},
		{"a code of nobody's item", []string{"9520000099992"}, ""},
		{"a tote", []string{"T-99"}, ""},
		{"a label read amiss", []string{"M-0001-Z"}, ""},
	} {
		began := *story.bench["ST-3"]
		b, at := &began, story.now
		var said Said
		for _, raw := range c.scans {
			at = at.Add(2e9)
			said = b.Scan(story.floor, raw, at)
		}
		if c.value != "" && !strings.HasPrefix(said.Text, "So far "+c.value) {
			t.Errorf("%s: %v", c.name, said)
		}
		said = b.Scan(story.floor, "!DONE", at.Add(2e9))
		switch {
		case c.value == "" && said.Command != nil:
			t.Errorf("%s: gave %s", c.name, said.Command.Data)
		case c.value != "" && (said.Command == nil || !strings.Contains(string(said.Command.Data), `"value":"`+c.value+`"`)):
			t.Errorf("%s: %+v", c.name, said)
		}
	}
	b := *story.bench["ST-3"]
	b.Number = "20330131"
	if said := b.Scan(story.floor, "!READY", story.now.Add(9e9)); said.Command != nil {
		t.Errorf("a date was taken for a number of pieces: %s", said.Command.Data)
	}
	b.Hand, b.Number = HandCount, ""
	for i := range 5 {
		b.Scan(story.floor, "#"+string(rune('1'+i)), story.now.Add(1e10))
	}
	if b.Number != "" {
		t.Errorf("a count of five digits: %s", b.Number)
	}
}

package web_test

import (
	"encoding/json"
	"fmt"
	"strings"
	"testing"

	"packwright/cmd/packwright/web/webtest"
)

// pressed is one key on its way to the page.
type pressed struct {
	Key    string `json:"key"`
	Ctrl   bool   `json:"ctrl,omitempty"`
	Field  bool   `json:"field,omitempty"`
	Digits bool   `json:"digits,omitempty"` // a field for digits alone
	Value  string `json:"value"`
	At     int    `json:"at"`
}

// keysOf types text from a moment on, a key each gap ms; \n is Enter, \t is Tab.
func keysOf(text string, from, gap int, field bool) (out []pressed) {
	value := ""
	for i, r := range text {
		key := string(r)
		switch r {
		case '\n':
			key = "Enter"
		case '\t':
			key = "Tab"
		}
		out = append(out, pressed{Key: key, Field: field, Value: value, At: from + i*gap})
		if field && len(key) == 1 {
			value += key
		}
	}
	return out
}

// TestAReaderIsToldFromHands drives the reader of keys as the page does: outside a
// field everything up to Enter or Tab is a code; inside one only what comes faster
// than hands do, and what it typed is undone; a prefix makes it certain.
func TestAReaderIsToldFromHands(t *testing.T) {
	b := webtest.Open(t)
	hub := webtest.Demo(t, "--until", "08:05")
	tab := b.Tab(t, hub)
	tab.Go(t, "/join")
	join := func(parts ...[]pressed) (out []pressed) {
		for _, p := range parts {
			out = append(out, p...)
		}
		return out
	}
	for _, c := range []struct {
		name, prefix string
		keys         []pressed
		codes        []string
		restored     string // what the field is to hold again; "-": it is left alone
	}{
		{"a reader outside a field", "", keysOf("T-05.U\n", 0, 4, false), []string{"T-05.U"}, "-"},
		{"Tab ends it too", "", keysOf("T-05.U\t", 0, 4, false), []string{"T-05.U"}, "-"},
		{"a slow reader, or a hand", "", keysOf("C-04\n", 0, 700, false), []string{"C-04"}, "-"},
		{"silence begins a new code", "", join(keysOf("T-0", 0, 5, false), keysOf("C-04.9\n", 1600, 5, false)), []string{"C-04.9"}, "-"},
		{"less than that does not", "", join(keysOf("T-0", 0, 5, false), keysOf("5.U\n", 1400, 5, false)), []string{"T-05.U"}, "-"},
		{"Enter alone is the page's", "", keysOf("\n\t", 0, 400, false), nil, "-"},
		{"two codes in a row", "", keysOf("#1.B\n#2.D\n", 0, 4, false), []string{"#1.B", "#2.D"}, "-"},
		{"a hand in a field", "", keysOf("21\n", 0, 180, true), nil, "-"},
		{"a quick hand in a field: too short for a code", "", keysOf("21\n", 0, 60, true), nil, "-"},
		{"a reader in a field", "", keysOf("T-05.U\n", 0, 6, true), []string{"T-05.U"}, ""},
		{"a reader in a field where a hand had begun", "", join(keysOf("2", 0, 1, true), inField(keysOf("T-05.U\n", 800, 6, true), "2")), []string{"T-05.U"}, "2"},
		{"a reader in a field for digits, one key late", "", digits(join(keysOf("!E", 0, 6, true), inField(keysOf("NTER.R\n", 400, 6, true), "!E"))), []string{"!ENTER.R"}, ""},
		{"a slow reader in a field for digits where a hand had begun", "", digits(keysOf("12!ENTER.R\n", 0, 300, true)), []string{"!ENTER.R"}, "12"},
		{"a hand's digits in a field for them", "", digits(keysOf("12\n", 0, 200, true)), nil, "-"},
		{"a mistake rubbed out in a field for digits", "", digits(join(keysOf("1x", 0, 200, true), []pressed{{Key: "Backspace", Field: true, At: 600}}, inField(keysOf("2\n", 800, 200, true), "1"))), nil, "-"},
		{"keys 120 ms apart are a hand's", "", keysOf("12345\n", 0, 120, true), nil, "-"},
		{"keys 119 ms apart are a reader's", "", keysOf("12345\n", 0, 119, true), []string{"12345"}, ""},
		{"with a prefix slowness does not matter", "~", keysOf("~12\n", 0, 400, true), []string{"12"}, ""},
		{"with a prefix outside a field", "~", keysOf("~T-05.U\n", 0, 5, false), []string{"T-05.U"}, "-"},
		{"a shortcut is no key of a code", "", join([]pressed{{Key: "r", Ctrl: true}}, keysOf("A-1\n", 10, 5, false)), []string{"A-1"}, "-"},
		{"Escape forgets", "", join(keysOf("T-0", 0, 5, false), []pressed{{Key: "Escape", At: 20}}, keysOf("X-01\n", 40, 5, false)), []string{"X-01"}, "-"},
	} {
		raw, err := json.Marshal(c.keys)
		if err != nil {
			t.Fatal(err)
		}
		got := webtest.Eval[struct {
			Codes    []string `json:"codes"`
			Restored []string `json:"restored"`
			Kept     []bool   `json:"kept"`
		}](t, tab, fmt.Sprintf(`(async () => {
			const { KeyReader } = await import("/static/keys.js");
			const codes = [], restored = [], kept = [];
			const r = new KeyReader({ prefix: %q });
			for (const k of %s) { const a = r.key(k); if (a.code !== undefined) codes.push(a.code); if (a.restore !== undefined) restored.push(a.restore); kept.push(!a.take); }
			return { codes, restored, kept };
		})()`, c.prefix, raw))
		if strings.Join(got.Codes, "|") != strings.Join(c.codes, "|") {
			t.Errorf("%s: read %q, not %q", c.name, got.Codes, c.codes)
		}
		if c.restored == "-" && len(got.Restored) > 0 || c.restored != "-" && strings.Join(got.Restored, "|") != c.restored {
			t.Errorf("%s: the field is to hold %q, not %q", c.name, got.Restored, c.restored)
		}
		if last := len(got.Kept) - 1; len(c.codes) > 0 && got.Kept[last] {
			t.Errorf("%s: the Enter that ended a code also pressed a button", c.name)
		}
	}
}

// digits says that a field takes digits alone.
func digits(keys []pressed) []pressed {
	for i := range keys {
		keys[i].Digits = true
	}
	return keys
}

// inField says what the field held before the first key.
func inField(keys []pressed, before string) []pressed {
	for i := range keys {
		keys[i].Value = before + keys[i].Value
	}
	return keys
}

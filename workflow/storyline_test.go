package workflow

import (
	"bytes"
	stdjson "encoding/json"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	json "github.com/goccy/go-json"

	"packwright/events"
	"packwright/prep"
)

// How a line of a story is read.

// scan gives a bench what its reader typed, and plays what follows to its last sentence.
func (tl *teller) scan(station, raw string) (out []string) {
	b := tl.bench[station]
	if b == nil {
		b = &Bench{Station: station, Epoch: "s"}
		tl.bench[station] = b
	}
	b = tl.reborn(b)
	said := b.Scan(tl.floor, raw, tl.now)
	for said.Command != nil {
		b = tl.reborn(b)
		c := *said.Command
		tl.told = append(tl.told, c.ID)
		out = append(out, strings.TrimSpace(fmt.Sprintf("> %s %s", c.Type, c.Data)))
		outcome, refusal, answers := tl.judge(c)
		if outcome == "" {
			tl.t.Fatalf("%s scan %s: %s", station, raw, answers)
		}
		out = append(out, answers[1:]...)
		said = b.Answer(tl.floor, outcome, refusal)
	}
	for _, line := range []string{said.Text, said.Next} {
		if len(strings.Fields(line)) > 12 {
			tl.t.Errorf("%s scan %s: %q has more than twelve words", station, raw, line)
		}
	}
	words := []string{"says"}
	for _, w := range []string{string(said.Outcome), string(said.Code), said.String()} {
		if w != "" {
			words = append(words, w)
		}
	}
	return append(out, strings.Join(words, " "))
}

// reborn writes a bench down and reads it again, as after a power cut: no story
// may notice.
func (tl *teller) reborn(b *Bench) *Bench {
	raw, err := stdjson.Marshal(b)
	if err != nil {
		tl.t.Fatal(err)
	}
	again := &Bench{}
	if err := stdjson.Unmarshal(raw, again); err != nil {
		tl.t.Fatalf("%s: %v", raw, err)
	}
	if b.Pending() != nil && (again.Pending() == nil || again.Pending().ID != b.Pending().ID || again.Pending().Sum() != b.Pending().Sum()) {
		tl.t.Fatalf("a bench that was written down asks something else: %s", raw)
	}
	tl.bench[b.Station] = again
	return again
}

// items registers a list of goods, one command each.
func (tl *teller) items(line, file string, n int) (out []string) {
	items, err := prep.ParseItems(file, storyFile(tl.t, file))
	if err != nil {
		tl.t.Fatal(err)
	}
	for _, it := range items {
		body, err := json.Marshal(it)
		if err != nil {
			tl.t.Fatal(err)
		}
		c := tl.command(strings.TrimSuffix(line, "items "+file)+"register-item", n)
		c.Data = body
		out = append(out, tl.give(c)...)
	}
	return out
}

// storyFile reads a file named from the top of the repository.
func storyFile(t *testing.T, name string) []byte {
	src, err := os.ReadFile(filepath.Join("..", name))
	if err != nil {
		t.Fatal(err)
	}
	return src
}

// command reads "13:30:12 ST-3 ife place key=value …".
func (tl *teller) command(line string, n int) Command {
	f := strings.Fields(line)
	if len(f) < 4 {
		tl.t.Fatalf("line %d: want: time station badge command …: %s", n, line)
	}
	when, at, _ := strings.Cut(strings.TrimSuffix(f[0], ")"), "(")
	tl.now = storyTime(tl.t, when)
	c := Command{At: tl.now, Badge: f[2], Type: f[3]}
	if at != "" {
		c.At = storyTime(tl.t, at)
	}
	if c.Badge == "-" {
		c.Badge = ""
	}
	if c.Offline = strings.HasPrefix(c.Type, "~"); c.Offline {
		c.Type = c.Type[1:]
	}
	tl.n[f[1]]++
	c.ID = fmt.Sprintf("%s/1/%d", f[1], tl.n[f[1]])
	rest := strings.TrimSpace(strings.SplitN(line, f[3], 2)[1])
	for i := len(tl.places); i > 0 && strings.Contains(rest, "^"); i-- {
		rest = strings.ReplaceAll(rest, fmt.Sprintf("^%d", i), fmt.Sprintf("%q", tl.places[len(tl.places)-i]))
	}
	storyData(tl.t, rest, &c)
	return c
}

// storyData makes JSON of key=value words; values are JSON or bare words.
func storyData(t *testing.T, rest string, c *Command) {
	if strings.HasPrefix(rest, "{") || rest == "" {
		c.Data = json.RawMessage(rest)
		return
	}
	var b bytes.Buffer
	for _, w := range storyWords(rest) {
		k, v, _ := strings.Cut(w, "=")
		switch k {
		case "for":
			c.Matter = v
			continue
		case "basis":
			c.Basis = events.Basis(v)
			continue
		}
		if file, ok := strings.CutPrefix(v, "@"); ok {
			v = string(storyFile(t, file))
		}
		if !json.Valid([]byte(v)) {
			q, _ := json.Marshal(v)
			v = string(q)
		}
		if b.Len() > 0 {
			b.WriteByte(',')
		}
		fmt.Fprintf(&b, "%q:%s", k, v)
	}
	c.Data = json.RawMessage("{" + b.String() + "}")
}

// storyWords splits at blanks that stand outside quotes and brackets.
func storyWords(s string) (out []string) {
	depth, quoted, from := 0, false, 0
	for i := 0; i <= len(s); i++ {
		if i == len(s) || s[i] == ' ' && depth == 0 && !quoted {
			if i > from {
				out = append(out, s[from:i])
			}
			from = i + 1
			continue
		}
		switch s[i] {
		case '"':
			quoted = !quoted
		case '[', '{':
			depth++
		case ']', '}':
			depth--
		}
	}
	return out
}

func storyTime(t *testing.T, s string) events.Time {
	if len(s) <= 12 {
		s = "2031-03-04T" + s
		if strings.Count(s, ":") == 1 {
			s += ":00"
		}
		s += "Z"
	}
	at, err := time.Parse(time.RFC3339Nano, s)
	if err != nil {
		t.Fatal(err)
	}
	return events.At(at)
}

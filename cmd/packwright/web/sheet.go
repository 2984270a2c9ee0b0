package web

import (
	"bytes"
	"context"
	"fmt"
	"html/template"
	"io/fs"
	"net/http"
	"path"
	"regexp"
	"strings"
	"time"

	"packwright/cmd/packwright/door"
	"packwright/events"
)

// Sheet is what every page has. A page's own struct embeds it.
type Sheet struct {
	Title  string // of the browser's window
	Name   string // the thing this page is about, its h1
	Where  string // whose, or of what day
	When   string // the moment the page speaks of, at the right
	Nav    string // path of the question that is current
	Ground string // what the page rests on, in the foot
	Table  string // id of the same facts as a table; empty: none
	Who    door.Who
	At     string // the moment asked for; empty: now
	Live   string // topic whose fragments this page takes (live.go); empty: none
	Styles []string
	Script string
	Rule   *Rule
	Differ string // why the two readings of the log differ; empty while they agree
}

// Question is one of the questions in a page's foot.
type Question struct{ Path, Text string }

// questions are what the foot offers, to whom. They are questions, never nouns.
var questions = []struct {
	Question
	may door.May
}{
	{Question{"/", "Where are we?"}, door.Readers},
	{Question{"/wrong", "What is wrong?"}, door.Readers},
	{Question{"/day", "How did the day go?"}, door.Readers},
	{Question{"/story", "What happened to this one?"}, door.Readers | door.Client},
	{Question{"/plans", "What shall leave?"}, door.Readers | door.Client},
	{Question{"/claimed", "What do they say?"}, door.Readers},
	{Question{"/odd", "What was odd?"}, door.Auditor | door.Owner},
	{Question{"/people", "Who may what?"}, door.Supervisor | door.Owner},
	{Question{"/print", "What goes on paper?"}, door.Hands},
}

// Questions gives those this person may ask.
func (s Sheet) Questions() []Question {
	var out []Question
	for _, q := range questions {
		if s.Who.As()&q.may != 0 {
			out = append(out, q.Question)
		}
	}
	return out
}

// sheet begins a page: floor, moment, the rule of the day.
func (p *Pages) sheet(ctx context.Context, v View, name string) Sheet {
	s := Sheet{Title: name, Name: name, Who: door.WhoOf(ctx), Ground: "two readings of the log agree", When: clockOf(v.Now), Rule: ruleOf(v)}
	s.Where = dayOf(v.Now)
	if err := p.Log.Err(); err != nil {
		s.Differ, s.Ground = err.Error(), "the two readings of the log differ"
	}
	return s
}

// at gives the moment a request asks for.
func (p *Pages) at(r *http.Request) string {
	if at := r.URL.Query().Get("at"); at != "" {
		return at
	}
	return p.At
}

func clockOf(t events.Time) string { return t.Std().Format("15:04") }
func dayOf(t events.Time) string   { return t.Std().Format("Monday 2 January 2006") }

// words are what templates may call.
var words = template.FuncMap{
	"clock":   func(t events.Time) string { return clockOf(t) },
	"clocks":  func(t events.Time) string { return t.Std().Format("15:04:05") },
	"day":     dayOf,
	"iso":     func(t events.Time) string { return t.Std().Format(time.RFC3339) },
	"join":    strings.Join,
	"dict":    dict,
	"list":    func(v ...any) []any { return v },
	"upper":   upper,
	"codes":   codes,
	"about":   about,
	"missing": missing,
	"settled": settledBy,
	"gate":    gateSays,
	"spaced":  spaced,
	"thin":    thin,
	"minus":   func(n int) int { return -n },
	"before":  func(n int) int { return max(n-1, 1) },
	"add":     func(a, b int) int { return a + b },
}

// code is one of the floor's own codes, or a label's, within a sentence.
var code = regexp.MustCompile(`\b[A-Z]{1,4}-(?:[A-Z]{1,3}-)?[0-9]+(?:-?[A-Z0-9])?\b`)

// codes keeps each code of a sentence on one line: a browser breaks lines at hyphens.
func codes(text string) template.HTML {
	return template.HTML(code.ReplaceAllString(template.HTMLEscapeString(text), `<span class="code">$0</span>`))
}

// dict makes named arguments for a part.
func dict(pairs ...any) (map[string]any, error) {
	if len(pairs)%2 != 0 {
		return nil, fmt.Errorf("dict: a name without a value")
	}
	out := map[string]any{}
	for i := 0; i < len(pairs); i += 2 {
		name, ok := pairs[i].(string)
		if !ok {
			return nil, fmt.Errorf("dict: %v is no name", pairs[i])
		}
		out[name] = pairs[i+1]
	}
	return out, nil
}

// readSheets parses each page's template with the layout and the parts.
func readSheets() map[string]*template.Template {
	shared := template.Must(template.New("").Funcs(words).ParseFS(files, "templates/layout.html", "templates/part-*.html"))
	pages, err := fs.Glob(files, "templates/*.html")
	if err != nil {
		panic(err)
	}
	out := map[string]*template.Template{}
	for _, file := range pages {
		name := strings.TrimSuffix(path.Base(file), ".html")
		if name == "layout" || strings.HasPrefix(name, "part-") {
			continue
		}
		out[name] = template.Must(template.Must(shared.Clone()).ParseFS(files, file))
	}
	return out
}

// show answers with a page: whole, or not at all.
func (p *Pages) show(w http.ResponseWriter, r *http.Request, status int, name string, page any) {
	var b bytes.Buffer
	if err := p.sheets[name].ExecuteTemplate(&b, "layout", page); err != nil {
		p.Logger.Error().Err(err).Str("page", name).Msg("the page could not be drawn")
		http.Error(w, "The page could not be drawn. Load it again, or call the owner.", http.StatusInternalServerError)
		return
	}
	w.Header().Set("Content-Type", "text/html; charset=utf-8")
	w.WriteHeader(status)
	_, _ = w.Write(b.Bytes()) // the asker may have gone
}

// part renders one named template of a page, as a fragment.
func (p *Pages) part(page, name string, v any) (string, error) {
	var b bytes.Buffer
	err := p.sheets[page].ExecuteTemplate(&b, name, v)
	return b.String(), err
}

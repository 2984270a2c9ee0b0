package web

import (
	"context"
	"fmt"
	"net/http"
	"strconv"
	"strings"
	"time"

	"packwright/audit"
	"packwright/cmd/packwright/door"
	"packwright/events"
	"packwright/prep"
)

// dayPage answers "how did the day go?", at any moment of it.
type dayPage struct {
	Sheet
	Day      string // 2031-03-04
	Clock    string // 13:52:53
	Says     string // what happened then
	Step, Of int
	From, To int     // of the slider, in seconds of the day
	Second   int     // where it stands
	Veil     float64 // x from where on all is faint: it was not known yet
	Drawing  DayDrawing
	Stages   []StageThen
	Boxes    []*Box
	Go       Verdict
	Benches  []BenchLine
	Waits    []Wait
	Merged   string // why the slider does not stop at every frame
	Hourly   []Hourly
	Stops    []string // names of the stages, over Hourly
	Spans    []SpanRow
	Heads    []SignedRow // heads of the log that were signed this day
}

// StageThen is a stage's pieces at the moment.
type StageThen struct {
	Stage string
	N     int
}

// Hourly is a row of the table: pieces in each stage at a full hour.
type Hourly struct {
	Clock string
	N     []int
}

// SpanRow is a row of the table of what lasted.
type SpanRow struct{ Name, What, Bench, From, To string }

// SignedRow is a signed head, to be compared with what is kept elsewhere: on the
// sheet of the day, in evidence, by a witness.
type SignedRow struct {
	Clock  string
	Frame  uint64
	Events int64
	Root   string
}

// headsOf lists the heads that were signed on a day.
func headsOf(heads []audit.HeadView, day string) (out []SignedRow) {
	for _, h := range heads {
		if h.Kept.Std().Format(time.DateOnly) == day {
			out = append(out, SignedRow{h.Kept.Std().Format("15:04:05"), h.Frame, h.Size, fmt.Sprintf("%x", h.Root[:])})
		}
	}
	return out
}

// dayAgain shows a day as it was at a moment.
func (p *Pages) dayAgain(w http.ResponseWriter, r *http.Request) {
	f, i, err := p.stepOf(r)
	page := dayPage{Sheet: Sheet{Title: "The day again", Name: "The day again", Who: door.WhoOf(r.Context()), Nav: "/day"}, Day: f.day}
	if err == nil {
		page = p.dayOf(r.Context(), f, i)
		err = p.Log.Look(r.Context(), p.At, func(v View) error {
			page.Heads = headsOf(v.Heads(), f.day)
			return nil
		})
	}
	page.Styles, page.Script, page.Table = []string{"day.css"}, "day.js", "table"
	p.showOr(w, r, err, "day", page)
}

// dayBoard gives the parts that change with the moment: what the slider asks for.
func (p *Pages) dayBoard(w http.ResponseWriter, r *http.Request) {
	f, i, err := p.stepOf(r)
	if err != nil {
		door.WriteTrouble(w, err)
		return
	}
	page := shownAt(f, i)
	parts, err := p.parts("day", page, "day-now", "day-boxes")
	if err != nil {
		door.WriteTrouble(w, err)
		return
	}
	door.WriteJSON(w, http.StatusOK, map[string]any{"step": i, "second": page.Second, "clock": page.Clock, "says": page.Says, "veil": page.Veil, "parts": parts})
}

// daySteps lists where the slider stops: the second of the day and what happened.
func (p *Pages) daySteps(w http.ResponseWriter, r *http.Request) {
	f, _, err := p.stepOf(r)
	if err != nil {
		door.WriteTrouble(w, err)
		return
	}
	type stop struct {
		Second int    `json:"t"`
		Clock  string `json:"c"`
		Says   string `json:"w"`
	}
	out := make([]stop, 0, len(f.steps))
	for _, s := range f.steps {
		out = append(out, stop{secondOf(s.At), s.At.Std().Format("15:04:05"), s.Text})
	}
	door.WriteJSON(w, http.StatusOK, out)
}

// stepOf finds the film and the step that a request asks for: ?day= ?at= (an hour,
// or a whole moment), or ?step=.
func (p *Pages) stepOf(r *http.Request) (f film, i int, err error) {
	q := r.URL.Query()
	var known events.Time
	err = p.Log.Look(r.Context(), p.At, func(v View) error {
		if known = v.LastPlaced(); known.IsZero() {
			known = v.Fold.Now()
		}
		return nil
	})
	if err != nil {
		return f, 0, err
	}
	day, at, err := momentAsked(q.Get("day"), q.Get("at"), known)
	if err != nil {
		return f, 0, err
	}
	if f, err = p.films.of(r.Context(), p.Frames, day); err != nil || len(f.steps) == 0 {
		if err == nil {
			err = prep.Input("nothing was recorded on "+day, "choose another day; the last with placements is "+dateOf(known))
		}
		return f, 0, err
	}
	if n, bad := strconv.Atoi(q.Get("step")); bad == nil {
		return f, min(max(n, 0), len(f.steps)-1), nil
	}
	if at.IsZero() {
		return f, len(f.steps) - 1, nil
	}
	return f, max(f.stepAt(at), 0), nil
}

// momentAsked reads a day and an hour. A whole moment in at names its own day; what
// is not written is the last day's. Errors: *prep.InputError.
func momentAsked(day, at string, known events.Time) (string, events.Time, error) {
	if whole, err := events.ParseTime(at); err == nil {
		return dateOf(whole), whole, nil
	}
	zone := known.Std().Location()
	if day == "" {
		day = dateOf(known)
	}
	midnight, err := time.ParseInLocation(time.DateOnly, day, zone)
	if err != nil {
		return "", events.Time{}, prep.Input(fmt.Sprintf("%q is no day", day), "write it like 2031-03-04")
	}
	if at == "" {
		return day, events.Time{}, nil
	}
	for _, form := range []string{"15:04", "15:04:05"} {
		t, err := time.Parse(form, at)
		if err != nil {
			continue
		}
		s := time.Duration(t.Hour())*time.Hour + time.Duration(t.Minute())*time.Minute + time.Duration(t.Second())*time.Second
		if form == "15:04" {
			s += time.Minute - time.Millisecond // all that happened in that minute
		} else {
			s += time.Second - time.Millisecond
		}
		return day, events.At(midnight.Add(s)), nil
	}
	return "", events.Time{}, prep.Input(fmt.Sprintf("%q is no hour", at), "write it like 17:41")
}

// shownAt fills what changes with the moment.
func shownAt(f film, i int) dayPage {
	s := f.steps[i]
	page := dayPage{Day: f.day, Clock: s.At.Std().Format("15:04:05"), Says: s.Text, Step: i, Of: len(f.steps), Second: secondOf(s.At), Veil: OnRule(s.At),
		Boxes: s.Still.boxes, Go: s.Still.verdict, Benches: s.Still.benches, Waits: s.Still.waits}
	for _, stage := range road {
		page.Stages = append(page.Stages, StageThen{string(stage), countOf(s.Still, stage)})
	}
	return page
}

// dayOf fills the whole page.
func (p *Pages) dayOf(ctx context.Context, f film, i int) dayPage {
	page := shownAt(f, i)
	at := f.steps[i].At
	page.Sheet = Sheet{Title: "The day again, " + page.Clock, Name: "The day again", Who: door.WhoOf(ctx), Nav: "/day", When: page.Clock,
		Where: dayOf(at) + " · solid: known at this moment · faint: what came later", Ground: "← → one event · with Shift, one minute"}
	if err := p.Log.Err(); err != nil {
		page.Differ = err.Error()
	}
	page.Drawing = f.drawing()
	page.From = min(int(ruleBegins.Seconds()), secondOf(f.steps[0].At))
	page.To = max(int(ruleEnds.Seconds()), secondOf(f.steps[len(f.steps)-1].At))
	if len(f.steps) < f.frames {
		page.Merged = fmt.Sprintf("%d frames were recorded this day; the slider stops at %d of them, %s apart or more.", f.frames, len(f.steps), f.gap.Round(time.Second))
	}
	page.Hourly, page.Spans = f.hourly(), f.spanRows()
	for _, stage := range road {
		page.Stops = append(page.Stops, string(stage))
	}
	return page
}

// hourly counts the pieces at each full hour, and at the end.
func (f *film) hourly() []Hourly {
	var out []Hourly
	end := f.steps[len(f.steps)-1].At
	s := f.steps[0].At.Std()
	for t := time.Date(s.Year(), s.Month(), s.Day(), s.Hour()+1, 0, 0, 0, s.Location()); t.Before(end.Std()); t = t.Add(time.Hour) {
		out = append(out, f.row(max(f.stepAt(events.At(t)), 0), t.Format("15:04")))
	}
	return append(out, f.row(len(f.steps)-1, end.Std().Format("15:04:05")))
}

func (f *film) row(i int, clock string) Hourly {
	h := Hourly{Clock: clock}
	for _, stage := range road {
		h.N = append(h.N, countOf(f.steps[i].Still, stage))
	}
	return h
}

func (f *film) spanRows() []SpanRow {
	var out []SpanRow
	add := func(what string, list []span) {
		for _, s := range list {
			row := SpanRow{Name: s.Name, What: what, Bench: strings.TrimSpace(s.Bench + " " + s.Badge), From: s.From.Std().Format("15:04:05"), To: "goes on"}
			if !s.To.IsZero() {
				row.To = s.To.Std().Format("15:04:05")
			}
			if s.N > 0 {
				row.What += fmt.Sprintf(", %d pieces", s.N)
			}
			out = append(out, row)
		}
	}
	add("run", f.runs)
	add("carton in hand", f.packs)
	add("question", f.asks)
	return out
}

func secondOf(t events.Time) int {
	s := t.Std()
	return s.Hour()*3600 + s.Minute()*60 + s.Second()
}

package web

import (
	"context"
	"io"
	"maps"
	"net/http"
	"net/http/httptest"
	"net/url"
	"strings"
	"testing"
	"time"

	"github.com/rs/zerolog"

	"packwright/audit"
	"packwright/audit/follow"
	"packwright/cmd/packwright/door"
	"packwright/cmd/packwright/entry"
	"packwright/events"
	"packwright/events/memlog"
	"packwright/testdata/demo"
	"packwright/workflow"
	"packwright/workflow/engine"
)

// deskDay is the demo's day in this process, with all its pages behind one door.
type deskDay struct {
	t     *testing.T
	pages *Pages
	clock *demo.Clock
	log   *memlog.Log
	eng   *engine.Engine
	web   http.Handler
}

// playDesk plays the day up to a time of its clock; "" plays all of it.
func playDesk(t *testing.T, until string) *deskDay {
	t.Helper()
	return playDeskBy(t, until, func(*workflow.Policy) {})
}

// playDeskBy is playDesk under a policy that differs.
func playDeskBy(t *testing.T, until string, differs func(*workflow.Policy)) *deskDay {
	t.Helper()
	policy, err := workflow.ParsePolicy("policy.yaml", demo.Policy)
	if err != nil {
		t.Fatal(err)
	}
	differs(policy)
	d := &deskDay{t: t, clock: &demo.Clock{}, log: memlog.New()}
	d.eng, err = engine.Open(t.Context(), engine.Config{Log: d.log, Floor: demo.Floor, Policy: policy, Now: d.clock.Now, Logger: zerolog.Nop()})
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { _ = d.eng.Close() })
	acts := demo.Day()
	if until != "" {
		at, err := time.Parse("15:04", until)
		if err != nil {
			t.Fatal(err)
		}
		first := acts[0].Recorded
		acts = demo.Until(acts, time.Date(first.Year(), first.Month(), first.Day(), at.Hour(), at.Minute(), 0, 0, time.UTC))
	}
	if err := demo.Play(t.Context(), acts, d.clock, deskDoor{d.eng}); err != nil {
		t.Fatal(err)
	}
	book, err := entry.Open("", func([]byte) error { return nil }, time.Now)
	if err != nil {
		t.Fatal(err)
	}
	d.pages = (&Pages{Floor: door.Local{Writer: d.eng}, Log: d, Writer: d.eng, Entry: book, Now: d.clock.Now, Logger: zerolog.New(t.Output())}).Open()
	d.web = (&door.Web{Floor: d.pages.Floor, Routes: d.pages.Routes(), Logger: zerolog.Nop(), Who: d.pages.Who, Counting: d.pages.Counting}).Handler()
	return d
}

type deskDoor struct{ eng *engine.Engine }

func (x deskDoor) Do(ctx context.Context, c workflow.Command) (workflow.Outcome, workflow.Code, error) {
	a, err := x.eng.Do(ctx, c)
	if err != nil || a.Refusal == nil {
		return a.Outcome, "", err
	}
	return a.Outcome, a.Refusal.Code, nil
}

func (x deskDoor) Head(context.Context) (demo.Head, error) {
	h := x.eng.Head()
	return demo.Head{Seq: events.Seq{Frame: h.Frame}, Size: h.Size, Root: h.Root}, nil
}

// Look reads the log anew.
func (d *deskDay) Look(ctx context.Context, at string, fn func(View) error) error {
	r := follow.New()
	if err := r.CatchUp(ctx, d.log); err != nil {
		return err
	}
	var err error
	r.View(func(f *audit.Fold) { err = fn(View{Fold: f, Now: events.At(d.clock.Now()), Root: d.eng.Head().Root}) })
	return err
}

func (d *deskDay) Moved() <-chan struct{}              { return make(chan struct{}) }
func (d *deskDay) Reach(context.Context, uint64) error { return nil }
func (d *deskDay) Err() error                          { return nil }

// person is a browser in which a badge is signed in.
type person struct {
	d   *deskDay
	key string
}

// as signs a badge in, without its PIN.
func (d *deskDay) as(badge string) *person {
	d.t.Helper()
	station := workflow.Board
	_ = d.eng.View(d.t.Context(), func(f *workflow.Floor) {
		if b := f.Badges[badge]; b != nil && b.Station != "" {
			station = b.Station
		}
	})
	key, err := d.pages.Entry.Begin(badge, station, false)
	if err != nil {
		d.t.Fatal(err)
	}
	return &person{d, key}
}

func (x *person) ask(r *http.Request) (int, string) {
	r.AddCookie(&http.Cookie{Name: sessionCookie, Value: x.key})
	w := httptest.NewRecorder()
	r.Host = "127.0.0.1"
	x.d.web.ServeHTTP(w, r)
	b, _ := io.ReadAll(w.Result().Body)
	return w.Code, string(b)
}

func (x *person) get(path string) (int, string) {
	return x.ask(httptest.NewRequest(http.MethodGet, path, nil))
}

func (x *person) post(path string, form url.Values) (int, string) {
	r := httptest.NewRequest(http.MethodPost, path, strings.NewReader(form.Encode()))
	r.Header.Set("Content-Type", "application/x-www-form-urlencoded")
	return x.ask(r)
}

// opens demands a page that says all of some words.
func (x *person) opens(path string, says ...string) string {
	x.d.t.Helper()
	status, body := x.get(path)
	if status != http.StatusOK {
		x.d.t.Errorf("%s: %d %.300s", path, status, body)
	}
	plain := wrapped.ReplaceAllString(body, "$1")
	for _, s := range says {
		if !strings.Contains(body, s) && !strings.Contains(plain, s) {
			x.d.t.Errorf("%s does not say %q", path, s)
		}
	}
	return body
}

// sends fills in a page's form of a kind, as a browser would, and gives the answer.
func (x *person) sends(page, kind string, more url.Values) (int, string) {
	x.d.t.Helper()
	body := x.opens(page)
	form, action := formIn(body, kind)
	if form == nil {
		x.d.t.Fatalf("%s has no form %q", page, kind)
	}
	maps.Copy(form, more)
	return x.post(action, form)
}

// formIn finds the hidden fields of the form for a kind of command.
func formIn(body, kind string) (url.Values, string) {
	for _, part := range strings.Split(body, "<form ")[1:] {
		part, _, _ = strings.Cut(part, "</form>")
		if !strings.Contains(part, `name="type" value="`+kind+`"`) {
			continue
		}
		form := url.Values{}
		for _, in := range strings.Split(part, "<input ")[1:] {
			in, _, _ = strings.Cut(in, ">")
			if strings.Contains(in, `type="hidden"`) {
				form.Set(attr(in, "name"), attr(in, "value"))
			}
		}
		return form, attr(part, "action")
	}
	return nil, ""
}

func attr(tag, name string) string {
	_, rest, ok := strings.Cut(tag, name+`="`)
	if !ok {
		return ""
	}
	v, _, _ := strings.Cut(rest, `"`)
	return v
}

package main

import (
	"encoding/json"
	"errors"
	"fmt"
	"net/http"
	"net/http/httptest"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/rs/zerolog"

	"packwright/cmd/packwright/door"
	"packwright/events"
	"packwright/workflow"
)

// TestBrowserWitness: a browser that did something on a floor finds out an older
// store that was put in its place; one that nobody knows cannot.
func TestBrowserWitness(t *testing.T) {
	dir := filepath.Join(t.TempDir(), "floor")
	if code, said := founds(t, dir); code != 0 {
		t.Fatal(said)
	}
	older := copyOf(t, dir)
	l := newLight()
	// act posts in somebody's name with the cookies of a browser, and gives those that it has then.
	act := func(h *hub, who door.Who, jar []*http.Cookie, do func()) []*http.Cookie {
		t.Helper()
		route := h.witnessed(l, []door.Route{{Pattern: "GET /x"}, {Pattern: "POST /x", Handle: func(w http.ResponseWriter, _ *http.Request) {
			do()
			w.WriteHeader(http.StatusCreated)
		}}})[1]
		q := httptest.NewRequest("POST", "/x", nil)
		for _, c := range jar {
			q.AddCookie(c)
		}
		w := httptest.NewRecorder()
		route.Handle(w, q.WithContext(door.WithWho(q.Context(), who)))
		if w.Code != http.StatusCreated {
			t.Errorf("status %d", w.Code)
		}
		return w.Result().Cookies()
	}
	nothing := func() {}
	bench, stranger := door.Who{Bench: true, Station: "ST-1"}, door.Who{}

	h, err := openHub(t.Context(), place(dir), zerolog.Nop(), opening{})
	must(t, err)
	if jar := act(h, stranger, nil, nothing); len(jar) != 0 {
		t.Errorf("a stranger is told %v", jar)
	}
	jar := act(h, bench, nil, func() {
		a := door.Local{Writer: h.writer}.Ask(t.Context(), workflow.Command{ID: "BOARD/b/1", Type: "sign-in", Badge: "odile"})
		must(t, a.Err())
	})
	if len(jar) != 1 || !strings.HasPrefix(jar[0].Value, "2/"+h.writer.Head().Root) || !jar[0].HttpOnly {
		t.Fatalf("after a command, the newest head is %+v; told was %v", h.writer.Head(), jar)
	}
	act(h, bench, jar, nothing)
	act(h, bench, []*http.Cookie{{Name: jar[0].Name, Value: "some other thing"}}, nothing)
	must(t, h.Close())
	if l.why() != nil {
		t.Fatalf("its own log: %v", l.why())
	}

	h, err = openHub(t.Context(), place(older), zerolog.Nop(), opening{})
	must(t, err)
	defer h.Close()
	act(h, stranger, jar, nothing)
	if l.why() != nil {
		t.Fatalf("a stranger stopped the hub: %v", l.why())
	}
	act(h, bench, jar, nothing)
	if why := l.why(); !errors.Is(why, events.ErrCorrupt) || !strings.Contains(why.Error(), "was told that frame 2") {
		t.Errorf("an older store: %v", why)
	}
}

// TestBenchBrowserWitness: a scan's commands carry the head that the bench's page
// was told, so an older store in its place is told E-SYS-05, and takes no more.
func TestBenchBrowserWitness(t *testing.T) {
	dir := filepath.Join(t.TempDir(), "floor")
	if code, said := founds(t, dir); code != 0 {
		t.Fatal(said)
	}
	older := copyOf(t, dir)
	// scans posts one scan at a bench of a hub, with the cookies of its browser.
	scans := func(h *hub, l *light, n uint64, raw string, jar []*http.Cookie) (said workflow.Said, told []*http.Cookie) {
		t.Helper()
		benches := newScanners(witnessing{lit{door.Local{Writer: h.writer}, l}}, h.writer, time.Now, t.TempDir())
		x := newScanner("BOARD", benches.floor, h.writer, time.Now)
		benches.at["BOARD"] = x
		route := h.witnessed(l, []door.Route{benches.route()})[0]
		q := httptest.NewRequest("POST", "/scan/BOARD", strings.NewReader(fmt.Sprintf(`{"session":"s","n":%d,"raw":%q}`, n, raw)))
		q.SetPathValue("station", "BOARD")
		for _, c := range jar {
			q.AddCookie(c)
		}
		w := httptest.NewRecorder()
		route.Handle(w, q.WithContext(door.WithWho(q.Context(), door.Who{Bench: true, Station: "BOARD"})))
		if err := json.Unmarshal(w.Body.Bytes(), &said); err != nil {
			t.Fatalf("%d %s", w.Code, w.Body)
		}
		return said, w.Result().Cookies()
	}

	h, err := openHub(t.Context(), place(dir), zerolog.Nop(), opening{})
	must(t, err)
	l := newLight()
	said, jar := scans(h, l, 1, "B-odile", nil)
	if said.Outcome == workflow.No || len(jar) != 1 || l.why() != nil {
		t.Fatalf("%+v, told %v, %v", said, jar, l.why())
	}
	if said, again := scans(h, l, 2, "B-odile", jar); said.Code == "E-SYS-05" || len(again) != 1 {
		t.Fatalf("on its own log: %+v", said)
	}
	must(t, h.Close())

	h, err = openHub(t.Context(), place(older), zerolog.Nop(), opening{})
	must(t, err)
	defer h.Close()
	said, told := scans(h, l, 3, "B-odile", jar)
	if said.Code != "E-SYS-05" || len(told) != 0 {
		t.Errorf("an older store: %+v, and its browser is told %v", said, told)
	}
	if why := l.why(); !errors.Is(why, events.ErrCorrupt) {
		t.Errorf("the light: %v", why)
	}
}

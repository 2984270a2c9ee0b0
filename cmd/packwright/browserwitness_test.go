package main

import (
	"errors"
	"net/http"
	"net/http/httptest"
	"path/filepath"
	"strings"
	"testing"

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

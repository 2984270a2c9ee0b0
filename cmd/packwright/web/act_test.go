package web

import (
	"encoding/json"
	"net/http"
	"net/http/httptest"
	"net/url"
	"strings"
	"testing"

	"packwright/cmd/packwright/door"
)

// posted reads a form as act does.
func posted(body string) (json.RawMessage, error) {
	r := httptest.NewRequest(http.MethodPost, "/act", strings.NewReader(body))
	r.Header.Set("Content-Type", "application/x-www-form-urlencoded")
	c, err := (&Pages{}).command(r, door.Who{Badge: "maren", Station: "BOARD"})
	return c.Data, err
}

func TestAFormBecomesACommand(t *testing.T) {
	got, err := posted(url.Values{"id": {"BOARD/form-x/1"}, "type": {"note"}, "s.text": {"looked"}, "n.q": {" 3 "}, "j.lines": {`[{"item":"PUZ"}]`}, "b.urgent": {"on"}, "s.empty": {""}, "then": {"/"}}.Encode())
	want := `{"lines":[{"item":"PUZ"}],"q":3,"text":"looked","urgent":true}`
	if err != nil || string(got) != want {
		t.Fatalf("%s, %v; want %s", got, err, want)
	}
	for what, form := range map[string]url.Values{
		"another's form": {"id": {"ST-1/form-x/1"}, "type": {"note"}},
		"no id":          {"type": {"note"}},
		"a word for 3":   {"id": {"BOARD/form-x/1"}, "type": {"note"}, "n.q": {"three"}},
		"half a list":    {"id": {"BOARD/form-x/1"}, "type": {"note"}, "j.lines": {"["}},
	} {
		if got, err := posted(form.Encode()); err == nil {
			t.Errorf("%s: %s", what, got)
		}
	}
}

func TestOnlyPagesOfThisHubFollow(t *testing.T) {
	for in, want := range map[string]string{"/wrong/X-02": "/wrong/X-02", "": "/", "//elsewhere": "/", "https://elsewhere": "/", "/\\elsewhere": "/", "/a\r\nb": "/"} {
		if got := local(in); got != want {
			t.Errorf("%q: %q, want %q", in, got, want)
		}
	}
}

// FuzzForm: whatever is posted, it is read or refused; what is read is JSON.
func FuzzForm(f *testing.F) {
	f.Add("id=BOARD%2Ff%2F1&type=note&n.q=3&j.lines=%5B%5D")
	f.Add("%zz")
	f.Add("n.=&.x=1&s..=2")
	f.Fuzz(func(t *testing.T, body string) {
		if data, err := posted("id=BOARD%2Ff%2F1&" + body); err == nil && !json.Valid(data) {
			t.Fatalf("not JSON: %q", data)
		}
	})
}

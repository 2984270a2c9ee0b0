package main

import (
	"bytes"
	"context"
	"encoding/hex"
	"encoding/json"
	"fmt"
	"io"
	"net"
	"net/http"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/rs/zerolog"
	"golang.org/x/mod/sumdb/tlog"

	"packwright/cmd/packwright/door"
	"packwright/events"
	"packwright/workflow"
)

// served is a hub that serves in this process.
type served struct {
	*hub
	t     testing.TB
	light *light
	url   string       // with the house's own key in it
	stop  func() error // ends it, and gives what serve gave
}

func serveHub(t testing.TB) *served {
	t.Helper()
	dir := filepath.Join(t.TempDir(), "floor")
	if code := run(t.Context(), &streams{strings.NewReader(""), new(bytes.Buffer), t.Output()}, []string{"--data", dir, "--log", "error", "init", "yard", "--owner", "odile"}); code != 0 {
		t.Fatalf("init: exit %d", code)
	}
	h, err := openHub(t.Context(), place(dir), zerolog.Nop(), opening{Program: "the test", Publish: true})
	if err != nil {
		t.Fatal(err)
	}
	l, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		t.Fatal(err)
	}
	ctx, cancel := context.WithCancel(t.Context())
	s := &served{hub: h, t: t, light: newLight()}
	ended := make(chan error, 1)
	go func() { ended <- h.serve(&desk{ctx: ctx, log: zerolog.Nop()}, doorway{listener: l}, s.light) }()
	var result error
	stopped := false
	s.stop = func() error {
		if !stopped {
			stopped = true
			cancel()
			result = <-ended
			_ = h.Close() // a writer that was stopped by force says so again
		}
		return result
	}
	t.Cleanup(func() { _ = s.stop() })
	for range 500 {
		if s.url = strings.TrimSpace(string(readable(h.place.hubURL()))); s.url != "" {
			return s
		}
		time.Sleep(10 * time.Millisecond)
	}
	t.Fatal("the hub did not open")
	return nil
}

// call makes a request and gives status and body.
func (s *served) call(method, path, body string, header ...string) (int, string) {
	s.t.Helper()
	req, err := http.NewRequest(method, s.url+path, strings.NewReader(body))
	if err != nil {
		s.t.Fatal(err)
	}
	for i := 0; i+1 < len(header); i += 2 {
		switch header[i] {
		case "Host":
			req.Host = header[i+1]
			continue
		case "Nobody":
			req.URL.User = nil
			continue
		}
		req.Header.Set(header[i], header[i+1])
	}
	resp, err := http.DefaultClient.Do(req)
	if err != nil {
		s.t.Fatal(err)
	}
	defer resp.Body.Close()
	b, err := io.ReadAll(resp.Body)
	if err != nil {
		s.t.Fatal(err)
	}
	return resp.StatusCode, string(b)
}

// TestWeb: each kind of answer has its status, several commands are answered in
// order with the status of the worst, strangers are kept out.
func TestWeb(t *testing.T) {
	s := serveHub(t)
	enrol := func(n int, badge string) string {
		return fmt.Sprintf(`{"id":"BOARD/w/%d","type":"enrol-badge","badge":"odile","data":{"badge":%q,"roles":["packer"]}}`, n, badge)
	}
	signIn := `{"id":"BOARD/w/1","type":"sign-in","badge":"odile"}`
	for _, c := range []struct {
		name, method, path, body string
		header                   []string
		status                   int
		says                     string
	}{
		{"kept", "POST", "/do", signIn, nil, 200, `"outcome":"kept","seq":[`},
		{"already", "POST", "/do", signIn, nil, 200, `"outcome":"already"`},
		{"pretty printed", "POST", "/do", "{\n \"id\": \"BOARD/w/1\",\n \"type\": \"sign-in\",\n \"badge\": \"odile\"\n}\n", nil, 200, `"already"`},
		{"one number, two bodies", "POST", "/do", enrol(1, "ife"), nil, 409, `"code":"E-SYS-04"`},
		{"events for the owner", "POST", "/do", enrol(2, "tobi"), nil, 200, `"events":[{"type":"badge.enrolled"`},
		{"refused", "POST", "/do", enrol(3, "tobi"), nil, 409, `"outcome":"no"`},
		{"no such command", "POST", "/do", `{"id":"BOARD/w/4","type":"dance","badge":"odile"}`, nil, 400, `"kind":"input"`},
		{"not JSON", "POST", "/do", "place C-01", nil, 400, `"kind":"input"`},
		{"nothing", "POST", "/do", "", nil, 400, "breaks off"},
		{"no id", "POST", "/do", `{"type":"sign-in"}`, nil, 400, "is not station/epoch/n"},
		{"too much", "POST", "/do", strings.Repeat(" ", 5<<20), nil, 400, "at most 4 MiB"},
		{"several", "POST", "/do", enrol(6, "ife") + "\n\n" + enrol(6, "ife") + "\n" + enrol(7, "ife") + "\n", nil, 409,
			`"outcome":"kept"`},
		{"several, one unreadable", "POST", "/do", enrol(6, "ife") + "\n{\n" + enrol(8, "sunniva") + "\n", nil, 400, `"id":"BOARD/w/8","outcome":"kept"`},
		{"health", "GET", "/health", "", nil, 200, `"ok":true`},
		{"digests", "GET", "/health", "", nil, 200, `"digests":"equal"`},
		{"head", "GET", "/head", "", nil, 200, `"root":"`},
		{"routes", "GET", "/routes", "", nil, 200, `"GET /head"`},
		{"unknown item", "GET", "/rules/explain/NONE", "", nil, 404, "not in the catalogue"},
		{"wrong method", "GET", "/do", "", nil, 405, ""},
		{"nowhere", "GET", "/etc", "", nil, 404, ""},
		{"another site's page", "POST", "/do", enrol(9, "mallory"), []string{"Origin", "http://elsewhere.example"}, 403, ""},
		{"another site's form", "POST", "/do", enrol(9, "mallory"), []string{"Sec-Fetch-Site", "cross-site"}, 403, ""},
		{"a name pointed here", "POST", "/do", enrol(9, "mallory"), []string{"Host", "elsewhere.example"}, 421, ""},
		{"a name pointed here reads", "GET", "/head", "", []string{"Host", "elsewhere.example:80"}, 421, ""},
		{"somebody unknown", "POST", "/do", enrol(9, "mallory"), []string{"Nobody", ""}, 401, "Nobody is signed in"},
		{"somebody unknown reads", "GET", "/head", "", []string{"Nobody", ""}, 401, "Nobody is signed in"},
		{"localhost", "GET", "/head", "", []string{"Host", "localhost:8420"}, 200, `"frame"`},
		{"sixth generation", "GET", "/head", "", []string{"Host", "[::1]:8420"}, 200, `"frame"`},
		{"a bench behind", "POST", "/do", `{"id":"BOARD/w/5","type":"join","badge":"odile","held":99999,"data":{"name":"ST-1"}}`, nil, 409, "E-SYS-05"},
		{"health, when a bench knows better", "GET", "/health", "", nil, 503, "restore --accept-loss --head 99999:"},
	} {
		t.Run(c.name, func(t *testing.T) {
			status, got := s.call(c.method, c.path, c.body, c.header...)
			if status != c.status || !strings.Contains(got, c.says) {
				t.Errorf("%d %s\nwant %d %s", status, got, c.status, c.says)
			}
		})
	}
	if err := s.writer.View(t.Context(), func(f *workflow.Floor) {
		if f.Badges["mallory"] != nil {
			t.Error("a stranger's command was kept")
		}
	}); err != nil {
		t.Fatal(err)
	}
	if err := s.stop(); err != nil {
		t.Errorf("the hub ended with %v", err)
	}
}

// TestWebClient: the command line's way through HTTP, and a hub that has gone.
func TestWebClient(t *testing.T) {
	s := serveHub(t)
	w := &door.WebClient{URL: s.url, Patience: 500 * time.Millisecond}
	c := workflow.Command{ID: "BOARD/c/1", Type: "sign-in", Badge: "odile"}
	if a := w.Ask(t.Context(), c); a.Outcome != workflow.Kept || a.Err() != nil {
		t.Errorf("%+v", a)
	}
	c.Type = "dance"
	c.ID = "BOARD/c/2"
	if a := w.Ask(t.Context(), c); exitOf(a.Err()) != exitInput {
		t.Errorf("%+v", a)
	}
	var head struct{ Frame uint64 }
	if err := w.Read(t.Context(), "/head", &head); err != nil || head.Frame == 0 {
		t.Errorf("head %+v, %v", head, err)
	}
	if err := w.Read(t.Context(), "/rules/explain/NONE", &head); exitOf(err) != exitNo {
		t.Errorf("an unknown item: %v", err)
	}
	if err := s.stop(); err != nil {
		t.Fatal(err)
	}
	c.ID = "BOARD/c/3"
	a := w.Ask(t.Context(), c)
	if a.Answered() || exitOf(a.Err()) != exitFailed || a.Refusal == nil || a.Refusal.Code != "E-SYS-01" {
		t.Errorf("a hub that has gone answers %+v", a)
	}
}

// TestRedLight: a frame that states other cells than its events give is noticed
// by the auditor. The hub then takes nothing more, says so, and ends with exit code 4.
func TestRedLight(t *testing.T) {
	s := serveHub(t)
	s.forge()
	select {
	case <-s.light.out:
	case <-time.After(20 * time.Second):
		t.Fatal("the light stayed green")
	}
	status, body := s.call("GET", "/health", "")
	var h health
	if err := json.Unmarshal([]byte(body), &h); err != nil || status != 503 || h.OK || h.Auditor.Digests != "unequal" || len(h.Trouble) == 0 {
		t.Errorf("health %d %s", status, body)
	}
	status, body = s.call("POST", "/do", `{"id":"BOARD/r/1","type":"sign-in","badge":"odile"}`)
	if status != 500 || !strings.Contains(body, `"kind":"corrupt"`) || strings.Contains(body, `"outcome"`) {
		t.Errorf("a command after that: %d %s", status, body)
	}
	if err := s.stop(); err != nil {
		t.Logf("serve: %v", err)
	}
	if got := exitOf(s.light.why()); got != exitCorrupt {
		t.Errorf("exit code %d for %v", got, s.light.why())
	}
	if _, err := os.Stat(s.place.books()); err == nil {
		t.Error("a checkpoint was written of what is not believed")
	}
}

// forge appends a copy of the floor's own next frame with another digest.
func (s *served) forge() {
	s.t.Helper()
	last := s.writer.Head()
	frame, err := s.log.Read(s.t.Context(), last.Frame)
	if err != nil {
		s.t.Fatal(err)
	}
	h, lines, err := events.SplitFrame(frame)
	if err != nil {
		s.t.Fatal(err)
	}
	before, err := events.Decode(lines[0])
	if err != nil {
		s.t.Fatal(err)
	}
	root, err := hex.DecodeString(last.Root)
	if err != nil {
		s.t.Fatal(err)
	}
	e := events.Event{Cause: "BOARD/forged/1", Sum: "00000000", At: before.Recorded, Recorded: before.Recorded, Basis: events.Keyed, Badge: "odile",
		Data: &events.StationJoined{Name: "ST-9", Aside: "A-ST-9"}}
	line, err := events.Encode(nil, &e)
	if err != nil {
		s.t.Fatal(err)
	}
	h.Frame, h.Size, h.Root, h.N = "forged-1", last.Size, tlog.Hash(root), 1
	h.Cells[0] ^= 1
	forged, err := events.EncodeFrame(h, [][]byte{line})
	if err != nil {
		s.t.Fatal(err)
	}
	if err := s.log.Append(s.t.Context(), last.Frame, forged); err != nil {
		s.t.Fatal(err)
	}
}

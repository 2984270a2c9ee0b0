package main

import (
	"bytes"
	"context"
	"encoding/json"
	"net"
	"net/http"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/rs/zerolog"

	"packwright/cmd/packwright/door"
	"packwright/workflow"
)

// said is a floor that always says the same.
type said struct {
	door.Floor
	a door.Answer
}

func (s said) Ask(context.Context, workflow.Command) door.Answer { return s.a }

// TestNotedSaysNothingPersonal: the line of a command has five things, and none of
// them is what somebody typed, whatever that was.
func TestNotedSaysNothingPersonal(t *testing.T) {
	var b bytes.Buffer
	m := newMeters()
	for _, c := range []struct {
		a       door.Answer
		level   string
		outcome string
		code    string
	}{
		{door.Answer{Outcome: workflow.Kept, Root: "r00t"}, "debug", "kept", ""},
		{door.Answer{Outcome: workflow.No, Refusal: workflow.Behind()}, "info", "no", "E-SYS-05"},
		{door.Answer{Refusal: workflow.Away(), Error: &door.Trouble{Kind: door.TroubleAway, Text: "Greta"}}, "warn", "unanswered", "E-SYS-01"},
	} {
		b.Reset()
		noted{said{a: c.a}, zerolog.New(&b), m}.Ask(t.Context(), workflow.Command{ID: "ST-1/1/7", Type: "dance with Greta", Badge: "Greta", Data: json.RawMessage(`{"to":"Greta"}`)})
		var line map[string]any
		if err := json.Unmarshal(b.Bytes(), &line); err != nil {
			t.Fatal(err)
		}
		if line["level"] != c.level || line["command"] != "ST-1/1/7" || line["type"] != "unknown" || line["outcome"] != c.outcome || line["code"] != c.code || len(line) != 7 {
			t.Errorf("%s", b.String())
		}
		if strings.Contains(b.String(), "Greta") {
			t.Errorf("a name in the log: %s", b.String())
		}
	}
	families, err := m.registry.Gather()
	if err != nil {
		t.Fatal(err)
	}
	for _, f := range families {
		if strings.Contains(f.String(), "Greta") || strings.Contains(f.String(), "ST-1") {
			t.Errorf("a name among the figures: %s", f)
		}
	}
}

// TestHealthTellsOfBackups: the last one, as its command noted it.
func TestHealthTellsOfBackups(t *testing.T) {
	s := serveHub(t)
	if _, body := s.call("GET", "/health", ""); strings.Contains(body, `"backup"`) {
		t.Errorf("before the first: %s", body)
	}
	file := filepath.Join(t.TempDir(), "a.backup")
	out := new(bytes.Buffer)
	if code := run(t.Context(), &streams{strings.NewReader(""), out, t.Output()}, []string{"--data", string(s.place), "--log", "error", "--url", s.place.hubURL(), "backup", file}); code != 0 {
		t.Fatalf("backup: exit %d", code)
	}
	status, body := s.call("GET", "/health", "")
	if status != http.StatusOK || !strings.Contains(body, `"backup":{"at":"`) || !strings.Contains(body, `"verified":true`) {
		t.Errorf("%d %s", status, body)
	}
	if err := os.WriteFile(s.place.backup(), []byte("{"), 0o600); err != nil {
		t.Fatal(err)
	}
	if status, body := s.call("GET", "/health", ""); status != http.StatusServiceUnavailable || !strings.Contains(body, "backup.json cannot be read") {
		t.Errorf("%d %s", status, body)
	}
}

// TestProfilesStayHere: only on a loopback address, and only when asked for.
func TestProfilesStayHere(t *testing.T) {
	if p, err := profile(""); p != nil || err != nil {
		t.Errorf("%v, %v", p, err)
	}
	if _, err := profile("0.0.0.0:0"); exitOf(err) != exitInput {
		t.Errorf("an open address: %v", err)
	}
	p, err := profile("127.0.0.1:0")
	if err != nil {
		t.Fatal(err)
	}
	resp, err := http.Get("http://" + p.at.String() + "/debug/pprof/goroutine?debug=1")
	if err != nil {
		t.Fatal(err)
	}
	defer resp.Body.Close()
	if resp.StatusCode != http.StatusOK {
		t.Errorf("status %d", resp.StatusCode)
	}
	if err := p.Close(); err != nil {
		t.Error(err)
	}
	s := serveHub(t)
	if status, _ := s.call("GET", "/debug/pprof/", ""); status != http.StatusNotFound {
		t.Errorf("profiles at the HTTP door: %d", status)
	}
}

// TestUnit: systemd itself reads the unit that is printed, and finds it exposed
// to little.
func TestUnit(t *testing.T) {
	at := filepath.Join(t.TempDir(), "a floor")
	out := new(bytes.Buffer)
	command := func(args ...string) {
		t.Helper()
		out.Reset()
		if code := run(t.Context(), &streams{strings.NewReader(""), out, t.Output()}, append([]string{"--data", at, "--log", "error"}, args...)); code != 0 {
			t.Fatalf("%v: exit %d", args, code)
		}
	}
	command("init", "yard", "--owner", "odile")
	command("serve", "--systemd", "--listen", "192.0.2.7:8420", "--lan", "--name", "floor.example")
	unit := out.String()
	for _, want := range []string{"Type=notify", ` serve --data "` + at + `" --listen 192.0.2.7:8420 --lan --name floor.example`, `ReadWritePaths=` + unitPath(at), "TimeoutStopSec=40", "RestartPreventExitStatus=2 4"} {
		if !strings.Contains(unit, want) {
			t.Errorf("no %q in\n%s", want, unit)
		}
	}
	if _, err := exec.LookPath("systemd-analyze"); err != nil {
		if os.Getenv("CI") != "" {
			t.Fatal("systemd-analyze is missing")
		}
		t.Skip("systemd-analyze is missing")
	}
	file := filepath.Join(t.TempDir(), "packwright.service")
	if err := os.WriteFile(file, []byte(unit), 0o600); err != nil {
		t.Fatal(err)
	}
	said, err := exec.Command("systemd-analyze", "verify", "--man=no", file).CombinedOutput()
	for line := range strings.Lines(string(said)) {
		if strings.Contains(line, "packwright.service") {
			t.Errorf("systemd-analyze: %s", line)
		}
	}
	t.Logf("systemd-analyze verify: %v", err)
}

// TestNotify: whoever started the process hears that it is ready.
func TestNotify(t *testing.T) {
	dir, err := os.MkdirTemp("", "n") // a socket's name must be short
	if err != nil {
		t.Fatal(err)
	}
	defer os.RemoveAll(dir)
	l, err := net.ListenUnixgram("unixgram", &net.UnixAddr{Name: filepath.Join(dir, "s"), Net: "unixgram"})
	if err != nil {
		t.Skip(err)
	}
	defer l.Close()
	t.Setenv("NOTIFY_SOCKET", filepath.Join(dir, "s"))
	s := serveHub(t)
	heard := make([]byte, 64)
	for _, want := range []string{"READY=1", "STOPPING=1"} {
		if err := l.SetReadDeadline(time.Now().Add(5 * time.Second)); err != nil {
			t.Fatal(err)
		}
		n, err := l.Read(heard)
		if err != nil || string(heard[:n]) != want {
			t.Errorf("heard %q, %v; want %s", heard[:n], err, want)
		}
		_ = s.stop()
	}
}

package main

import (
	"bytes"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/nats-io/nats-server/v2/server"
)

// strangerBus is a NATS server with JetStream that is not ours.
func strangerBus(t *testing.T) string {
	t.Helper()
	s, err := server.NewServer(&server.Options{Host: "127.0.0.1", Port: server.RANDOM_PORT, NoSigs: true, NoLog: true, JetStream: true, StoreDir: t.TempDir(), SyncAlways: true})
	if err != nil {
		t.Fatal(err)
	}
	s.Start()
	t.Cleanup(func() { s.Shutdown(); s.WaitForShutdown() })
	if !s.ReadyForConnections(10 * time.Second) {
		t.Fatal("the bus does not come up")
	}
	return s.ClientURL()
}

// TestLogKeptElsewhere founds a floor whose log is on somebody else's bus, and
// does there what one does with a directory's.
func TestLogKeptElsewhere(t *testing.T) {
	url, dir := strangerBus(t), filepath.Join(t.TempDir(), "floor")
	items, err := filepath.Abs(filepath.Join(root, "testdata", "demo", "items.yaml"))
	if err != nil {
		t.Fatal(err)
	}
	for _, step := range []struct {
		args string
		code int
		says string
	}{
		{"init shed --owner ana --nats " + url, 0, "Floor shed is founded"},
		{"items import " + items + " --badge ana", 0, "13 kept"},
		{"items import " + items + " --badge ana", 0, "13 already"},
		{"board", 0, "no plan is in force"},
		{"verify --rebuild", 0, "OK: shed"},
		{"backup " + dir + ".backup", 0, "events in"},
		{"restore " + dir + ".backup --data " + dir + "2 --nats " + strangerBus(t), 0, "shed stands in"},
		{"verify --rebuild --data " + dir + "2", 0, "OK: shed"},
		{"restore " + dir + ".backup --data " + dir + "3 --nats " + url, 2, "holds 18 frames of a log of shed already"},
		{"serve --bus 127.0.0.1:0 --listen 127.0.0.1:0", 2, "leave --bus out"},
		{"init shed --owner ana --nats " + url, 2, "holds the floor shed already"},
	} {
		var out bytes.Buffer
		code := run(t.Context(), &streams{strings.NewReader(""), &out, &out}, append([]string{"--data", dir}, strings.Fields(step.args)...))
		if code != step.code || !strings.Contains(out.String(), step.says) {
			t.Errorf("packwright %s: exit %d, want %d and %q:\n%s", step.args, code, step.code, step.says, &out)
		}
	}
}

package main

import (
	"bytes"
	"context"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"sync"
	"testing"
	"time"

	"packwright/cmd/packwright/door"
	"packwright/events/backup"
	"packwright/workflow"
)

// TestBackupWhilePacking backs a hub up again and again while commands come in as
// fast as they are answered: each file is whole and rebuilt, each holds all that
// was answered before it began, and nobody is refused meanwhile.
func TestBackupWhilePacking(t *testing.T) {
	s := serveHub(t)
	if status, body := s.call("POST", "/do", `{"id":"BOARD/first/1","type":"sign-in","badge":"odile"}`); status != 200 {
		t.Fatal(body)
	}
	ctx, stop := context.WithCancel(t.Context())
	defer stop()
	var work sync.WaitGroup
	var all []*asker
	for i := range 8 {
		ask := overWeb(s.url)
		a := &asker{epoch: fmt.Sprintf("w%d", i), ask: func(_ context.Context, c workflow.Command) (a door.Answer, err error) { return ask(t.Context(), c) }}
		all = append(all, a)
		work.Go(func() { a.run(ctx) })
	}
	file := filepath.Join(t.TempDir(), "yard.backup")
	before := uint64(0)
	for round := range 4 {
		for s.writer.Head().Frame < before+100 {
			time.Sleep(time.Millisecond)
		}
		least := s.writer.Head().Frame
		out := new(bytes.Buffer)
		if code := run(t.Context(), &streams{strings.NewReader(""), out, t.Output()}, []string{"--data", string(s.place), "--log", "error", "--url", s.place.hubURL(), "backup", file}); code != 0 {
			t.Fatalf("round %d: exit %d", round, code)
		}
		f, err := os.Open(file)
		if err != nil {
			t.Fatal(err)
		}
		h, _, err := backup.Read(f, nil)
		_ = f.Close()
		if err != nil || h.To < least || h.To <= before {
			t.Errorf("round %d: up to frame %d, at least %d were answered; %v", round, h.To, least, err)
		}
		before = h.To
	}
	stop()
	work.Wait()
	for _, a := range all {
		if a.half != nil || a.away > 0 {
			t.Errorf("%s: %v, %d not answered", a.epoch, a.half, a.away)
		}
	}
	t.Logf("the last backup ends at frame %d of %d", before, s.writer.Head().Frame)
}

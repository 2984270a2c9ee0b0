package main

import (
	"bytes"
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"math/rand/v2"
	"os"
	"path/filepath"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/rs/zerolog"

	"packwright/audit/follow"
	"packwright/cmd/packwright/door"
	"packwright/events"
	"packwright/events/natslog"
	"packwright/testdata/powercut"
	"packwright/workflow"
)

// The power cut. A hub is founded, packs, ends, starts anew and packs on, in a
// process whose writes, fsyncs, renames, new and removed names are recorded
// (testdata/powercut: the model of what a disk may then hold stands in its
// comment). Each answered command is written to standard output after its
// answer, and so has its place in the record. The disk is then made anew as a
// power failure at some moment could have left it, a hub is opened on it, and
//
//   - every command that was answered before the cut is in the log, once;
//   - no command is in it twice;
//   - all frames prove themselves, the laws hold;
//   - once init has said that the floor is founded, it is; before, it can be
//     founded by doing init again.
//
// TestPowerCutBites leaves out what makes this hold, and demands that a loss is
// found: so the test is known to see one.
//
//	go test ./cmd/packwright -run PowerCut                      40 cuts of either model
//	PACKWRIGHT_LONG=1 go test ./cmd/packwright -run PowerCut    300 of either model
const (
	cutOff  = "PACKWRIGHT_TEST_CUT_OFF"      // directory of the process that is recorded
	without = "PACKWRIGHT_TEST_CUT_OFF_LESS" // what it leaves out: "sync", "dirsync"
)

const (
	lives        = 3 // times the recorded hub is opened
	cutBenches   = 4
	roundsOfLife = 12 // of each bench
	bigNote      = 330 << 10
	bigOnes      = 9 // large commands a life, so that new blocks appear
)

// packUntilCut is the recorded process.
func packUntilCut(dir string) int {
	var said bytes.Buffer
	code := run(context.Background(), &streams{strings.NewReader(""), &said, os.Stderr}, []string{"--data", dir, "--log", "error", "init", "yard", "--owner", "odile"})
	if code != exitDone {
		return code
	}
	fmt.Println("founded")
	for life := range lives {
		if err := oneLife(dir, life); err != nil {
			fmt.Fprintln(os.Stderr, err)
			return 1
		}
	}
	return 0
}

// lessSafe leaves out what the environment says.
func lessSafe(c *natslog.Config) {
	c.NoSync = os.Getenv(without) == "sync"
	c.NoDirSync = os.Getenv(without) == "dirsync"
}

// oneLife opens the hub and the auditor's books, packs, and closes both.
func oneLife(dir string, life int) error {
	ctx := context.Background()
	h, err := openHub(ctx, place(dir), zerolog.Nop(), opening{Program: "the hub whose power is cut", Store: lessSafe})
	if err != nil {
		return err
	}
	books, err := openBooks(ctx, h.place.books(), h.log, zerolog.Nop())
	if err != nil {
		return err
	}
	ask := func(id, badge, what string, data fields) error {
		body, err := json.Marshal(data)
		if err != nil {
			return err
		}
		a := door.Local{Writer: h.writer}.Ask(ctx, workflow.Command{ID: id, Type: what, Badge: badge, Data: body})
		if a.Outcome != workflow.Kept {
			return fmt.Errorf("%s %s: %s %w", id, what, a.Outcome, a.Err())
		}
		fmt.Println(id)
		return nil
	}
	if life == 0 {
		err := errors.Join(ask("BOARD/first/1", "odile", "sign-in", fields{}), ask("BOARD/first/2", "odile", "register-item",
			fields{"item": "TRY", "name": "tray", "codes": []string{"9520000010034"}, "trace": "class", "unit_g": 355, "unit_sd_g": 5, "value_minor": 1500}))
		if err != nil {
			return err
		}
	}
	if err := fill(life, ask); err != nil {
		return err
	}
	if err := books.CatchUp(ctx, h.log); err != nil {
		return err
	}
	books.save()
	return h.Close()
}

// fill gives the commands of one life: benches that announce and receive at
// once, and large commands in between.
func fill(life int, ask func(id, badge, what string, data fields) error) error {
	rules, err := os.ReadFile(filepath.Join(root, "testdata", "demo", "rulebook-r4.yaml"))
	if err != nil {
		return err
	}
	var wg sync.WaitGroup
	errs := make(chan error, cutBenches+1)
	for b := range cutBenches {
		wg.Go(func() {
			for n := range roundsOfLife {
				lot, id := fmt.Sprintf("L-%d-%d-%d", life, b, n), fmt.Sprintf("BOARD/b%d-%d/", life, b)
				err := ask(fmt.Sprint(id, 2*n+1), "odile", "announce", fields{"lot": lot, "item": "TRY", "owner": "house", "qty": 10})
				if err == nil {
					err = ask(fmt.Sprint(id, 2*n+2), "odile", "receive", fields{"lot": lot, "tote": "T" + lot, "qty": 10})
				}
				if err != nil {
					errs <- err
					return
				}
			}
		})
	}
	wg.Go(func() {
		for n := range bigOnes {
			rev := life*bigOnes + n + 1
			book := strings.Replace(string(rules), "rev: 4", fmt.Sprint("rev: ", rev), 1)
			if err := ask(fmt.Sprintf("BOARD/big%d/%d", life, n+1), "odile", "publish-rulebook", fields{"source": book, "note": strings.Repeat("x", bigNote)}); err != nil {
				errs <- err
				return
			}
		}
	})
	wg.Wait()
	close(errs)
	return <-errs
}

// recorded runs the process that packs, and gives the record of its files.
func recorded(t *testing.T, leaveOut string) *powercut.Tape {
	t.Helper()
	dir, err := filepath.EvalSymlinks(t.TempDir())
	must(t, err)
	tape, err := powercut.Record(dir, []string{os.Args[0]}, append(os.Environ(), cutOff+"="+filepath.Join(dir, "floor"), without+"="+leaveOut))
	if errors.Is(err, powercut.ErrNotAllowed) && os.Getenv("CI") == "" {
		t.Skip(err)
	}
	must(t, err)
	t.Logf("recorded: %d calls", len(tape.Calls))
	return tape
}

func TestPowerCut(t *testing.T) {
	cuts := 40
	switch {
	case os.Getenv("PACKWRIGHT_LONG") != "":
		cuts = 300
	case testing.Short():
		cuts = 15
	}
	tape := recorded(t, "")
	for _, names := range []powercut.Names{powercut.ByFileOrDir, powercut.ByDir} {
		t.Run(names.String(), func(t *testing.T) {
			seed := cutSeed()
			dice, lost, answered := rand.New(rand.NewPCG(seed, 2)), 0, 0
			for _, moment := range tape.Cuts(cuts, dice) {
				o := cutAt(t, tape, moment, names, dice)
				lost, answered = lost+o.lost, answered+o.answered
				if o.fault != "" {
					t.Fatalf("-seed %d, power cut at moment %d of %d, %d writes and names lost: %s", seed, moment, tape.Moments, o.lost, o.fault)
				}
			}
			t.Logf("-seed %d: %d cuts, %d unsynced writes and names lost, %d answers asked for again; nothing answered was lost", seed, cuts, lost, answered)
		})
	}
}

// TestPowerCutBites: without the fsync of each append, and without that of the
// directories, the same cuts find a loss. The second only where a name lasts by
// its directory alone: a disk that keeps the name of every synced file keeps the
// new blocks by the fsync of their appends.
func TestPowerCutBites(t *testing.T) {
	for _, c := range []struct {
		leaveOut string
		names    powercut.Names
	}{{"sync", powercut.ByFileOrDir}, {"dirsync", powercut.ByDir}} {
		t.Run(fmt.Sprint("without ", c.leaveOut, " ", c.names), func(t *testing.T) {
			tape := recorded(t, c.leaveOut)
			seed := cutSeed()
			dice := rand.New(rand.NewPCG(seed, 3))
			for i := range 200 {
				moment := tape.Cuts(3, dice)[i%3]
				if o := cutAt(t, tape, moment, c.names, dice); o.fault != "" {
					t.Logf("-seed %d: found by cut %d: %s", seed, i+1, o.fault)
					return
				}
			}
			t.Error("200 cuts found no loss: the test sees none")
		})
	}
}

func cutSeed() uint64 {
	if *floorSeed > 0 {
		return *floorSeed
	}
	return uint64(time.Now().UnixNano())
}

// outage is what came of one power cut.
type outage struct {
	lost     int    // unsynced writes and names
	answered int    // commands answered before
	fault    string // what should not be; "" when all is there
}

// cutAt makes the disk as the cut may leave it, and opens a hub on it.
func cutAt(t *testing.T, tape *powercut.Tape, moment int, names powercut.Names, dice *rand.Rand) (o outage) {
	t.Helper()
	disk := filepath.Join(t.TempDir(), "disk")
	defer os.RemoveAll(disk)
	var err error
	o.lost, err = tape.Cut(moment, names, dice, disk)
	must(t, err)
	dir, said := filepath.Join(disk, "floor"), tape.Said(moment)
	o.answered = len(said)
	if len(said) == 0 { // founding had not been answered: doing it again must do
		if code, out := founds(t, dir); code != exitDone && !strings.Contains(out, "holds the floor yard already") {
			o.fault = "init, done again: " + out
			return o
		}
	}
	for start := range 1 + moment%3%2 { // what the first start mends or makes must hold at the second
		id := fmt.Sprintf("BOARD/after/%d", start+1)
		if err := afterCut(t.Context(), dir, said, id); err != nil {
			o.fault = fmt.Sprintf("start %d: %v", start+1, err)
			return o
		}
		said = append(said, id)
	}
	return o
}

// afterCut opens the hub as the next start would, looks for all that was said,
// and gives one more command, which must be kept.
func afterCut(ctx context.Context, dir string, said []string, more string) (err error) {
	h, err := openHub(ctx, place(dir), zerolog.Nop(), opening{Program: "after the cut", Store: func(c *natslog.Config) { c.NoSync = true }})
	if err != nil {
		return fmt.Errorf("the hub does not open: %w", err)
	}
	defer func() { err = errors.Join(err, h.Close()) }()
	if _, err := openBooks(ctx, h.place.books(), h.log, zerolog.Nop()); err != nil {
		return err
	}
	v, err := follow.Verify(ctx, h.log, nil)
	if err != nil {
		return err
	}
	if !v.OK() {
		return fmt.Errorf("the laws do not hold: %s", firstBreach(v))
	}
	times, err := causesOf(ctx, h.log)
	if err != nil {
		return err
	}
	for _, line := range said {
		if id := strings.TrimSpace(line); id != "founded" && times[id] != 1 {
			return fmt.Errorf("%s was answered, and stands %d times in a log of %d frames", id, times[id], v.Frames)
		}
	}
	for id, n := range times {
		if n > 1 {
			return fmt.Errorf("%s stands %d times in the log", id, n)
		}
	}
	writer := door.Local{Writer: h.writer}
	writer.Ask(ctx, workflow.Command{ID: more + "1", Type: "sign-in", Badge: "odile"}) // she may be signed in already
	a := writer.Ask(ctx, workflow.Command{ID: more, Type: "enrol-badge", Badge: "odile", Data: fmt.Appendf(nil, `{"badge":%q,"roles":["packer"]}`, "p"+more[len(more)-1:])})
	if a.Outcome != workflow.Kept {
		return fmt.Errorf("packing does not go on: %s %w", a.Outcome, a.Err())
	}
	return nil
}

// causesOf counts in how many frames the events of each command stand.
func causesOf(ctx context.Context, log events.Log) (map[string]int, error) {
	times := map[string]int{}
	err := log.Scan(ctx, 1, func(seq uint64, frame []byte) error {
		_, lines, err := events.SplitFrame(frame)
		if err != nil {
			return err
		}
		list, err := events.DecodeLines(seq, lines)
		here := map[string]bool{}
		for _, e := range list {
			if !here[e.Cause] {
				here[e.Cause] = true
				times[e.Cause]++
			}
		}
		return err
	})
	return times, err
}

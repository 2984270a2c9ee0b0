package main

import (
	"bufio"
	"bytes"
	"context"
	"encoding/json"
	"fmt"
	"io"
	"net/http"
	"net/url"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"sync"
	"testing"
	"time"

	"packwright/cmd/packwright/web"
	"packwright/prep"
	"packwright/workflow"
)

// BenchmarkBenches lets 32 browsers' worth of benches place two pieces a second
// each, for as long as PACKWRIGHT_PACE says (default 10s), through HTTP with their
// cookies, while a supervisor's board is open. It reports the waits from a scan
// to its answer and to the board's change, and what one write + fdatasync of
// a frame's size took on the same disk, side by side.
//
//	PACKWRIGHT_PACE=60s go test ./cmd/packwright -run - -bench Benches -benchtime 1x
func BenchmarkBenches(b *testing.B) {
	const benches = 32
	lasts := 10 * time.Second
	if s := os.Getenv("PACKWRIGHT_PACE"); s != "" {
		var err error
		lasts, err = time.ParseDuration(s)
		must(b, err)
	}
	for range b.N {
		f := openCrowd(b, benches, int(lasts/(500*time.Millisecond))+4)
		board := f.watchBoard(b)
		answers, boards := f.pace(b, lasts, board)
		syncs := fileSyncs(b, filepath.Dir(f.place.file("x")), 200)
		report(b, "answer", answers)
		report(b, "board", boards)
		report(b, "fsync", syncs)
		b.ReportMetric(float64(len(answers)), "scans")
		b.ReportMetric(0, "ns/op")
	}
}

// TestManyBenches is its short form: nobody waits for ever, each piece is kept,
// and the board hears of it while pages are opened.
func TestManyBenches(t *testing.T) {
	const benches, lasts = 8, 3 * time.Second
	f := openCrowd(t, benches, 16)
	board := f.watchBoard(t)
	looking, stop := context.WithCancel(t.Context())
	var looks sync.WaitGroup
	for range 4 {
		looks.Go(func() { f.lookAbout(t, looking) })
	}
	answers, boards := f.pace(t, lasts, board)
	stop()
	looks.Wait()
	if len(answers) < benches*3 || slices.Max(boards) > 2*time.Second {
		t.Fatalf("%d scans were answered in %s; the board took %s at worst", len(answers), lasts, slices.Max(boards))
	}
}

// lookAbout opens the desk's pages again and again.
func (f *crowd) lookAbout(t testing.TB, ctx context.Context) {
	session, err := f.entry.Begin("odile", workflow.Board, false)
	must(t, err)
	c := f.client("packwright-badge", session)
	for ctx.Err() == nil {
		for _, path := range []string{"/", "/wrong", "/plans", "/odd", "/story?code=C-01"} {
			resp, err := c.Get(f.bare(path))
			if err != nil {
				t.Error(err)
				return
			}
			_, _ = io.Copy(io.Discard, resp.Body)
			resp.Body.Close()
			if resp.StatusCode != http.StatusOK {
				t.Errorf("%s: %s", path, resp.Status)
				return
			}
		}
	}
}

func report(b *testing.B, what string, list []time.Duration) {
	if len(list) == 0 {
		b.Fatalf("no %s was measured", what)
	}
	slices.Sort(list)
	b.ReportMetric(float64(list[len(list)/2].Microseconds())/1000, what+"-p50-ms")
	b.ReportMetric(float64(list[len(list)*99/100].Microseconds())/1000, what+"-p99-ms")
}

// crowd is a hub that serves, with benches that have joined and are signed in.
type crowd struct {
	*served
	clients []*http.Client
}

// openCrowd makes one lot, one run and one carton of n pieces for each bench.
func openCrowd(b testing.TB, benches, n int) *crowd {
	f := &crowd{served: serveHub(b)}
	give := newGiver(b, f)
	give("BOARD", "odile", "sign-in", fields{})
	items, err := os.ReadFile(filepath.Join(root, "testdata", "demo", "items.yaml"))
	must(b, err)
	list, err := prep.ParseItems("items.yaml", items)
	must(b, err)
	for _, it := range list {
		give("BOARD", "odile", "register-item", it)
	}
	rules, err := os.ReadFile(filepath.Join(root, "testdata", "demo", "rulebook-r4.yaml"))
	must(b, err)
	give("BOARD", "odile", "publish-rulebook", fields{"source": string(rules), "file": "r4"})
	var lines []fields
	for i := range benches {
		lines = append(lines, fields{"carton": carton(i), "item": "SPC", "q": n, "owner": "quill"})
	}
	give("BOARD", "odile", "release", fields{"plan": "P-1", "lines": lines})
	for i := range benches {
		f.prepare(give, i, n)
		f.clients = append(f.clients, f.join(b, i))
	}
	return f
}

// giver gives commands that must be kept.
type giver func(station, badge, what string, data any)

func newGiver(b testing.TB, f *crowd) giver {
	n := 0
	return func(station, badge, what string, data any) {
		b.Helper()
		n++
		body, err := json.Marshal(data)
		must(b, err)
		got, err := f.writer.Do(b.Context(), workflow.Command{ID: fmt.Sprintf("%s/pace/%d", station, n), Type: what, Badge: badge, Data: body})
		if err != nil || got.Outcome != workflow.Kept {
			b.Fatalf("%s %s: %s %v %v", what, body, got.Outcome, got.Refusal, err)
		}
	}
}

func (f *crowd) prepare(give giver, i, n int) {
	lot, tote, run, out, who := fmt.Sprintf("L-%02d", i+1), fmt.Sprintf("T-%02d", i+1), fmt.Sprintf("R-%02d", i+1), fmt.Sprintf("T-%02d", i+101), fmt.Sprintf("p%d", i+1)
	give("BOARD", "odile", "join", fields{"name": station(i)})
	give("BOARD", "odile", "enrol-badge", fields{"badge": who, "roles": []string{"packer"}})
	give("BOARD", "odile", "announce", fields{"lot": lot, "item": "SPC", "owner": "quill", "qty": n})
	give("BOARD", "odile", "receive", fields{"lot": lot, "tote": tote, "qty": n})
	here := func(what string, data fields) { give(station(i), who, what, data) }
	here("sign-in", fields{})
	here("triage", fields{"tote": tote, "q": n, "verdict": "prep"})
	here("open-run", fields{"run": run, "tote": tote, "q": n, "bench_clear": "yes"})
	here("check-step", fields{"run": run, "step": "look-over", "n": n})
	here("finish-units", fields{"run": run, "q": n, "to": out})
	here("close-run", fields{"run": run})
	here("open-carton", fields{"carton": carton(i), "tare_g": 520})
}

// join makes a browser's worth of cookies for bench i, as the pages give them out.
func (f *crowd) join(b testing.TB, i int) *http.Client {
	digits, _, err := f.entry.Code(station(i))
	must(b, err)
	token, _, err := f.entry.Join(digits)
	must(b, err)
	session, err := f.entry.Begin(fmt.Sprintf("p%d", i+1), station(i), true)
	must(b, err)
	return f.client("packwright-bench", token, "packwright-badge", session)
}

// client sends cookies with each request. Words are name, value, name, value.
func (f *crowd) client(words ...string) *http.Client {
	jar := cookies{}
	for i := 0; i < len(words); i += 2 {
		jar = append(jar, &http.Cookie{Name: words[i], Value: words[i+1]})
	}
	return &http.Client{Jar: jar, Transport: &http.Transport{MaxIdleConnsPerHost: 4}}
}

type cookies []*http.Cookie

func (c cookies) SetCookies(*url.URL, []*http.Cookie) {}
func (c cookies) Cookies(*url.URL) []*http.Cookie     { return c }

// bare is the hub's address without the house's key.
func (f *crowd) bare(path string) string {
	u, err := url.Parse(f.url)
	if err != nil {
		panic(err)
	}
	u.User = nil
	return u.String() + path
}

// pace scans at two a second and bench, and gives each answer's wait, and how
// long the board took to show each scan: until it was sent the scan's carton anew.
func (f *crowd) pace(b testing.TB, lasts time.Duration, board *boardFeed) (answers, boards []time.Duration) {
	var mu sync.Mutex
	var wg sync.WaitGroup
	end := time.Now().Add(lasts)
	for i, c := range f.clients {
		wg.Go(func() {
			time.Sleep(time.Duration(i) * 500 * time.Millisecond / time.Duration(len(f.clients)))
			t := time.NewTicker(500 * time.Millisecond)
			defer t.Stop()
			f.scan(b, c, i, 1, carton(i))
			f.scan(b, c, i, 2, fmt.Sprintf("T-%02d", i+101))
			for n := uint64(3); time.Now().Before(end); n++ {
				<-t.C
				began := time.Now()
				said := f.scan(b, c, i, n, []string{"SPC", "9520000010133"}[n%2]) // one item, two spellings: not a double scan
				took := time.Since(began)
				if said.Outcome != workflow.Kept {
					b.Errorf("scan %d at %s: %+v", n, station(i), said)
					return
				}
				seen := board.carton(carton(i), began).Sub(began)
				mu.Lock()
				answers, boards = append(answers, took), append(boards, seen)
				mu.Unlock()
			}
		})
	}
	wg.Wait()
	return answers, boards
}

func (f *crowd) scan(b testing.TB, c *http.Client, i int, n uint64, raw string) workflow.Said {
	body, _ := json.Marshal(web.Typed{Session: fmt.Sprintf("pace-%d", i), N: n, Raw: raw})
	resp, err := c.Post(f.bare("/bench/scan"), "application/json", bytes.NewReader(body))
	if err != nil {
		b.Error(err)
		return workflow.Said{}
	}
	defer resp.Body.Close()
	got, _ := io.ReadAll(resp.Body)
	var out struct{ Said workflow.Said }
	if err := json.Unmarshal(got, &out); err != nil || resp.StatusCode != http.StatusOK {
		b.Errorf("%s: %d %s", raw, resp.StatusCode, got)
	}
	return out.Said
}

// boardFeed is when the board's stream brought each carton last.
type boardFeed struct {
	mu   sync.Mutex
	came map[string]time.Time
	stir chan struct{}
}

var boxID = regexp.MustCompile(`box-(C-\d+)`)

// watchBoard opens the stream of the board as a supervisor's browser does.
func (f *crowd) watchBoard(b testing.TB) *boardFeed {
	session, err := f.entry.Begin("odile", workflow.Board, false)
	must(b, err)
	ctx, cancel := context.WithCancel(b.Context())
	b.Cleanup(cancel)
	req, err := http.NewRequestWithContext(ctx, http.MethodGet, f.bare("/live?topic=board"), nil)
	must(b, err)
	resp, err := f.client("packwright-badge", session).Do(req)
	must(b, err)
	if resp.StatusCode != http.StatusOK {
		b.Fatalf("the board's stream: %s", resp.Status)
	}
	feed := &boardFeed{came: map[string]time.Time{}, stir: make(chan struct{})}
	go func() {
		defer resp.Body.Close()
		for lines := bufio.NewReader(resp.Body); ; {
			line, err := lines.ReadString('\n')
			if err != nil {
				return
			}
			if strings.HasPrefix(line, "data:") {
				feed.mu.Lock()
				for _, m := range boxID.FindAllStringSubmatch(line, -1) {
					feed.came[m[1]] = time.Now()
				}
				close(feed.stir)
				feed.stir = make(chan struct{})
				feed.mu.Unlock()
			}
		}
	}()
	return feed
}

// carton waits until the stream has brought a carton after a moment.
func (f *boardFeed) carton(code string, t time.Time) time.Time {
	for until := time.Now().Add(5 * time.Second); time.Now().Before(until); {
		f.mu.Lock()
		stir, came := f.stir, f.came[code]
		f.mu.Unlock()
		if came.After(t) {
			return came
		}
		select {
		case <-stir:
		case <-time.After(time.Second):
		}
	}
	return time.Now()
}

// fileSyncs gives how long one write + fsync of a frame's size takes here.
func fileSyncs(b testing.TB, dir string, n int) (out []time.Duration) {
	f, err := os.Create(filepath.Join(dir, "sync-probe"))
	must(b, err)
	defer os.Remove(f.Name())
	defer f.Close()
	line := make([]byte, 700)
	for range n {
		began := time.Now()
		_, err := f.Write(line)
		must(b, err)
		must(b, f.Sync())
		out = append(out, time.Since(began))
	}
	return out
}

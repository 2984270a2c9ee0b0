package door

import (
	"context"
	"errors"
	"fmt"
	"io"
	"net"
	"net/http"
	"net/http/httptest"
	"net/netip"
	"strings"
	"testing"
	"testing/synctest"
	"time"

	"github.com/rs/zerolog"

	"packwright/workflow"
)

func TestRates(t *testing.T) {
	now := time.Date(2031, 3, 4, 8, 0, 0, 0, time.UTC)
	r := newRates(func() time.Time { return now })
	a, b := netip.MustParseAddr("192.0.2.1"), netip.MustParseAddr("192.0.2.2")
	for i := range inOneGo {
		if !r.take(a) {
			t.Fatalf("request %d was refused", i+1)
		}
	}
	if r.take(a) || !r.take(b) {
		t.Error("one address has no end, or takes another's share")
	}
	now = now.Add(100 * time.Millisecond)
	n := 0
	for r.take(a) {
		n++
	}
	if n != perSecond/10 {
		t.Errorf("%d requests after a tenth of a second, want %d", n, perSecond/10)
	}
	now = now.Add(-time.Hour)
	if r.take(a) {
		t.Error("a clock set back gives a share")
	}
	now = now.Add(2 * time.Hour)
	for i := range addresses + 100 { // those that are whole again are forgotten
		r.take(netip.AddrFrom4([4]byte{10, 0, byte(i >> 8), byte(i)}))
		now = now.Add(time.Second)
	}
	if len(r.of) > addresses {
		t.Errorf("%d addresses are remembered", len(r.of))
	}
}

// TestTooManyRequests: another machine is rationed, this one is not.
func TestTooManyRequests(t *testing.T) {
	h := newLimited(http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		if _, err := io.Copy(io.Discard, r.Body); err != nil {
			w.WriteHeader(http.StatusRequestEntityTooLarge)
		}
	}))
	ask := func(from string, body io.Reader) int {
		r := httptest.NewRequest("POST", "/do", body)
		r.RemoteAddr = from
		w := httptest.NewRecorder()
		h.ServeHTTP(w, r)
		return w.Code
	}
	last := 0
	for range 2 * inOneGo {
		if last = ask("127.0.0.1:9", nil); last != http.StatusOK {
			t.Fatalf("this machine: %d", last)
		}
	}
	for range 2 * inOneGo {
		last = ask("192.0.2.7:9", nil)
	}
	if last != http.StatusTooManyRequests {
		t.Errorf("another machine: %d", last)
	}
	if got := ask("127.0.0.1:9", io.LimitReader(endless{}, anyBody+1)); got != http.StatusRequestEntityTooLarge {
		t.Errorf("a body without end: %d", got)
	}
}

type endless struct{}

func (endless) Read(b []byte) (int, error) { return len(b), nil }

// TestFewReadThePast: the present is never made to wait.
func TestFewReadThePast(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		hold, p := make(chan struct{}), make(past, pastAtOnce)
		h := p.limit(func(w http.ResponseWriter, r *http.Request) {
			if r.URL.Query().Has("at") {
				if _, ok := r.Context().Deadline(); !ok {
					t.Error("a reading of the past may take for ever")
				}
				<-hold
			}
		})
		ask := func(path string) int {
			w := httptest.NewRecorder()
			h.ServeHTTP(w, httptest.NewRequest("GET", path, nil))
			return w.Code
		}
		for range pastAtOnce {
			go ask("/board?at=17:41")
		}
		synctest.Wait()
		if got := ask("/board"); got != http.StatusOK {
			t.Errorf("the present: %d", got)
		}
		begun := time.Now()
		if got := ask("/board?at=17:42"); got != http.StatusServiceUnavailable || time.Since(begun) != pastWait {
			t.Errorf("one too many: %d after %s", got, time.Since(begun))
		}
		close(hold)
		if got := ask("/board?at=17:43"); got != http.StatusOK {
			t.Errorf("when the others are done: %d", got)
		}
	})
}

// from is a connection from an address.
type from struct {
	net.Conn
	a      string
	closed *int
}

func (c from) RemoteAddr() net.Addr { return net.TCPAddrFromAddrPort(netip.MustParseAddrPort(c.a)) }
func (c from) Close() error         { *c.closed++; return nil }

// queue is a listener that gives what waits.
type queue []net.Conn

func (q *queue) Accept() (net.Conn, error) {
	if len(*q) == 0 {
		return nil, io.EOF
	}
	c := (*q)[0]
	*q = (*q)[1:]
	return c, nil
}
func (q *queue) Close() error { return nil }
func (q *queue) Addr() net.Addr {
	return nil
}

func TestConnectionsAreLimited(t *testing.T) {
	closed, q := 0, &queue{}
	for i := range 2 * connsOf {
		*q = append(*q, from{a: fmt.Sprintf("192.0.2.1:%d", i+1), closed: &closed})
	}
	for i := range 2 * connsAtOnce {
		*q = append(*q, from{a: fmt.Sprintf("127.0.0.1:%d", i+1), closed: &closed})
	}
	l := Limit(q)
	var open []net.Conn
	for {
		c, err := l.Accept()
		if errors.Is(err, io.EOF) {
			break
		}
		open = append(open, c)
	}
	if len(open) != connsAtOnce || closed != connsOf+connsAtOnce+connsOf {
		t.Errorf("%d are open, %d were closed", len(open), closed)
	}
	for _, c := range open {
		_ = c.Close()
		_ = c.Close() // twice counts once
	}
	*q = append(*q, from{a: "192.0.2.1:7", closed: &closed})
	if _, err := l.Accept(); err != nil {
		t.Errorf("after all have left: %v", err)
	}
}

// slow is a floor that answers when it is let.
type slow struct{ hold chan struct{} }

func (s slow) Ask(_ context.Context, c workflow.Command) Answer {
	<-s.hold
	return Answer{ID: c.ID, Outcome: workflow.Kept}
}
func (s slow) Close() error { return nil }

// TestOneLaneCannotFillTheBus: a bench that does not wait for its answers is told
// to, and others are served.
func TestOneLaneCannotFillTheBus(t *testing.T) {
	b := &Bus{floor: slow{}, prefix: "floor.yard.do.", log: zerolog.Nop(), room: make(chan struct{}, busCommands), of: map[string]int{}}
	for i := range laneCommands {
		if !b.enter("ST-1") {
			t.Fatalf("command %d was refused", i+1)
		}
	}
	if b.enter("ST-1") || !b.enter("ST-2") {
		t.Error("a lane has no end, or takes another's place")
	}
	b.leave("ST-1")
	if !b.enter("ST-1") {
		t.Error("a place that was left is not given again")
	}
	for i := range busCommands {
		b.enter(fmt.Sprint("B-", i))
	}
	if b.enter("ST-3") {
		t.Error("the bus has no end")
	}
	if len(b.of) > busCommands || strings.Contains(fmt.Sprint(b.of), ":0") {
		t.Errorf("%d lanes are remembered", len(b.of))
	}
}

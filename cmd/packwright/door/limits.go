package door

import (
	"context"
	"net"
	"net/http"
	"net/netip"
	"sync"
	"time"
)

// What one hub bears, so that nobody at a door can take it from all others. A
// bench scans twice a second; a page of a browser asks for some ten things at
// once and keeps one stream open. Requests of this machine itself are not rationed:
// whoever is on it can do worse.
const (
	connsAtOnce = 1024             // open connections, of all
	connsOf     = 128              // of one address
	perSecond   = 100              // requests of one address,
	inOneGo     = 400              // after it has been quiet
	pastAtOnce  = 4                // readings of the past, each of which folds the log anew
	pastWait    = 10 * time.Second // for one's turn to read the past
	anyBody     = 32 << 20         // bytes; what takes less says so itself
)

// limited is the HTTP door behind its bounds.
type limited struct {
	next  http.Handler
	rates *rates
}

func newLimited(next http.Handler) http.Handler {
	return &limited{next, newRates(time.Now)}
}

func (l *limited) ServeHTTP(w http.ResponseWriter, r *http.Request) {
	if a := addressOf(r.RemoteAddr); a.IsValid() && !a.IsLoopback() && !l.rates.take(a) {
		w.Header().Set("Retry-After", "1")
		refuse(w, http.StatusTooManyRequests, "This address asks too often.", "Wait a second.")
		return
	}
	r.Body = http.MaxBytesReader(w, r.Body, anyBody)
	l.next.ServeHTTP(w, r)
}

// addressOf gives the address of host:port; the zero one when it is none.
func addressOf(hostport string) netip.Addr {
	ap, _ := netip.ParseAddrPort(hostport)
	return ap.Addr().Unmap()
}

// rates give each address its share of requests.
type rates struct {
	now func() time.Time
	mu  sync.Mutex
	of  map[netip.Addr]share
}

// share is what an address may still ask, as of a moment.
type share struct {
	left float64
	at   time.Time
}

// addresses is how many shares are remembered before those that are whole again
// are forgotten.
const addresses = 4096

func newRates(now func() time.Time) *rates { return &rates{now: now, of: map[netip.Addr]share{}} }

// take uses one request of an address; false when it has none left.
func (r *rates) take(a netip.Addr) bool {
	r.mu.Lock()
	defer r.mu.Unlock()
	now := r.now()
	if len(r.of) >= addresses {
		for a, s := range r.of {
			if s.grown(now) >= inOneGo {
				delete(r.of, a)
			}
		}
	}
	s, known := r.of[a]
	left := float64(inOneGo)
	switch {
	case known:
		left = s.grown(now)
	case len(r.of) >= 4*addresses:
		return false // so many at once are no floor
	}
	ok := left >= 1
	if ok {
		left--
	}
	r.of[a] = share{left, now}
	return ok
}

func (s share) grown(now time.Time) float64 {
	return min(inOneGo, s.left+max(0, now.Sub(s.at).Seconds())*perSecond)
}

// past lets few requests read the past at once.
type past chan struct{}

// enter waits for a turn; leave must be called when ok.
func (p past) enter(ctx context.Context) (leave func(), ok bool) {
	ctx, cancel := context.WithTimeout(ctx, pastWait)
	defer cancel()
	select {
	case p <- struct{}{}:
		return func() { <-p }, true
	case <-ctx.Done():
		return nil, false
	}
}

// limit rations a route that programs read: with ?at= it waits for its turn, and
// may not take longer than its answer could be written.
func (p past) limit(next http.HandlerFunc) http.HandlerFunc {
	return func(w http.ResponseWriter, r *http.Request) {
		if !r.URL.Query().Has("at") {
			next(w, r)
			return
		}
		leave, ok := p.enter(r.Context())
		if !ok {
			w.Header().Set("Retry-After", "10")
			refuse(w, http.StatusServiceUnavailable, "Others are reading the past.", "Ask again in a while.")
			return
		}
		defer leave()
		ctx, cancel := context.WithTimeout(r.Context(), writeTimeout-5*time.Second)
		defer cancel()
		next(w, r.WithContext(ctx))
	}
}

// Limit bounds the connections that a listener gives, in all and of one address
// elsewhere; what is too many is closed unheard. It goes beneath TLS.
func Limit(l net.Listener) net.Listener {
	return &limitedListener{Listener: l, of: map[netip.Addr]int{}}
}

type limitedListener struct {
	net.Listener
	mu  sync.Mutex
	all int
	of  map[netip.Addr]int
}

func (l *limitedListener) Accept() (net.Conn, error) {
	for {
		c, err := l.Listener.Accept()
		if err != nil {
			return nil, err
		}
		a := addressOf(c.RemoteAddr().String())
		if l.enter(a) {
			return &limitedConn{Conn: c, left: func() { l.leave(a) }}, nil
		}
		_ = c.Close()
	}
}

func (l *limitedListener) enter(a netip.Addr) bool {
	l.mu.Lock()
	defer l.mu.Unlock()
	if l.all >= connsAtOnce || !a.IsLoopback() && l.of[a] >= connsOf {
		return false
	}
	l.all++
	l.of[a]++
	return true
}

func (l *limitedListener) leave(a netip.Addr) {
	l.mu.Lock()
	defer l.mu.Unlock()
	l.all--
	if l.of[a]--; l.of[a] == 0 {
		delete(l.of, a)
	}
}

type limitedConn struct {
	net.Conn
	once sync.Once
	left func()
}

func (c *limitedConn) Close() error {
	c.once.Do(c.left)
	return c.Conn.Close()
}

package door

import (
	"bufio"
	"bytes"
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"net"
	"net/http"
	"net/netip"
	"slices"
	"time"

	"github.com/rs/zerolog"

	"packwright/prep"
)

// Bounds of what HTTP takes.
const (
	maxBody      = 4 << 20
	maxBatch     = 2000
	headerBytes  = 16 << 10
	readTimeout  = 15 * time.Second
	writeTimeout = 60 * time.Second // a route that streams sets its own
)

// Route is one thing to read over HTTP.
type Route struct {
	Pattern string // as http.ServeMux takes it, such as "GET /carton/{carton}"
	About   string
	May     May  // who may
	Blind   bool // holds nothing that somebody who counts must not see
	Page    bool // for people: not in the list of what programs can read
	Handle  http.HandlerFunc
}

// Web is the HTTP door.
type Web struct {
	Floor  Floor
	Health func(context.Context) (report any, green bool)
	Routes []Route
	Logger zerolog.Logger
	// Who says who asks; nil: everybody is the house, as in a test.
	Who func(*http.Request) Who
	// Counting says whether a bench is between FINISH CARTON and its count.
	Counting func(ctx context.Context, station string) bool
	// Names are the names this machine has beside its addresses and localhost.
	Names []string
}

// Handler gives all of the door; each route only to who may.
// A page of another site can neither ask nor read: requests across origins and
// names that are not this machine's are refused.
func (w *Web) Handler() http.Handler {
	mux, turns := http.NewServeMux(), make(past, pastAtOnce)
	for _, r := range w.All() {
		if !r.Page {
			r.Handle = turns.limit(r.Handle)
		}
		mux.Handle(r.Pattern, w.guard(r))
	}
	return newLimited(ownName(w.Names, http.NewCrossOriginProtection().Handler(mux)))
}

// All is the whole table of what the door answers, and to whom.
func (w *Web) All() []Route {
	return append([]Route{
		{Pattern: "POST /do", About: "give commands", May: House, Handle: w.do},
		{Pattern: "GET /health", About: "whether all is well", May: Readers, Handle: w.health},
		{Pattern: "GET /alive", About: "that the hub answers", May: Anyone, Blind: true, Handle: alive},
		{Pattern: "GET /routes", About: "this list", May: Readers, Handle: w.routes},
	}, w.Routes...)
}

// alive says nothing but that the hub is there.
func alive(rw http.ResponseWriter, _ *http.Request) { rw.WriteHeader(http.StatusNoContent) }

// ownName refuses a request to a name that is neither an address, localhost nor
// one of this machine's: a page elsewhere may have had its own name pointed here.
func ownName(names []string, next http.Handler) http.Handler {
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		host := r.Host
		if name, _, err := net.SplitHostPort(host); err == nil {
			host = name
		}
		if _, err := netip.ParseAddr(trimBrackets(host)); err != nil && host != "localhost" && !slices.Contains(names, host) {
			http.Error(w, "ask by address or as localhost", http.StatusMisdirectedRequest)
			return
		}
		next.ServeHTTP(w, r)
	})
}

func trimBrackets(host string) string {
	if len(host) > 1 && host[0] == '[' && host[len(host)-1] == ']' {
		return host[1 : len(host)-1]
	}
	return host
}

// do takes one command as a JSON object, or several as JSON lines, and answers
// in the same form. Commands are asked one after another; the status is that of
// the worst answer.
func (w *Web) do(rw http.ResponseWriter, r *http.Request) {
	body, err := io.ReadAll(http.MaxBytesReader(rw, r.Body, maxBody))
	if err != nil {
		w.write(rw, r, []Answer{troubled("", prep.Input("the commands were not read: "+err.Error(), fmt.Sprintf("send at most %d MiB at once", maxBody>>20)))})
		return
	}
	ctx, cancel := context.WithTimeout(r.Context(), writeTimeout-5*time.Second)
	defer cancel()
	w.write(rw, r, w.answers(ctx, body))
}

func (w *Web) answers(ctx context.Context, body []byte) []Answer {
	if c, err := ParseCommand(body); err == nil {
		return []Answer{w.Floor.Ask(ctx, c)}
	} else if !severalLines(body) {
		return []Answer{troubled(IDOf(body), err)}
	}
	var out []Answer
	scan := bufio.NewScanner(bytes.NewReader(body))
	scan.Buffer(nil, MaxCommand+1)
	for scan.Scan() {
		line := bytes.TrimSpace(scan.Bytes())
		if len(line) == 0 {
			continue
		}
		if len(out) == maxBatch {
			return append(out, troubled("", prep.Input(fmt.Sprintf("more than %d commands at once", maxBatch), "send the rest after these")))
		}
		c, err := ParseCommand(line)
		if err != nil {
			out = append(out, troubled(IDOf(line), err))
			continue
		}
		a := w.Floor.Ask(ctx, c)
		out = append(out, a)
		if !a.Answered() {
			return out // what follows may rest on it
		}
	}
	if err := scan.Err(); err != nil {
		out = append(out, troubled("", prep.Input("a line is too long: "+err.Error(), "split the command")))
	}
	return out
}

// severalLines says whether the first line alone is a JSON object.
func severalLines(body []byte) bool {
	line, rest, _ := bytes.Cut(bytes.TrimSpace(body), []byte{'\n'})
	return len(bytes.TrimSpace(rest)) > 0 && json.Valid(line)
}

func (w *Web) write(rw http.ResponseWriter, r *http.Request, answers []Answer) {
	status, kind := http.StatusOK, "application/json"
	if len(answers) > 1 {
		kind = "application/x-ndjson"
	}
	for i := range answers {
		status = max(status, answers[i].Status())
	}
	rw.Header().Set("Content-Type", kind)
	rw.WriteHeader(status)
	enc := json.NewEncoder(rw)
	for i := range answers {
		if err := enc.Encode(&answers[i]); err != nil {
			w.Logger.Debug().Err(err).Str("from", r.RemoteAddr).Msg("the asker has gone; it will ask again")
			return
		}
	}
}

// health is 200 when all is well and 503 when somebody must look.
func (w *Web) health(rw http.ResponseWriter, r *http.Request) {
	report, green := w.Health(r.Context())
	status := http.StatusOK
	if !green {
		status = http.StatusServiceUnavailable
	}
	WriteJSON(rw, status, report)
}

func (w *Web) routes(rw http.ResponseWriter, r *http.Request) {
	type about struct {
		Pattern string `json:"pattern"`
		About   string `json:"about"`
	}
	var list []about
	for _, x := range w.All() {
		if !x.Page {
			list = append(list, about{x.Pattern, x.About})
		}
	}
	WriteJSON(rw, http.StatusOK, list)
}

// WriteJSON answers a request with a value as JSON.
func WriteJSON(rw http.ResponseWriter, status int, v any) {
	b, err := json.Marshal(v)
	if err != nil {
		http.Error(rw, "the answer could not be written", http.StatusInternalServerError)
		return
	}
	rw.Header().Set("Content-Type", "application/json")
	rw.WriteHeader(status)
	_, _ = rw.Write(append(b, '\n')) // the asker may have gone
}

// WriteTrouble answers a reading that failed, with the status that doing has.
func WriteTrouble(rw http.ResponseWriter, err error) {
	a := troubled("", err)
	WriteJSON(rw, a.Status(), a)
}

// Serve answers on a listener until ctx is done; then it takes no more, and
// waits at most grace for what is under way.
func Serve(ctx context.Context, l net.Listener, h http.Handler, grace time.Duration) error {
	srv := &http.Server{Handler: h, ReadHeaderTimeout: 5 * time.Second, ReadTimeout: readTimeout, WriteTimeout: writeTimeout,
		IdleTimeout: 2 * time.Minute, MaxHeaderBytes: headerBytes,
		BaseContext: func(net.Listener) context.Context { return withStopping(ctx.Done()) }}
	failed := make(chan error, 1)
	go func() { failed <- srv.Serve(l) }()
	select {
	case err := <-failed:
		return fmt.Errorf("serve %s: %w", l.Addr(), err)
	case <-ctx.Done():
	}
	stop, cancel := context.WithTimeout(context.WithoutCancel(ctx), grace)
	defer cancel()
	err := srv.Shutdown(stop)
	if errors.Is(err, context.DeadlineExceeded) {
		err = errors.Join(fmt.Errorf("some requests were not finished in %s", grace), srv.Close())
	}
	return err
}

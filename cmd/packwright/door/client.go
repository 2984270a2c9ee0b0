package door

import (
	"bytes"
	"context"
	"crypto/tls"
	"encoding/json"
	"fmt"
	"io"
	"net/http"
	"strings"
	"time"

	"github.com/nats-io/nats.go"

	"packwright/events"
	"packwright/events/natslog"
	"packwright/prep"
	"packwright/workflow"
)

// Patience is how long a client asks again, under the same id, before it gives
// up; what became of the command is then unknown.
const Patience = 15 * time.Second

// Pauses between two tries.
const (
	firstPause = 50 * time.Millisecond
	longPause  = 2 * time.Second
)

// insist asks until there is an answer, or trouble that asking does not mend.
func insist(ctx context.Context, patience time.Duration, ask func(context.Context) Answer) Answer {
	ctx, cancel := context.WithTimeout(ctx, patience)
	defer cancel()
	for pause := firstPause; ; pause = min(2*pause, longPause) {
		a := ask(ctx)
		if a.Answered() || a.Error == nil || a.Error.Kind != TroubleAway {
			return a
		}
		select {
		case <-ctx.Done():
			return a
		case <-time.After(pause):
		}
	}
}

// BusClient asks a hub over the bus.
type BusClient struct {
	conn     *nats.Conn
	prefix   string
	station  string // whose key it has; empty: the shared password's
	patience time.Duration
}

var _ Floor = (*BusClient)(nil)

// BusKey is what a bench from another machine proves itself with.
type BusKey struct {
	Station string
	Seed    string      // file of the key's seed; empty: the password in the address
	Trust   *tls.Config // how the hub's certificate is believed; nil: as the machine does
}

// DialBus connects to the bus of the floor called name. Errors wrap
// events.ErrUnreachable.
func DialBus(url, name string, patience time.Duration) (*BusClient, error) {
	return DialBusAs(url, name, BusKey{}, patience)
}

// DialBusAs is DialBus for a bench with a key of its own.
func DialBusAs(url, name string, key BusKey, patience time.Duration) (*BusClient, error) {
	opts := []nats.Option{nats.Name("packwright bench"), nats.Timeout(5 * time.Second), nats.MaxReconnects(-1), nats.ReconnectWait(100 * time.Millisecond)}
	if key.Trust != nil {
		opts = append(opts, nats.Secure(key.Trust))
	}
	if key.Seed == "" {
		key.Station = ""
	} else {
		login, err := nats.NkeyOptionFromSeed(key.Seed)
		if err != nil {
			return nil, &prep.InputError{File: key.Seed, What: "it holds no key: " + err.Error(), Do: "make one with packwright bench-key"}
		}
		opts = append(opts, login, nats.CustomInboxPrefix(natslog.InboxOf(key.Station)))
	}
	conn, err := nats.Connect(url, opts...)
	if err != nil {
		return nil, fmt.Errorf("connect to the bus: %w: %w", events.ErrUnreachable, err)
	}
	return &BusClient{conn, "floor." + name + ".do.", key.Station, patience}, nil
}

// oneTry is how long one request waits for its answer.
const oneTry = 5 * time.Second

// Ask sends a command on the subject of its station, again and again until it
// is answered or patience ends.
func (b *BusClient) Ask(ctx context.Context, c workflow.Command) Answer {
	body, err := json.Marshal(&c)
	if err != nil {
		return troubled(c.ID, err)
	}
	id, err := workflow.ParseCommandID(c.ID)
	if err == nil && b.station != "" && b.station != id.Station {
		err = prep.Input("a command of "+id.Station+" with the key of "+b.station, "give it from its own bench")
	}
	if err != nil {
		return troubled(c.ID, err)
	}
	return insist(ctx, b.patience, func(ctx context.Context) Answer {
		ctx, cancel := context.WithTimeout(ctx, oneTry)
		defer cancel()
		m, err := b.conn.RequestWithContext(ctx, b.prefix+id.Station, body)
		if err != nil {
			return troubled(c.ID, fmt.Errorf("%w: %w", events.ErrUnreachable, err))
		}
		return readAnswer(c.ID, m.Data)
	})
}

// Close ends the connection.
func (b *BusClient) Close() error {
	b.conn.Close()
	return nil
}

func readAnswer(id string, body []byte) Answer {
	var a Answer
	if err := json.Unmarshal(body, &a); err != nil || !a.Answered() && a.Error == nil {
		return troubled(id, fmt.Errorf("what came back is no answer: %.200q", body))
	}
	return a
}

// WebClient asks a hub over HTTP.
type WebClient struct {
	URL      string // http://127.0.0.1:8420
	Patience time.Duration
	Client   *http.Client // nil: the default one
}

var _ Floor = (*WebClient)(nil)

// Ask posts a command, again and again until it is answered or patience ends.
func (w *WebClient) Ask(ctx context.Context, c workflow.Command) Answer {
	body, err := json.Marshal(&c)
	if err != nil {
		return troubled(c.ID, err)
	}
	return insist(ctx, w.Patience, func(ctx context.Context) Answer {
		ctx, cancel := context.WithTimeout(ctx, answerWait+oneTry)
		defer cancel()
		_, got, err := w.fetch(ctx, http.MethodPost, "/do", body)
		if err != nil {
			return troubled(c.ID, err)
		}
		return readAnswer(c.ID, got)
	})
}

// Read gets what a route of the hub gives, into v.
func (w *WebClient) Read(ctx context.Context, path string, v any) error {
	status, got, err := w.fetch(ctx, http.MethodGet, path, nil)
	if err != nil {
		return err
	}
	var a Answer
	if status >= 400 && json.Unmarshal(got, &a) == nil && (a.Error != nil || a.Refusal != nil) {
		return a.Err()
	}
	if status >= 400 {
		return fmt.Errorf("the hub answers %d to %s: %.200s", status, path, bytes.TrimSpace(got))
	}
	if err := json.Unmarshal(got, v); err != nil {
		return fmt.Errorf("read what %s gives: %w", path, err)
	}
	return nil
}

// Look gets what a route gives into v, whatever its status: a hub that is not
// well says so with 503 and tells why.
func (w *WebClient) Look(ctx context.Context, path string, v any) error {
	status, got, err := w.fetch(ctx, http.MethodGet, path, nil)
	if err != nil {
		return err
	}
	if err := json.Unmarshal(got, v); err != nil {
		return fmt.Errorf("the hub answers %d to %s: %.200s", status, path, bytes.TrimSpace(got))
	}
	return nil
}

// Make posts to a route that makes a file, and gives the file.
func (w *WebClient) Make(ctx context.Context, path string) ([]byte, error) {
	status, got, err := w.fetch(ctx, http.MethodPost, path, nil)
	if err != nil {
		return nil, err
	}
	var a Answer
	if status >= 400 && json.Unmarshal(got, &a) == nil && (a.Error != nil || a.Refusal != nil) {
		return nil, a.Err()
	}
	if status >= 400 {
		return nil, fmt.Errorf("the hub answers %d to %s: %.200s", status, path, bytes.TrimSpace(got))
	}
	return got, nil
}

func (w *WebClient) fetch(ctx context.Context, method, path string, body []byte) (status int, got []byte, err error) {
	req, err := http.NewRequestWithContext(ctx, method, strings.TrimRight(w.URL, "/")+path, bytes.NewReader(body))
	if err != nil {
		return 0, nil, err
	}
	req.Header.Set("Content-Type", "application/json")
	client := w.Client
	if client == nil {
		client = http.DefaultClient
	}
	resp, err := client.Do(req)
	if err != nil {
		return 0, nil, fmt.Errorf("%w: %w", events.ErrUnreachable, err)
	}
	defer resp.Body.Close()
	got, err = io.ReadAll(io.LimitReader(resp.Body, 64<<20))
	if err != nil {
		return 0, nil, fmt.Errorf("%w: %w", events.ErrUnreachable, err)
	}
	return resp.StatusCode, got, nil
}

// Post sends a value as JSON; what comes back is only looked at for trouble.
// Errors as of Read.
func (w *WebClient) Post(ctx context.Context, path string, v any) error {
	body, err := json.Marshal(v)
	if err != nil {
		return err
	}
	status, got, err := w.fetch(ctx, http.MethodPost, path, body)
	if err != nil || status < 300 {
		return err
	}
	var a Answer
	if err := json.Unmarshal(got, &a); err != nil {
		return fmt.Errorf("the hub answers %d to %s: %.200s", status, path, bytes.TrimSpace(got))
	}
	return a.Err()
}

// Close does nothing.
func (w *WebClient) Close() error { return nil }

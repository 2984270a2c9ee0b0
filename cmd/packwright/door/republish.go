package door

import (
	"sync"
	"sync/atomic"

	"github.com/nats-io/nats.go"
	"github.com/rs/zerolog"

	"packwright/events"
)

// republishFrames is how many frames may wait to be published.
const republishFrames = 4096

// Republisher publishes durable events for listeners. Its Durable is made for
// the engine: it never blocks.
type Republisher struct {
	conn    *nats.Conn
	prefix  string
	log     zerolog.Logger
	frames  chan []events.Event
	ended   chan struct{}
	close   sync.Once
	leftOut atomic.Uint64
}

// NewRepublisher begins to publish on floor.<name>.event.<type>.
func NewRepublisher(conn *nats.Conn, name string, log zerolog.Logger) *Republisher {
	r := &Republisher{conn: conn, prefix: "floor." + name + ".event.", log: log, frames: make(chan []events.Event, republishFrames), ended: make(chan struct{})}
	go r.run()
	return r
}

// Durable takes the events of a frame. When too many wait they are left out: a
// listener sees the gap and reads the frame. It must not be called after Close.
func (r *Republisher) Durable(evs []events.Event) {
	select {
	case r.frames <- evs:
	default:
		if r.leftOut.Add(uint64(len(evs))) == uint64(len(evs)) {
			r.log.Warn().Msg("listeners are slow to be served; some events are left out")
		}
	}
}

// LeftOut is how many events were not published.
func (r *Republisher) LeftOut() uint64 { return r.leftOut.Load() }

func (r *Republisher) run() {
	defer close(r.ended)
	for evs := range r.frames {
		for i := range evs {
			if err := r.publish(&evs[i]); err != nil {
				r.leftOut.Add(1)
				r.log.Debug().Stringer("seq", evs[i].Seq).Err(err).Msg("event not published")
			}
		}
	}
}

func (r *Republisher) publish(e *events.Event) error {
	line, err := events.Encode(nil, e)
	if err != nil {
		return err
	}
	m := &nats.Msg{Subject: r.prefix + string(e.Type()), Data: line, Header: nats.Header{}}
	m.Header.Set("Seq", e.Seq.String())
	return r.conn.PublishMsg(m)
}

// Close publishes what waits and ends.
func (r *Republisher) Close() error {
	r.close.Do(func() { close(r.frames) })
	<-r.ended
	return r.conn.Flush()
}

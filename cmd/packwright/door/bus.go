package door

import (
	"context"
	"encoding/json"
	"fmt"
	"strconv"
	"strings"
	"sync"
	"time"

	"github.com/nats-io/nats.go"
	"github.com/nats-io/nats.go/micro"
	"github.com/rs/zerolog"

	"packwright/events"
	"packwright/prep"
	"packwright/workflow"
)

// busCommands is how many commands of the bus may wait for their answers at
// once; more are answered E-SYS-01 without being looked at.
const busCommands = 512

// laneCommands is how many of these may be of one station: a bench waits for an
// answer before it sends the next.
const laneCommands = 32

// answerWait is how long a door waits for the engine.
const answerWait = 30 * time.Second

// Bus takes commands from the bus. Each station has its own subject; what is
// sent there must carry that station in its id. A bench waits for an answer
// before it sends the next command: two sent at once have no order.
type Bus struct {
	conn    *nats.Conn
	floor   Floor
	prefix  string
	service micro.Service
	log     zerolog.Logger

	mu     sync.Mutex
	closed bool
	room   chan struct{}
	of     map[string]int // station → its commands among those who wait
	busy   sync.WaitGroup
}

// ServeBus begins to answer on floor.<name>.do.<station>. The connection stays
// the caller's.
func ServeBus(conn *nats.Conn, name string, floor Floor, log zerolog.Logger) (*Bus, error) {
	b := &Bus{conn: conn, floor: floor, prefix: "floor." + name + ".do.", log: log, room: make(chan struct{}, busCommands), of: map[string]int{}}
	var err error
	b.service, err = micro.AddService(conn, micro.Config{
		Name: "floor-" + name, Version: "1.0.0", Description: "takes the commands of the benches of floor " + name,
		Endpoint: &micro.EndpointConfig{Subject: b.prefix + "*", Handler: micro.HandlerFunc(b.handle)},
	})
	if err != nil {
		return nil, fmt.Errorf("open the bus door: %w", err)
	}
	if err := conn.Flush(); err != nil {
		return nil, fmt.Errorf("open the bus door: %w: %w", events.ErrUnreachable, err)
	}
	return b, nil
}

// handle is called one message at a time; the waiting is done beside it.
func (b *Bus) handle(req micro.Request) {
	station, reply, body := strings.TrimPrefix(req.Subject(), b.prefix), req.Reply(), req.Data()
	if reply == "" {
		b.log.Debug().Str("station", station).Msg("a command that wants no answer was left alone")
		return
	}
	if !b.enter(station) {
		b.answer(reply, Answer{ID: IDOf(body), Refusal: workflow.Away(), Error: &Trouble{TroubleAway, "the hub is busy or stopping", "Send it again under the same id."}})
		return
	}
	go func() {
		defer b.leave(station)
		ctx, cancel := context.WithTimeout(context.Background(), answerWait)
		defer cancel()
		b.answer(reply, b.ask(ctx, station, body))
	}()
}

func (b *Bus) ask(ctx context.Context, station string, body []byte) Answer {
	c, err := ParseCommand(body)
	if err != nil {
		return troubled(IDOf(body), err)
	}
	if of, _, _ := strings.Cut(c.ID, "/"); of != station {
		return troubled(c.ID, prep.Input("a command of "+of+" on the subject of "+station, "send it on the subject of its own station"))
	}
	return b.floor.Ask(ctx, c)
}

// enter takes a place among those who wait; false when there is none.
func (b *Bus) enter(station string) bool {
	b.mu.Lock()
	defer b.mu.Unlock()
	if b.closed || b.of[station] >= laneCommands {
		return false
	}
	select {
	case b.room <- struct{}{}:
		b.busy.Add(1)
		b.of[station]++
		return true
	default:
		return false
	}
}

func (b *Bus) leave(station string) {
	b.mu.Lock()
	if b.of[station]--; b.of[station] == 0 {
		delete(b.of, station)
	}
	b.mu.Unlock()
	<-b.room
	b.busy.Done()
}

// answer sends an answer; trouble stands in the service headers too.
func (b *Bus) answer(reply string, a Answer) {
	body, err := json.Marshal(a)
	if err != nil {
		b.log.Error().Str("command", a.ID).Err(err).Msg("answer not written")
		return
	}
	m := &nats.Msg{Subject: reply, Data: body, Header: nats.Header{}}
	if a.Error != nil {
		m.Header.Set(micro.ErrorHeader, a.Error.Text)
		m.Header.Set(micro.ErrorCodeHeader, strconv.Itoa(a.Status()))
	}
	if len(body) > int(b.conn.MaxPayload())-4<<10 {
		a.Events = nil // the log has them; the answer itself must arrive
		m.Data, _ = json.Marshal(a)
	}
	if err := b.conn.PublishMsg(m); err != nil {
		b.log.Warn().Str("command", a.ID).Err(err).Msg("answer not sent; the bench will ask again")
	}
}

// Close takes no more commands, and waits until those that were taken are answered.
func (b *Bus) Close() error {
	b.mu.Lock()
	was := b.closed
	b.closed = true
	b.mu.Unlock()
	if was {
		return nil
	}
	err := b.service.Stop()
	b.busy.Wait()
	if ferr := b.conn.Flush(); err == nil {
		err = ferr
	}
	return err
}

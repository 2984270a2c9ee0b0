package bench

import (
	"context"
	"errors"
	"fmt"
	"io/fs"
	"path/filepath"
	"time"

	"github.com/nats-io/nats.go"
	"github.com/nats-io/nats.go/jetstream"

	"packwright/events/natslog"
)

// singles is the bus we embed, used as one would first: a message an event, on
// the carton's subject, with the expected last sequence of that subject.
type singles struct {
	dir  string
	log  *natslog.Log // for its server alone
	conn *nats.Conn
	js   jetstream.JetStream
	last map[string]*uint64 // of a carton's subject; each is one client's
}

// OpenMessages opens it in a directory, each message synced.
func OpenMessages(dir string, cartons []string) (Peer, error) {
	m := &singles{dir: dir, last: map[string]*uint64{}}
	for _, c := range cartons {
		m.last[c] = new(uint64)
	}
	return m, m.open()
}

func (m *singles) Name() string { return "JetStream, a message an event" }

func (m *singles) open() (err error) {
	if m.log, err = natslog.Open(context.Background(), natslog.Config{Floor: Floor, Dir: m.dir}); err != nil {
		return err
	}
	if m.conn, err = m.log.Connect("messages"); err != nil {
		return err
	}
	if m.js, err = jetstream.New(m.conn, jetstream.WithPublishAsyncMaxPending(4096)); err != nil {
		return err
	}
	_, err = m.js.CreateOrUpdateStream(context.Background(), jetstream.StreamConfig{Name: "single", Subjects: []string{"single.>"}, AllowDirect: true, Duplicates: time.Hour})
	return err
}

func (m *singles) Append(client int, e Entry) error {
	last, ok := m.last[e.Carton]
	if !ok {
		return fmt.Errorf("carton %s was not announced", e.Carton)
	}
	a, err := m.js.PublishMsg(context.Background(), &nats.Msg{Subject: "single." + e.Carton, Data: e.Line, Header: nats.Header{}},
		jetstream.WithMsgID(e.ID), jetstream.WithExpectLastSequencePerSubject(*last))
	var api *jetstream.APIError
	switch {
	case errors.As(err, &api) && api.ErrorCode == jetstream.JSErrCodeStreamWrongLastSequence:
		return taken(e)
	case err != nil:
		return err
	case a.Duplicate:
		return taken(e)
	}
	*last = a.Sequence
	return nil
}

func (m *singles) Load(list []Entry) error {
	for _, e := range list {
		if _, err := m.js.PublishMsgAsync(&nats.Msg{Subject: "single." + e.Carton, Data: e.Line}, jetstream.WithStallWait(time.Minute)); err != nil {
			return err
		}
	}
	select {
	case <-m.js.PublishAsyncComplete():
		return nil
	case <-time.After(5 * time.Minute):
		return errors.New("the bus did not keep all in five minutes")
	}
}

func (m *singles) Story(carton string) (out [][]byte, err error) {
	return out, m.read("single."+carton, func(line []byte) error { out = append(out, line); return nil })
}

func (m *singles) Replay(fn func([]byte) error) error { return m.read("single.>", fn) }

// read takes all that a subject holds now, by an ordered consumer.
func (m *singles) read(subject string, fn func([]byte) error) error {
	ctx := context.Background()
	s, err := m.js.Stream(ctx, "single")
	if err != nil {
		return err
	}
	c, err := s.OrderedConsumer(ctx, jetstream.OrderedConsumerConfig{FilterSubjects: []string{subject}, InactiveThreshold: 5 * time.Second})
	if err != nil {
		return err
	}
	about, err := c.Info(ctx)
	if err != nil {
		return err
	}
	left := about.NumPending
	for left > 0 {
		batch, err := c.Fetch(int(min(left, 5000)), jetstream.FetchMaxWait(10*time.Second))
		if err != nil {
			return err
		}
		got := uint64(0)
		for msg := range batch.Messages() {
			if err := fn(msg.Data()); err != nil {
				return err
			}
			got++
		}
		if got == 0 {
			return fmt.Errorf("the bus gave nothing of %d messages that wait: %w", left, batch.Error())
		}
		left -= got
	}
	return nil
}

func (m *singles) Disk() (sum int64, err error) {
	err = filepath.WalkDir(m.dir, func(_ string, d fs.DirEntry, err error) error {
		if err != nil || d.IsDir() {
			return err
		}
		st, err := d.Info()
		if err == nil {
			sum += st.Size()
		}
		return err
	})
	return sum, err
}

func (m *singles) Restart(e Entry) error {
	if err := m.Close(); err != nil {
		return err
	}
	if err := m.open(); err != nil {
		return err
	}
	return m.Append(0, e)
}

func (m *singles) Close() error {
	m.conn.Close()
	return m.log.Close()
}

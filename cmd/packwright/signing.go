package main

import (
	"context"
	"encoding/hex"
	"encoding/json"
	"errors"
	"fmt"
	"slices"
	"sync"

	"github.com/rs/zerolog"
	"golang.org/x/mod/sumdb/tlog"

	"packwright/cmd/packwright/door"
	"packwright/events"
	"packwright/workflow"
	"packwright/workflow/engine"
)

// signing is a floor whose heads are signed: right after a truck has left or a
// day was closed, and whenever the clockwork or somebody asks. The writer never
// sees the key; it is given what was signed, as a command, and keeps it only when
// its log has had that head.
type signing struct {
	door.Floor
	writer *engine.Engine
	key    *headKey // nil: nothing is signed
	log    zerolog.Logger

	mu    sync.Mutex
	epoch string
	n     uint64
}

// followed are the commands after which a head is signed.
var followed = []string{"close-load", "close-day"}

// errNoKey: the floor has no key, or it is not at hand.
var errNoKey = errors.New("there is no key to sign with")

// signing puts the floor's writer behind its key. A key that is not at hand is
// told to the log, and what it would sign stays due.
func (h *hub) signing(log zerolog.Logger) *signing {
	s := &signing{Floor: door.Local{Writer: h.writer}, writer: h.writer, log: log, epoch: newEpoch("head")}
	h.heads = s
	key, err := h.about.key()
	if err != nil {
		log.Warn().Err(err).Msg("heads of the log cannot be signed")
		return s
	}
	s.key = key
	return s
}

// Ask gives a command; a head is signed when it wants one. That the head was not
// signed is not the command's fault: the clockwork will try again.
func (s *signing) Ask(ctx context.Context, c workflow.Command) door.Answer {
	a := s.Floor.Ask(ctx, c)
	if a.Outcome == workflow.Kept && slices.Contains(followed, c.Type) && s.key != nil {
		if err := s.sign(ctx, s.Floor); err != nil {
			s.log.Warn().Err(err).Str("after", c.Type).Msg("the head of the log was not signed")
		}
	}
	return a
}

// signTries is how often the newest head is taken anew when the log runs ahead.
const signTries = 3

// sign has the newest head kept, given through a floor's door; when all but the
// last head is signed already there is nothing to do. Errors: errNoKey, and those
// of the answer.
func (s *signing) sign(ctx context.Context, through door.Floor) (err error) {
	if s.key == nil {
		return errNoKey
	}
	signed := false
	if err := s.writer.View(ctx, func(f *workflow.Floor) { signed = f.SignedTo > 0 && f.SignedTo+1 >= f.Seq.Frame }); err != nil || signed {
		return err
	}
	for range signTries {
		c, failed := s.command()
		if failed != nil {
			return failed
		}
		a := through.Ask(ctx, c)
		if err = a.Err(); err == nil || ctx.Err() != nil {
			return err
		}
	}
	return fmt.Errorf("sign the head of the log: %w", err)
}

// command signs the newest head.
func (s *signing) command() (workflow.Command, error) {
	var c workflow.Command
	h := s.writer.Head()
	var root tlog.Hash
	if n, err := hex.Decode(root[:], []byte(h.Root)); err != nil || n != len(root) {
		return c, fmt.Errorf("the writer's root %q cannot be read", h.Root)
	}
	head, err := events.SignHead(s.key, h.Frame, h.Size, root)
	if err != nil {
		return c, err
	}
	body, err := json.Marshal(head)
	s.mu.Lock()
	defer s.mu.Unlock()
	s.n++
	return workflow.Command{ID: fmt.Sprintf("%s/%s/%d", workflow.Board, s.epoch, s.n), Type: "sign-head", Basis: events.Keyed, Data: body}, err
}

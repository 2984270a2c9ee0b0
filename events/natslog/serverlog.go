package natslog

import (
	"errors"
	"fmt"
	"io/fs"
	"strings"

	"github.com/rs/zerolog"
)

// serverLog hands the embedded server's log lines to zerolog, and hears in
// them what the server tells nobody else: after a failed write a single server
// keeps silent, so that the writer would wait for an answer that can't come.
type serverLog struct {
	log  zerolog.Logger
	fail func(error)
}

func (s serverLog) Debugf(format string, v ...any)  { s.log.Trace().Msgf(format, v...) }
func (s serverLog) Tracef(format string, v ...any)  { s.log.Trace().Msgf(format, v...) }
func (s serverLog) Noticef(format string, v ...any) { s.log.Debug().Msgf(format, v...) }

func (s serverLog) Warnf(format string, v ...any) {
	s.log.Debug().Msgf(format, v...)
	s.hear(format, v)
}

func (s serverLog) Errorf(format string, v ...any) {
	s.log.Debug().Msgf(format, v...)
	s.hear(format, v)
}

// Fatalf does not end the process, as the server's own log would: opening or
// appending fails, and the caller decides.
func (s serverLog) Fatalf(format string, v ...any) {
	s.log.Debug().Msgf(format, v...)
	s.fail(fmt.Errorf(format, v...))
}

// deathWords begin or end the lines after which the store takes nothing more.
var deathWords = []string{"critical write error", "will be DISABLED", "disabling JetStream"}

func (s serverLog) hear(format string, v []any) {
	var cause error
	for _, arg := range v {
		if err, ok := arg.(error); ok {
			cause = err
		}
	}
	dead := cause != nil && (noSpace(cause) || errors.Is(cause, fs.ErrPermission))
	for _, words := range deathWords {
		dead = dead || strings.Contains(format, words)
	}
	switch {
	case dead && cause != nil:
		s.fail(cause)
	case dead:
		s.fail(fmt.Errorf(format, v...))
	}
}

package main

import (
	"context"
	"net/http"
	"time"

	"github.com/prometheus/client_golang/prometheus"
	"github.com/prometheus/client_golang/prometheus/collectors"
	"github.com/prometheus/client_golang/prometheus/promhttp"
	"github.com/rs/zerolog"

	"packwright/cmd/packwright/door"
	"packwright/events"
	"packwright/workflow"
)

// meters are the hub's own figures, in a registry of their own, for GET /metrics.
// Labels are words of this program: no badge, no station, nothing that somebody
// typed.
type meters struct {
	registry *prometheus.Registry
	commands *prometheus.CounterVec   // by type and outcome
	refusals *prometheus.CounterVec   // by code
	took     *prometheus.HistogramVec // seconds from question to answer, by outcome
	append   prometheus.Histogram     // seconds
	bytes    prometheus.Histogram
}

// unanswered is the outcome of a command that nobody has decided: the hub was
// away, busy or red.
const unanswered = "unanswered"

func newMeters() *meters {
	m := &meters{registry: prometheus.NewRegistry(),
		commands: prometheus.NewCounterVec(prometheus.CounterOpts{Name: "packwright_commands_total", Help: "Commands, by type and outcome."}, []string{"type", "outcome"}),
		refusals: prometheus.NewCounterVec(prometheus.CounterOpts{Name: "packwright_refusals_total", Help: "Commands that a gate stopped or that call somebody, by code."}, []string{"code"}),
		took: prometheus.NewHistogramVec(prometheus.HistogramOpts{Name: "packwright_command_seconds", Help: "From command to durable answer, inside the hub.",
			Buckets: prometheus.ExponentialBuckets(0.00025, 2, 16)}, []string{"outcome"}),
		append: prometheus.NewHistogram(prometheus.HistogramOpts{Name: "packwright_append_seconds", Help: "One frame made durable.", Buckets: prometheus.ExponentialBuckets(0.000125, 2, 16)}),
		bytes:  prometheus.NewHistogram(prometheus.HistogramOpts{Name: "packwright_frame_bytes", Help: "Size of frames.", Buckets: prometheus.ExponentialBuckets(256, 2, 13)}),
	}
	m.registry.MustRegister(m.commands, m.refusals, m.took, m.append, m.bytes,
		collectors.NewGoCollector(), collectors.NewProcessCollector(collectors.ProcessCollectorOpts{}))
	return m
}

// gauge adds a figure that is read when it is asked for.
func (m *meters) gauge(name, help string, read func() float64) {
	m.registry.MustRegister(prometheus.NewGaugeFunc(prometheus.GaugeOpts{Name: name, Help: help}, read))
}

// watch adds what the hub itself knows. Its books must be open.
func (m *meters) watch(h *hub, l *light) {
	m.gauge("packwright_frames", "Durable frames in the log.", func() float64 { return float64(h.writer.Head().Frame) })
	m.gauge("packwright_events", "Durable events in the log.", func() float64 { return float64(h.writer.Head().Size) })
	m.gauge("packwright_auditor_lag_frames", "Durable frames that the auditor has not read yet.", func() float64 { return float64(h.lag()) })
	m.gauge("packwright_green", "1 while the hub believes its log and takes commands.", func() float64 {
		if l.why() != nil || h.writer.Err() != nil {
			return 0
		}
		return 1
	})
	m.gauge("packwright_disk_free_bytes", "Where the log is kept; -1 when it cannot be told.", func() float64 {
		free, _, err := h.log.Free()
		if err != nil {
			return -1
		}
		return float64(free)
	})
	m.gauge("packwright_backup_timestamp_seconds", "When the last backup that was verified began; 0 when there was none.", func() float64 {
		last, err := h.place.lastBackup()
		if err != nil || last.proven() == nil {
			return 0
		}
		return float64(last.proven().At.Unix())
	})
	m.gauge("packwright_events_not_published", "Events that listeners on the bus did not get.", func() float64 {
		if h.events == nil {
			return 0
		}
		return float64(h.events.LeftOut())
	})
}

// lag is how many durable frames the auditor has not read yet.
func (h *hub) lag() uint64 {
	head, read := h.writer.Head().Frame, h.books.Checkpoint().Seq
	return max(head, read) - read
}

// route gives them out.
func (m *meters) route() door.Route {
	give := promhttp.HandlerFor(m.registry, promhttp.HandlerOpts{MaxRequestsInFlight: 4, Timeout: 10 * time.Second})
	return door.Route{Pattern: "GET /metrics", About: "the hub's figures, for Prometheus", May: door.Readers, Handle: func(w http.ResponseWriter, r *http.Request) { give.ServeHTTP(w, r) }}
}

// metered is a log whose appends are measured.
type metered struct {
	events.Log
	m *meters
}

func (l metered) Append(ctx context.Context, after uint64, frame []byte) error {
	begun := time.Now()
	err := l.Log.Append(ctx, after, frame)
	l.m.append.Observe(time.Since(begun).Seconds())
	if err == nil {
		l.m.bytes.Observe(float64(len(frame)))
	}
	return err
}

// noted is a floor each command of which leaves a line in the program's log and
// is counted: its id, type, outcome, code and how long it took. What it said, and
// who said it, stands in the floor's log, and only there.
type noted struct {
	door.Floor
	log zerolog.Logger
	m   *meters
}

func (n noted) Ask(ctx context.Context, c workflow.Command) door.Answer {
	begun := time.Now()
	a := n.Floor.Ask(ctx, c)
	took := time.Since(begun)
	kind, outcome, code := c.Type, string(a.Outcome), ""
	if !workflow.Knows(kind) {
		kind = "unknown" // whatever somebody wrote there
	}
	if a.Refusal != nil {
		code = string(a.Refusal.Code)
		n.m.refusals.WithLabelValues(code).Inc()
	}
	if outcome == "" {
		outcome = unanswered
	}
	n.m.commands.WithLabelValues(kind, outcome).Inc()
	n.m.took.WithLabelValues(outcome).Observe(took.Seconds())
	n.line(outcome).Str("command", c.ID).Str("type", kind).Str("outcome", outcome).Str("code", code).Dur("ms", took).Msg("command")
	return a
}

// line chooses how loud: what goes well is for those who look for it.
func (n noted) line(outcome string) *zerolog.Event {
	switch outcome {
	case string(workflow.Kept), string(workflow.Already):
		return n.log.Debug()
	case unanswered:
		return n.log.Warn()
	}
	return n.log.Info()
}

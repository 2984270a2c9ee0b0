package main

import (
	"errors"
	"net"
	"net/http"
	"net/http/pprof"
	"time"
)

// profiling answers on a listener of its own, of this machine alone, and only
// when it was asked for: profiles show what runs, and slow it down.
type profiling struct {
	srv    *http.Server
	at     net.Addr
	served chan error
}

// profile opens the listener; no address gives nil.
func profile(address string) (*profiling, error) {
	if address == "" {
		return nil, nil
	}
	l, err := listenHere("--pprof", address)
	if err != nil {
		return nil, err
	}
	mux := http.NewServeMux()
	mux.HandleFunc("GET /debug/pprof/", pprof.Index)
	mux.HandleFunc("GET /debug/pprof/cmdline", pprof.Cmdline)
	mux.HandleFunc("GET /debug/pprof/profile", pprof.Profile)
	mux.HandleFunc("GET /debug/pprof/symbol", pprof.Symbol)
	mux.HandleFunc("GET /debug/pprof/trace", pprof.Trace)
	// A profile takes as long as it was asked to: only what comes in is bounded.
	p := &profiling{&http.Server{Handler: mux, ReadHeaderTimeout: 5 * time.Second, ReadTimeout: 10 * time.Second, MaxHeaderBytes: 8 << 10}, l.Addr(), make(chan error, 1)}
	go func() { p.served <- p.srv.Serve(l) }()
	return p, nil
}

// Close ends it, profiles that are being taken included.
func (p *profiling) Close() error {
	if p == nil {
		return nil
	}
	err := p.srv.Close()
	if served := <-p.served; !errors.Is(served, http.ErrServerClosed) {
		err = errors.Join(err, served)
	}
	return err
}

package main

import (
	"crypto/tls"
	"crypto/x509"
	"fmt"
	"os"

	"packwright/prep"
)

// certified names the certificate that the doors show.
type certified struct {
	Cert string `name:"tls-cert" env:"PACKWRIGHT_TLS_CERT" type:"path" placeholder:"FILE" help:"Certificate, PEM, with those that vouch for it: both doors speak TLS then."`
	Key  string `name:"tls-key" env:"PACKWRIGHT_TLS_KEY" type:"path" placeholder:"FILE" help:"Its private key, PEM."`
}

// config reads the certificate; nil without one. Errors: *prep.InputError.
func (c certified) config() (*tls.Config, error) {
	if c.Cert == "" && c.Key == "" {
		return nil, nil
	}
	if c.Cert == "" || c.Key == "" {
		return nil, prep.Input("a certificate and its key go together", "give --tls-cert and --tls-key")
	}
	pair, err := tls.LoadX509KeyPair(c.Cert, c.Key)
	if err != nil {
		return nil, &prep.InputError{File: c.Cert, What: "the certificate cannot be used: " + err.Error(), Do: "give PEM files that belong together"}
	}
	return &tls.Config{Certificates: []tls.Certificate{pair}, MinVersion: tls.VersionTLS12}, nil
}

// trusting gives what a client believes: a certificate authority of the house's
// own, in PEM, beside those of the machine; nil without one.
func trusting(file string) (*tls.Config, error) {
	if file == "" {
		return nil, nil
	}
	pem, err := os.ReadFile(file)
	if err != nil {
		return nil, fmt.Errorf("read --ca: %w", err)
	}
	pool, err := x509.SystemCertPool()
	if err != nil {
		pool = x509.NewCertPool()
	}
	if !pool.AppendCertsFromPEM(pem) {
		return nil, &prep.InputError{File: file, What: "no certificate is in it", Do: "give PEM"}
	}
	return &tls.Config{RootCAs: pool, MinVersion: tls.VersionTLS12}, nil
}

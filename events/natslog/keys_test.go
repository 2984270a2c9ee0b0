package natslog

import (
	"crypto/ecdsa"
	"crypto/elliptic"
	"crypto/rand"
	"crypto/tls"
	"crypto/x509"
	"crypto/x509/pkix"
	"errors"
	"math/big"
	"net"
	"strings"
	"testing"
	"time"

	"github.com/nats-io/nats.go"
	"github.com/nats-io/nkeys"
)

// benchKey makes a bench's key: its public half, and the option that proves it.
func benchKey(t *testing.T) (public string, login nats.Option) {
	t.Helper()
	pair, err := nkeys.CreateUser()
	if err != nil {
		t.Fatal(err)
	}
	public, err = pair.PublicKey()
	if err != nil {
		t.Fatal(err)
	}
	return public, nats.Nkey(public, pair.Sign)
}

// certificate makes one for 127.0.0.1 and the pool that trusts it.
func certificate(t *testing.T) (*tls.Config, *x509.CertPool) {
	t.Helper()
	key, err := ecdsa.GenerateKey(elliptic.P256(), rand.Reader)
	if err != nil {
		t.Fatal(err)
	}
	about := &x509.Certificate{SerialNumber: big.NewInt(1), Subject: pkix.Name{CommonName: "floor"}, NotAfter: time.Now().Add(time.Hour),
		IPAddresses: []net.IP{net.IPv4(127, 0, 0, 1)}, IsCA: true, BasicConstraintsValid: true, KeyUsage: x509.KeyUsageCertSign | x509.KeyUsageDigitalSignature}
	der, err := x509.CreateCertificate(rand.Reader, about, about, &key.PublicKey, key)
	if err != nil {
		t.Fatal(err)
	}
	leaf, err := x509.ParseCertificate(der)
	if err != nil {
		t.Fatal(err)
	}
	pool := x509.NewCertPool()
	pool.AddCert(leaf)
	return &tls.Config{Certificates: []tls.Certificate{{Certificate: [][]byte{der}, PrivateKey: key}}, MinVersion: tls.VersionTLS12}, pool
}

// TestBenchesWithKeys: over TLS, each bench asks on its own lane and hears its
// own answers, and can do nothing else.
func TestBenchesWithKeys(t *testing.T) {
	one, loginOne := benchKey(t)
	two, loginTwo := benchKey(t)
	_, stranger := benchKey(t)
	server, pool := certificate(t)
	cfg := testConfig(t.TempDir())
	cfg.Listen, cfg.TLS, cfg.Keys = "127.0.0.1:0", server, map[string]string{"ST-1": one, "ST-2": two}
	l := open(t, cfg)
	fill(t, l, 2)
	if _, err := l.Conn().Subscribe("floor.f.do.*", func(m *nats.Msg) { _ = m.Respond([]byte(m.Subject)) }); err != nil {
		t.Fatal(err)
	}
	address := l.BenchURL()[strings.LastIndex(l.BenchURL(), "@")+1:]
	dial := func(login nats.Option, station string, denied chan error) (*nats.Conn, error) {
		return nats.Connect("tls://"+address, login, nats.Secure(&tls.Config{RootCAs: pool}), nats.CustomInboxPrefix(InboxOf(station)),
			nats.ErrorHandler(func(_ *nats.Conn, _ *nats.Subscription, err error) { denied <- err }))
	}
	denied := make(chan error, 10)
	bench, err := dial(loginOne, "ST-1", denied)
	if err != nil {
		t.Fatal(err)
	}
	defer bench.Close()
	other, err := dial(loginTwo, "ST-2", make(chan error, 10))
	if err != nil {
		t.Fatal(err)
	}
	defer other.Close()
	for station, c := range map[string]*nats.Conn{"ST-1": bench, "ST-2": other} {
		if m, err := c.Request("floor.f.do."+station, []byte("{}"), 5*time.Second); err != nil || string(m.Data) != "floor.f.do."+station {
			t.Fatalf("%s: %v %v", station, m, err)
		}
	}
	for what, try := range map[string]func() error{
		"another's lane":    func() error { return bench.Publish("floor.f.do.ST-2", []byte("{}")) },
		"the board's lane":  func() error { return bench.Publish("floor.f.do.BOARD", []byte("{}")) },
		"a frame":           func() error { return bench.Publish("floor.f.frame", []byte("forged")) },
		"the stream's end":  func() error { return bench.Publish("$JS.API.STREAM.DELETE.floor-f", nil) },
		"the stream's form": func() error { return bench.Publish("$JS.API.STREAM.UPDATE.floor-f", nil) },
		"a frame read":      func() error { return bench.Publish("$JS.API.DIRECT.GET.floor-f", []byte(`{"seq":1}`)) },
		"another's answers": func() error { _, err := bench.SubscribeSync(InboxOf("ST-2") + ".>"); return err },
		"all answers":       func() error { _, err := bench.SubscribeSync("_INBOX.>"); return err },
		"events":            func() error { _, err := bench.SubscribeSync("floor.f.event.>"); return err },
	} {
		if err := errors.Join(try(), bench.Flush()); err != nil {
			t.Fatal(err)
		}
		select {
		case err := <-denied:
			if !errors.Is(err, nats.ErrPermissionViolation) {
				t.Fatalf("%s: %v", what, err)
			}
		case <-time.After(5 * time.Second):
			t.Fatalf("%s: not denied", what)
		}
	}
	if c, err := dial(stranger, "ST-1", make(chan error, 1)); err == nil {
		c.Close()
		t.Fatal("a stranger's key connected")
	}
	if c, err := nats.Connect("nats://"+address, loginOne); err == nil {
		c.Close()
		t.Fatal("connected without trusting the certificate")
	}
	wantFrames(t, l, 2)
}

// TestOpenToOthersOnlyWhenSafe: an address that others reach needs a certificate
// and keys, and has no shared password.
func TestOpenToOthersOnlyWhenSafe(t *testing.T) {
	key, _ := benchKey(t)
	server, _ := certificate(t)
	keys := map[string]string{"ST-1": key}
	for _, x := range []struct {
		cfg  Config
		want string
	}{
		{Config{Listen: "0.0.0.0:0"}, "certificate"},
		{Config{Listen: "0.0.0.0:0", Keys: keys}, "certificate"},
		{Config{Listen: "0.0.0.0:0", TLS: server}, "no bench has a key"},
		{Config{Listen: "127.0.0.1:0", Keys: map[string]string{"ST-1": "guess"}}, "no user's public key"},
		{Config{Listen: "127.0.0.1:0", Keys: map[string]string{"ST.>": key}}, "no user's public key"},
		{Config{Keys: keys}, "listening address"},
	} {
		x.cfg.Floor, x.cfg.Dir = "f", t.TempDir()
		if _, err := Open(t.Context(), x.cfg); err == nil || !strings.Contains(err.Error(), x.want) {
			t.Errorf("%+v: %v, want %q", x.cfg.Listen, err, x.want)
		}
	}
	cfg := testConfig(t.TempDir())
	cfg.Listen, cfg.TLS, cfg.Keys = "0.0.0.0:0", server, keys
	if l := open(t, cfg); strings.Contains(l.BenchURL(), "@") {
		t.Errorf("an open bus has a shared password: %s", l.BenchURL())
	}
}

package main

import (
	"context"
	"crypto/ecdsa"
	"crypto/elliptic"
	"crypto/rand"
	"crypto/x509"
	"crypto/x509/pkix"
	"encoding/json"
	"encoding/pem"
	"fmt"
	"math/big"
	"net"
	"net/url"
	"os"
	"os/exec"
	"strconv"
	"strings"
	"time"

	"github.com/rogpeppe/go-internal/testscript"

	"packwright/cmd/packwright/door"
)

// exits CODE COMMAND … runs a command of the script and wants that exit code.
func exits(ts *testscript.TestScript, neg bool, args []string) {
	if neg || len(args) < 2 {
		ts.Fatalf("usage: exits CODE COMMAND [ARGS…]")
	}
	want, err := strconv.Atoi(args[0])
	ts.Check(err)
	err = ts.Exec(args[1], args[2:]...)
	got := 0
	if exit, ok := err.(*exec.ExitError); ok {
		got = exit.ExitCode()
	} else if err != nil {
		ts.Fatalf("%v", err)
	}
	if got != want {
		ts.Fatalf("exit code %d, want %d", got, want)
	}
}

// waitfor FILE waits until a file is there, for a hub in the background to be open.
func waitFor(ts *testscript.TestScript, neg bool, args []string) {
	if neg || len(args) != 1 {
		ts.Fatalf("usage: waitfor FILE")
	}
	ctx, cancel := context.WithTimeout(context.Background(), 20*time.Second)
	defer cancel()
	for ctx.Err() == nil {
		if len(readable(ts.MkAbs(args[0]))) > 0 {
			return
		}
		time.Sleep(20 * time.Millisecond)
	}
	ts.Fatalf("%s did not appear", args[0])
}

// certificate CERT KEY writes a certificate for this machine, which is its own
// authority.
func certificate(ts *testscript.TestScript, neg bool, args []string) {
	if neg || len(args) != 2 {
		ts.Fatalf("usage: certificate CERT KEY")
	}
	key, err := ecdsa.GenerateKey(elliptic.P256(), rand.Reader)
	ts.Check(err)
	about := &x509.Certificate{SerialNumber: big.NewInt(1), Subject: pkix.Name{CommonName: "floor"}, NotAfter: time.Now().Add(time.Hour),
		IPAddresses: []net.IP{net.IPv4(127, 0, 0, 1)}, IsCA: true, BasicConstraintsValid: true, KeyUsage: x509.KeyUsageCertSign | x509.KeyUsageDigitalSignature}
	der, err := x509.CreateCertificate(rand.Reader, about, about, &key.PublicKey, key)
	ts.Check(err)
	private, err := x509.MarshalPKCS8PrivateKey(key)
	ts.Check(err)
	ts.Check(os.WriteFile(ts.MkAbs(args[0]), pem.EncodeToMemory(&pem.Block{Type: "CERTIFICATE", Bytes: der}), 0o600))
	ts.Check(os.WriteFile(ts.MkAbs(args[1]), pem.EncodeToMemory(&pem.Block{Type: "PRIVATE KEY", Bytes: private}), 0o600))
}

// lanes BENCH.URL writes lane.url: the same port, at the address of this machine
// that the certificate is for.
func lanes(ts *testscript.TestScript, neg bool, args []string) {
	if neg || len(args) != 1 {
		ts.Fatalf("usage: lanes BENCH.URL")
	}
	u, err := url.Parse(strings.TrimSpace(ts.ReadFile(args[0])))
	ts.Check(err)
	u.Host = net.JoinHostPort("127.0.0.1", u.Port())
	ts.Check(os.WriteFile(ts.MkAbs("lane.url"), []byte(u.String()), 0o600))
}

// readable gives a file's bytes, none while it is not there.
func readable(name string) []byte {
	b, err := os.ReadFile(name)
	if err != nil {
		return nil
	}
	return b
}

// damage FROM TO AT|cut writes a copy of a file with one bit changed at a byte,
// or without its last half.
func damage(ts *testscript.TestScript, neg bool, args []string) {
	if neg || len(args) != 3 {
		ts.Fatalf("usage: damage FROM TO AT|cut")
	}
	b := []byte(ts.ReadFile(args[0]))
	if args[2] == "cut" {
		b = b[:len(b)/2]
	} else {
		at, err := strconv.Atoi(args[2])
		ts.Check(err)
		b[at] ^= 0x10
	}
	ts.Check(os.WriteFile(ts.MkAbs(args[1]), b, 0o600))
}

// heads FILE NAME sets the variable NAME, in capitals, to FRAME:ROOT of the last answer in a file.
func heads(ts *testscript.TestScript, neg bool, args []string) {
	if neg || len(args) != 2 {
		ts.Fatalf("usage: heads FILE NAME")
	}
	lines := strings.Split(strings.TrimSpace(ts.ReadFile(args[0])), "\n")
	var a door.Answer
	ts.Check(json.Unmarshal([]byte(lines[len(lines)-1]), &a))
	ts.Setenv(strings.ToUpper(args[1]), fmt.Sprintf("%d:%s", a.Frame, a.Root))
}

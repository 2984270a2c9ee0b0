package events

import (
	"encoding/base64"
	"errors"
	"fmt"
	"strconv"
	"strings"

	"golang.org/x/mod/sumdb/note"
	"golang.org/x/mod/sumdb/tlog"
)

// HeadSigned keeps a head of the log under the floor's key: its Size events gave
// Root after frame Frame. It is written some frames later, at most [HeadReach].
// The five fields hold all that the signed note says ([HeadSigned.Note]), so
// that the note can be shown, and checked, without this program.
type HeadSigned struct {
	Log       string    `json:"log"` // LogName of the floor; also the key's name
	Frame     uint64    `json:"frame"`
	Size      int64     `json:"size"`
	Root      tlog.Hash `json:"root"`
	Signature string    `json:"signature"` // base64, as on the note's last line
}

// DayClosed ends a day of the floor. What was still open then is named.
type DayClosed struct {
	Day     string   `json:"day"` // 2031-03-04, by the floor's clock
	Matters []string `json:"open_mismatches,omitempty"`
	Runs    []string `json:"open_runs,omitempty"`
	Cartons []string `json:"open_cartons,omitempty"` // opened, and neither sealed nor gone
	Loads   []string `json:"open_loads,omitempty"`
}

// HeadReach is how many frames may stand between a head and the frame in which
// it is kept. A reader remembers so many roots, and can judge every head.
const HeadReach = 1024

// LogName names a floor's log on its signed heads: the note's first line.
func LogName(floor string) string { return "packwright/" + floor }

// HeadText is what is signed: the log's name, the size, the root in base64, each
// on a line of its own. It has the layout of a checkpoint of transparency logs
// (c2sp.org/tlog-checkpoint), so that the tools of others can read it.
func HeadText(log string, size int64, root tlog.Hash) string {
	return fmt.Sprintf("%s\n%d\n%s\n", log, size, root)
}

// ErrUnsigned: a head or a seal is not signed with the floor's key.
var ErrUnsigned = errors.New("not signed with the floor's key")

// Note gives the signed note as text: the head, an empty line, the signature.
func (d *HeadSigned) Note() string {
	return HeadText(d.Log, d.Size, d.Root) + "\n\u2014 " + d.Log + " " + d.Signature + "\n"
}

// Verify checks the signature with the public half of the floor's key, written
// as golang.org/x/mod/sumdb/note does: name+hash+key. Errors wrap ErrUnsigned.
func (d *HeadSigned) Verify(key string) error {
	_, err := OpenNote(d.Note(), key)
	return err
}

// OpenNote gives the text of a note that is signed with a key. Errors wrap ErrUnsigned.
func OpenNote(signed, key string) (string, error) {
	v, err := note.NewVerifier(key)
	if err != nil {
		return "", fmt.Errorf("%w: %q is no public key: %v", ErrUnsigned, key, err)
	}
	n, err := note.Open([]byte(signed), note.VerifierList(v))
	if err != nil {
		return "", fmt.Errorf("%w: %v", ErrUnsigned, err)
	}
	return n.Text, nil
}

// ParseHead takes a signed head apart, after checking it with a key. Frame is
// not on the note and stays 0. Errors wrap ErrUnsigned.
func ParseHead(signed, key string) (HeadSigned, error) {
	var d HeadSigned
	text, err := OpenNote(signed, key)
	if err != nil {
		return d, err
	}
	f := strings.Split(text, "\n")
	if len(f) != 4 || f[3] != "" {
		return d, fmt.Errorf("%w: the note is no head of a log", ErrUnsigned)
	}
	d.Log = f[0]
	d.Size, err = strconv.ParseInt(f[1], 10, 64)
	if err == nil {
		d.Root, err = tlog.ParseHash(f[2])
	}
	if err != nil || d.Size < 0 || HeadText(d.Log, d.Size, d.Root) != text {
		return d, fmt.Errorf("%w: the note is no head of a log", ErrUnsigned)
	}
	last := strings.LastIndexByte(strings.TrimSuffix(signed, "\n"), ' ')
	d.Signature = strings.TrimSuffix(signed[last+1:], "\n")
	return d, nil
}

// SignHead makes the head after a frame, signed. The signer's name must be LogName
// of the floor: the key of one floor signs no other's log.
func SignHead(s note.Signer, frame uint64, size int64, root tlog.Hash) (HeadSigned, error) {
	d := HeadSigned{Log: s.Name(), Frame: frame, Size: size, Root: root}
	signature, err := s.Sign([]byte(HeadText(d.Log, size, root)))
	if err != nil {
		return d, fmt.Errorf("sign the head of %s: %w", d.Log, err)
	}
	h := s.KeyHash()
	d.Signature = base64.StdEncoding.EncodeToString(append([]byte{byte(h >> 24), byte(h >> 16), byte(h >> 8), byte(h)}, signature...))
	return d, nil
}

// KeyName gives the name in a public key. Errors wrap ErrUnsigned.
func KeyName(key string) (string, error) {
	v, err := note.NewVerifier(key)
	if err != nil {
		return "", fmt.Errorf("%w: %q is no public key: %v", ErrUnsigned, key, err)
	}
	return v.Name(), nil
}

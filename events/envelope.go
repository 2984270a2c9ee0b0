package events

import (
	"bytes"
	"sync/atomic"

	json "github.com/goccy/go-json"
)

// scanner reads an envelope exactly as Encode writes it: the keys in its order,
// each at most once, plain text, no spaces. It knows no JSON beyond that; of any
// other line it says so, and the general decoder reads it.
type scanner struct {
	rest []byte
	odd  bool // not as Encode writes it
}

// scanEnvelope reads a line as Encode writes it, or says false. The body is the
// rest of the line, not looked into.
func scanEnvelope(line []byte) (w wire, ok bool) {
	s := scanner{rest: line}
	if !s.has(`{"type":"`) {
		return w, false
	}
	w.Type = Type(intern(s.plain()))
	w.V = s.number(`,"v":`)
	w.Cause = string(s.text(`,"cause":"`))
	w.Sum = string(s.text(`,"sum":"`))
	w.At = s.moment(`,"at":"`)
	w.Recorded = s.moment(`,"recorded":"`)
	w.Basis = Basis(intern(s.text(`,"basis":"`)))
	w.Station = intern(s.text(`,"station":"`))
	w.Badge = intern(s.text(`,"badge":"`))
	w.Mismatch = intern(s.text(`,"mismatch":"`))
	w.Claim = intern(s.text(`,"claim":"`))
	w.PlanRev = s.number(`,"plan_rev":`)
	w.RulesRev = s.number(`,"rules_rev":`)
	n := len(s.rest) - 1
	if s.odd || !s.has(`,"data":{`) || line[len(line)-1] != '}' {
		return w, false
	}
	w.Data = line[len(line)-n+len(`,"data":`)-1 : len(line)-1]
	return w, len(w.Data) > 1
}

// scanBody reads the commonest body as Encode writes it, and any other in the
// general way.
func scanBody(body []byte, into Data) error {
	if d, ok := into.(*UnitPlaced); ok && d.scan(body) {
		return nil
	}
	return json.Unmarshal(body, into)
}

// scan reads a body as Encode writes it, or says false and leaves d empty.
func (d *UnitPlaced) scan(body []byte) bool {
	s := scanner{rest: body}
	if !s.has(`{"carton":"`) {
		return false
	}
	p := UnitPlaced{Carton: intern(s.plain()), Item: intern(s.text(`,"item":"`)), Lot: intern(s.text(`,"lot":"`)), Run: intern(s.text(`,"run":"`)),
		From: intern(s.text(`,"from":"`)), Q: s.number(`,"q":`)}
	if s.has(`,"marks":[`) {
		i := bytes.IndexByte(s.rest, ']') + 1
		list := body[len(body)-len(s.rest)-1 : len(body)-len(s.rest)+i] // with its bracket
		s.odd = s.odd || i == 0 || p.Marks.UnmarshalJSON(list) != nil
		s.rest = s.rest[i:]
	}
	if s.odd || string(s.rest) != "}" {
		return false // with makers' serials, poured, or otherwise
	}
	*d = p
	return true
}

// has takes lit off the rest, if it begins so.
func (s *scanner) has(lit string) bool {
	if len(s.rest) < len(lit) || string(s.rest[:len(lit)]) != lit {
		return false
	}
	s.rest = s.rest[len(lit):]
	return true
}

// text reads the value of a key that may be left out.
func (s *scanner) text(key string) []byte {
	if !s.has(key) {
		return nil
	}
	return s.plain()
}

// plain reads printable ASCII without escapes, up to its quote.
func (s *scanner) plain() []byte {
	n := bytes.IndexByte(s.rest, '"')
	if n < 0 {
		s.odd = true
		return nil
	}
	t := s.rest[:n]
	for _, c := range t {
		s.odd = s.odd || c < 0x20 || c >= 0x7f || c == '\\'
	}
	s.rest = s.rest[n+1:]
	return t
}

// moment reads a moment as AppendText writes it in UTC.
func (s *scanner) moment(key string) Time {
	t := s.text(key)
	if t == nil {
		return Time{}
	}
	m, ok := fastTime(t)
	s.odd = s.odd || !ok
	return m
}

// number reads 1 to 999 999 999 without leading zeros.
func (s *scanner) number(key string) (n int) {
	if !s.has(key) {
		return 0
	}
	i := 0
	for ; i < len(s.rest) && i < 10 && '0' <= s.rest[i] && s.rest[i] <= '9'; i++ {
		n = n*10 + int(s.rest[i]-'0')
	}
	s.odd = s.odd || i == 0 || i == 10 || s.rest[0] == '0'
	s.rest = s.rest[i:]
	return n
}

// known holds short texts that come again and again in a log: names of types,
// stations, badges. A place is overwritten by whatever text falls on it next,
// so that it stays small whatever it is shown.
var known [1024]atomic.Pointer[string]

// intern gives t as a string, without a new one when it was seen lately.
func intern(t []byte) string {
	if len(t) == 0 || len(t) > 32 {
		return string(t)
	}
	h := uint32(2166136261) // FNV-1a
	for _, c := range t {
		h = (h ^ uint32(c)) * 16777619
	}
	at := &known[(h^h>>16)%uint32(len(known))]
	if p := at.Load(); p != nil && *p == string(t) {
		return *p
	}
	s := string(t)
	at.Store(&s)
	return s
}

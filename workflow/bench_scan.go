package workflow

import (
	"fmt"
	"time"

	json "github.com/goccy/go-json"

	"packwright/events"
	"packwright/prep"
)

// Bench turns the scans of one bench into commands and sentences. It is pure:
// the floor is read and never changed, times are given.
//
//	scan → Bench.Scan(floor, raw, at) → a sentence, or a command to give
//	answer to the command → Bench.Answer(floor, …) → a sentence, or what follows
//
// The class of a code must fit the moment; what does not fit is said, and
// nothing is guessed. What a hand began in two scans (SPOILED, then the cause)
// is a want: it waits for its second scan, and CANCEL forgets it.
//
// From FINISH CARTON until the count is in, no sentence tells what was planned
// or scanned.
type Bench struct {
	Station string
	Epoch   string
	N       uint64 // of the last command
	Scale   string // beside this bench; empty: the only one there is

	Hand   Hand   // what the next unit is for
	Carton string // the carton in hand
	Load   string
	Tote   string // where class pieces come from
	Matter string // the mismatch that is worked on

	// Away: what is scanned now was done while the hub was out of reach.
	Away bool `json:"-"`
	// Since the scan before, by the bench's own clock, when that is known: what the
	// way to the hub took does not make two pieces one. 0: by the moments given.
	Since time.Duration `json:"-"`
	// Proves: a badge's scan alone signs nobody in, but that of Proved.
	Proves bool   `json:"-"`
	Proved string `json:"-"`

	begun
}

// Hand says what is in a bench's hands.
type Hand string

// What a bench may have in hand.
const (
	HandFree   Hand = ""
	HandRun    Hand = "run"
	HandCarton Hand = "carton"
	HandCount  Hand = "count" // a finished carton, until it is sealed
	HandLoad   Hand = "load"
)

// Said is what a bench shows: an outcome and two lines of at most twelve words,
// or first a command that is to be given to the floor.
type Said struct {
	Outcome Outcome  `json:"outcome,omitempty"` // empty: only a prompt
	Code    Code     `json:"code,omitempty"`
	Text    string   `json:"text,omitempty"`
	Next    string   `json:"next,omitempty"`
	Badge   string   `json:"badge,omitempty"` // whose PIN is asked for
	Command *Command `json:"-"`
}

// String gives both lines.
func (s Said) String() string {
	if s.Next == "" {
		return s.Text
	}
	return s.Text + " | " + s.Next
}

// tapAgain is how long a second scan of another carton means a switch.
const tapAgain = 10 * time.Second

// Scan takes what the reader typed.
func (b *Bench) Scan(f *Floor, raw string, at events.Time) Said {
	return b.Veil(f, b.scan(f, raw, at))
}

func (b *Bench) scan(f *Floor, raw string, at events.Time) Said {
	s, typed := b.typed(raw)
	if !typed {
		s, typed = b.valued(f, raw)
	}
	if !typed {
		var err error
		if s, err = ParseScan(raw, f); err != nil {
			return unread(err)
		}
	}
	since := at.Sub(b.LastAt)
	if b.Since != 0 {
		since, b.Since = b.Since, 0
	}
	if since < 0 || since > tapAgain { // below 0: the clock was set back
		b.Tapped = ""
	}
	twice := b.same(s) && since >= 0 && since < time.Duration(f.policy.SameScanMS)*time.Millisecond
	b.Last, b.LastAt = seen{s.Raw, s.Class}, at
	if twice {
		return Said{Outcome: Already, Text: "The same code twice in a moment: one.", Next: "Several alike: scan one, then a number card."}
	}
	return b.take(f, s)
}

// take finds who takes a scan: what is waited for, or its class.
func (b *Bench) take(f *Floor, s Scan) Said {
	if s.Class == ScanTest {
		return tested(s)
	}
	if s.Class == ScanCard && s.Code == "CANCEL" {
		return b.cancel()
	}
	alike := b.Alike
	b.Alike = nil
	if s.Class == ScanNumber && alike != nil {
		return b.more(alike, s.N)
	}
	if w := b.Want; w != nil {
		b.Want = nil
		said, fits := takers[w.Do](b, f, w.then, s)
		if !fits {
			b.Want = w
			return no("That does not fit now.", w.Text)
		}
		return said
	}
	return readers[s.Class](b, f, s)
}

// readers take a scan by its class.
var readers map[Class]func(*Bench, *Floor, Scan) Said

func init() {
	readers = map[Class]func(*Bench, *Floor, Scan) Said{
		ScanTote: (*Bench).tote, ScanAside: (*Bench).tote, ScanLot: (*Bench).lot, ScanRun: (*Bench).run, ScanCarton: (*Bench).carton,
		ScanStation: (*Bench).here, ScanLoad: (*Bench).load, ScanMatter: (*Bench).matter, ScanBadge: (*Bench).badge,
		ScanMark: (*Bench).unit, ScanItem: (*Bench).unit, ScanMaterial: (*Bench).material, ScanSeal: (*Bench).seal,
		ScanWeight: (*Bench).weight, ScanCard: (*Bench).card, ScanDigit: (*Bench).digit, ScanNumber: (*Bench).numeral,
	}
}

// typed takes a bare number where one is being given.
func (b *Bench) typed(raw string) (Scan, bool) {
	if b.Hand != HandCount && b.Hand != HandRun && b.Want == nil || len(raw) == 0 || len(raw) > 3 {
		return Scan{}, false
	}
	n := 0
	for _, c := range raw {
		if c < '0' || c > '9' {
			return Scan{}, false
		}
		n = n*10 + int(c-'0')
	}
	return Scan{Raw: raw, Class: ScanDigit, Code: raw, N: n}, true
}

// same says whether a scan is of the code before it, and that names no single piece.
func (b *Bench) same(s Scan) bool {
	alone := s.Class == ScanMark || s.Class == ScanItem && s.Serial != "" || s.Class == ScanDigit && len(s.Code) > 1
	return s.Raw == b.Last.Raw && s.Class == b.Last.Class && !alone
}

// give numbers a command and remembers what follows when it is kept.
func (b *Bench) give(kind string, ask map[string]any, kept then) Said {
	body, err := json.Marshal(ask)
	if err != nil {
		panic(fmt.Sprintf("bench: a command without a JSON form: %v", err))
	}
	c := b.command(kind)
	c.Matter, c.Data = b.Matter, body
	b.Asked = &asked{c, kept}
	return Said{Command: c}
}

// command numbers a command.
func (b *Bench) command(kind string) *Command {
	b.N++
	return &Command{ID: fmt.Sprintf("%s/%s/%d", b.Station, b.Epoch, b.N), Type: kind, At: b.LastAt, Offline: b.Away}
}

// Answer takes the floor's answer to the command given last, and reads the
// floor as it is after it.
func (b *Bench) Answer(f *Floor, outcome Outcome, r *Refusal) Said {
	return b.Veil(f, b.answer(f, outcome, r))
}

func (b *Bench) answer(f *Floor, outcome Outcome, r *Refusal) Said {
	a := b.Asked
	if a == nil {
		return Said{}
	}
	b.Asked = nil
	if r != nil {
		if instead := refusedWith[a.Then.Do][r.Code]; instead != nil {
			return instead(b, f, a.Then)
		}
	}
	var said Said
	if outcome == Kept || outcome == Already || outcome == Call {
		said = followers[a.Then.Do](b, f, a.Then)
	}
	if r != nil && outcome != Kept {
		if said.Command != nil { // what would have followed waits for the person called
			said.Command, b.Asked = nil, nil
			b.N--
		}
		said.Code, said.Text, said.Next = r.Code, r.Text, r.Next
	}
	if said.Command == nil && (said.Outcome == "" || outcome != Kept) {
		said.Outcome = outcome
	}
	return said
}

// Pending gives the command that has no answer yet, to be sent again with its
// number, or nil.
func (b *Bench) Pending() *Command {
	if b.Asked == nil {
		return nil
	}
	return b.Asked.Command
}

func no(text, next string) Said { return Said{Outcome: No, Text: text, Next: next} }

func prompt(text, next string) Said { return Said{Text: text, Next: next} }

// unread is what a scan that cannot be read is answered with.
func unread(err error) Said {
	if in, ok := err.(*prep.InputError); ok {
		return no(sentence(in.What), sentence(in.Do))
	}
	return no("That cannot be read.", "Scan again.")
}

func tested(s Scan) Said {
	if s.Finding != "" {
		return no(s.Finding, "Then scan the test card again.")
	}
	return Said{Outcome: Kept, Text: "The reader and the keyboard agree."}
}

func (b *Bench) cancel() Said {
	b.Want, b.Number, b.Boxed, b.Line, b.Lines = nil, "", "", "", nil
	if b.Hand != HandCount {
		b.Hand = HandFree
	}
	return prompt("Forgotten. Nothing was kept of it.", "Scan a tote, a carton or a piece.")
}

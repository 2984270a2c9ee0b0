package workflow

import (
	json "github.com/goccy/go-json"

	"packwright/events"
	"packwright/prep"
)

// begun is what a bench has begun and not ended. It is plain data, so that a
// bench outlives the process it runs in: written as JSON and read again, it goes
// on where it was, with the same command waiting for its answer.
type begun struct {
	Want   *want              `json:"want,omitempty"`
	Number string             `json:"number,omitempty"` // digits so far
	Tare   prep.Mass          `json:"tare,omitempty"`   // of the empty box on the scale
	SSCC   prep.SSCC          `json:"sscc,omitempty"`   // of the label on the carton in hand
	Boxed  string             `json:"boxed,omitempty"`  // the item code that was read from a box whose label comes next
	Lines  []events.CountLine `json:"lines,omitempty"`
	Line   string             `json:"line,omitempty"` // the item whose number comes next
	Last   seen               `json:"last,omitzero"`
	LastAt events.Time        `json:"last_at,omitzero"`
	Alike  map[string]any     `json:"alike,omitempty"`  // the placement that a number card would repeat
	Tapped string             `json:"tapped,omitempty"` // a carton scanned while another is in hand
	Asked  *asked             `json:"asked,omitempty"`
}

// seen is a scan as it is remembered: to know it again.
type seen struct {
	Raw   string `json:"raw"`
	Class Class  `json:"class"`
}

// want is the second scan that is waited for.
type want struct {
	then
	Text string `json:"want"` // what is waited for, in words
}

// asked is the command that is being judged, and what follows when it is kept.
type asked struct {
	Command *Command `json:"command"`
	Then    then     `json:"then"`
}

// then names what follows, and what it knows.
type then struct {
	Do       string         `json:"do"` // a name in the table that is looked up
	Run      string         `json:"run,omitempty"`
	Tote     string         `json:"tote,omitempty"`
	Lot      string         `json:"lot,omitempty"`
	Carton   string         `json:"carton,omitempty"`
	Material string         `json:"material,omitempty"`
	Mark     prep.Mark      `json:"mark,omitzero"`
	N        int            `json:"n,omitempty"`
	May      []string       `json:"may,omitempty"`
	Ask      map[string]any `json:"ask,omitempty"`
	Text     string         `json:"text,omitempty"` // the first line that is said
	To       string         `json:"to,omitempty"`   // the second, or a place
	Next     *then          `json:"next,omitempty"`
}

// wants waits for a second scan, and says for which.
func (b *Bench) wants(begun, text string, t then) Said {
	b.Want = &want{t, text}
	return prompt(begun, text)
}

// The tables of what follows.
var (
	takers      map[string]func(*Bench, *Floor, then, Scan) (Said, bool) // of the scan that was waited for; false: it does not fit
	numbers     map[string]func(*Bench, *Floor, then, int) Said          // of the number that was waited for
	reasons     map[string]func(*Bench, *Floor, then, string) Said       // of the cause
	choices     map[string]func(*Bench, *Floor, then, string) Said       // of one of several materials
	followers   map[string]func(*Bench, *Floor, then) Said               // of a command that was kept
	refusedWith map[string]map[Code]func(*Bench, *Floor, then) Said      // of one that was refused so
)

func init() {
	takers = map[string]func(*Bench, *Floor, then, Scan) (Said, bool){
		"torn": (*Bench).torn, "number": (*Bench).numbered, "hold": (*Bench).holds, "hand-over": (*Bench).handsOver,
		"cause": (*Bench).caused, "clear": (*Bench).cleared, "lead": (*Bench).leads, "which": (*Bench).chosen,
		"next-roll": (*Bench).nextRoll, "ready-into": (*Bench).readyInto, "range": (*Bench).ranged, "pour": (*Bench).pours,
		"take-out": (*Bench).takesOut, "load": (*Bench).loadsSealed, "arrive": (*Bench).arrives, "triage": (*Bench).judges,
	}
	numbers = map[string]func(*Bench, *Floor, then, int) Said{
		"stay": (*Bench).labelsLeft, "closes": (*Bench).closes, "receive": (*Bench).receives,
	}
	reasons = map[string]func(*Bench, *Floor, then, string) Said{"spoils": (*Bench).spoils, "divert": (*Bench).diverts}
	choices = map[string]func(*Bench, *Floor, then, string) Said{"draw": (*Bench).draw, "used-up": (*Bench).usedUp}
	followers = map[string]func(*Bench, *Floor, then) Said{
		"say": (*Bench).tells, "put-down": (*Bench).putDown, "set-aside": (*Bench).setAside, "handed-over": (*Bench).handedOver,
		"taken-back": (*Bench).takenBack, "signed-out": (*Bench).signedOut, "called": (*Bench).called, "greet": (*Bench).greet,
		"finished": (*Bench).finished, "proceed": (*Bench).proceed, "sealed": (*Bench).sealed, "opened-carton": (*Bench).openedCarton,
		"tally": (*Bench).placed, "taken-out": (*Bench).takenOut, "loaded": (*Bench).loaded, "opened-run": (*Bench).openedRun,
		"print": (*Bench).print, "drawn": (*Bench).drawn, "made": (*Bench).made, "judged": (*Bench).judged,
		"step": func(b *Bench, f *Floor, _ then) Said { return b.step(f) },
	}
	refusedWith = map[string]map[Code]func(*Bench, *Floor, then) Said{
		"opened-run": {"E-PRE-06": (*Bench).notCleared},
		"made":       {"E-INT-02": (*Bench).mixed},
	}
}

// CaughtUp gives the command with which a bench says that it has sent all that
// was done while it was away: so many, the oldest and the newest of them.
func (b *Bench) CaughtUp(n int, oldest, newest events.Time) *Command {
	body, err := json.Marshal(caughtUpAsk{n, oldest, newest})
	if err != nil {
		panic("bench: " + err.Error())
	}
	c := b.command("caught-up")
	c.Data, c.Offline = body, false
	return c
}

// Behind says whether the log holds a higher number of this bench's than it
// has given: then it was restored from an older copy, and must begin anew.
func (b *Bench) Behind(f *Floor) bool {
	s := f.Stations[b.Station]
	if s == nil || s.Epochs[b.Epoch] == nil {
		return false
	}
	kept := s.Epochs[b.Epoch].Kept
	return len(kept) > 0 && kept[len(kept)-1].To > b.N
}

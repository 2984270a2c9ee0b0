package audit

import (
	"fmt"
	"io"
	"slices"
	"strconv"
	"strings"

	"packwright/events"
	"packwright/prep"
)

// Breach is one event that a lawful floor could not have written.
type Breach struct {
	Law   string      `json:"law"`
	Place events.Seq  `json:"seq"`
	Type  events.Type `json:"type"`
	Text  string      `json:"text"`
}

func (b Breach) String() string {
	return fmt.Sprintf("%s %s breaks the law %q: %s", b.Place, b.Type, b.Law, b.Text)
}

// Law is one thing that must hold in every prefix of every log. Its check says
// what is wrong with an event, after all that went before it, or nothing.
type Law struct {
	Name  string `json:"law"`
	Says  string `json:"says"`
	check func(*Laws, *events.Event, *Fold) string
}

// LawBook is the list of laws.
func LawBook() []Law {
	return slices.Concat(logLaws, headLaws, restoredLaws, goodsLaws, cartonLaws, supplyLaws, claimLaws)
}

// Laws reads a log along with a fold and watches over the laws. It keeps its own
// small memory of what it has read and takes from the fold only the books (for
// conservation) and the masses (for expected weights), so that a mistake in the
// fold does not hide one in the log.
type Laws struct {
	book []Law

	recorded  events.Time
	frame     uint64
	ofFrame   map[string]bool   // causes in this frame
	kept      map[string]*epoch // station/epoch → command numbers of earlier frames
	marks     lawMarks
	owners    map[string]string // lot → owner
	items     map[string]string // lot → item
	runs      map[string]bool   // run → open
	cartons   map[string]*boxed
	matters   map[string]*inQuestion
	seals     map[string]string   // number → carton
	loads     map[string][]string // load → cartons on it
	closed    map[string]bool     // loads that have left
	hazards   map[string]bool     // holds for a hazard
	overrides map[string]bool
	supply    supplyMemory
	claims    map[string]string // claim → state
	founded   events.FloorFounded
	day       string // the last that was closed
	heads     stood
	eras      []string // that were begun
}

// boxed is a carton as the laws remember it. Those of a load that has left are one
// and the same: nothing of them is asked any more but that.
type boxed struct {
	left     bool // shared by all of its load
	owner    string
	plan     map[string]int // item → pieces planned
	tally    map[string]int // item → pieces by the scans
	marks    map[prep.Mark]bool
	cert     bool
	accepted events.Seq
	counted  int // total of the last count; -1: none since it was finished
	weighed  bool
	seal     string
	sent     string // load
	matters  []string
}

// inQuestion is a matter as the laws remember it.
type inQuestion struct {
	kinds   []events.Kind
	blocks  bool
	state   string
	fixed   events.Seq
	raised  events.Seq
	cartons []string
}

// NewLaws gives the laws before the first event.
func NewLaws() *Laws {
	return &Laws{book: LawBook(), ofFrame: map[string]bool{}, kept: map[string]*epoch{}, marks: newLawMarks(), owners: map[string]string{},
		items: map[string]string{}, runs: map[string]bool{}, cartons: map[string]*boxed{}, matters: map[string]*inQuestion{},
		seals: map[string]string{}, loads: map[string][]string{}, closed: map[string]bool{}, hazards: map[string]bool{}, overrides: map[string]bool{}, supply: newSupplyMemory(), claims: map[string]string{}}
}

// See judges the next event. Call it after f has applied the event; f may be
// nil, then the laws that need the books are left out.
func (l *Laws) See(e *events.Event, f *Fold) []Breach {
	var out []Breach
	if e.Seq.Frame != l.frame {
		l.frame = e.Seq.Frame
		clear(l.ofFrame)
	}
	for _, law := range l.book {
		if text := law.check(l, e, f); text != "" {
			out = append(out, Breach{law.Name, e.Seq, e.Type(), text})
		}
	}
	l.remember(e)
	return out
}

// logLaws are about the log itself.
var logLaws = []Law{
	{"recorded never goes back", "the writer's clock stands or goes on from one event to the next",
		func(l *Laws, e *events.Event, _ *Fold) string {
			if e.Recorded.Before(l.recorded) {
				return fmt.Sprintf("recorded %s after %s", e.Recorded, l.recorded)
			}
			return ""
		}},
	{"a command is kept once", "all events of one command stand in one frame",
		func(l *Laws, e *events.Event, _ *Fold) string {
			key, n, ok := splitCause(e.Cause)
			if !ok || l.ofFrame[e.Cause] {
				return ""
			}
			if ep := l.kept[key]; ep != nil && ep.has(n) {
				return fmt.Sprintf("command %s was kept in an earlier frame", e.Cause)
			}
			return ""
		}},
	{"leave is given only where it may be", "hazards, two owners, uncounted seals, used marks and seals and what has left can be overridden by nobody",
		func(l *Laws, e *events.Event, _ *Fold) string {
			d, ok := e.Data.(*events.OverrideGranted)
			if !ok {
				return ""
			}
			second, may := mayOverride[d.Gate]
			switch {
			case !may:
				return fmt.Sprintf("nobody may give leave for %q", d.Gate)
			case second && (d.Second == "" || d.Second == e.Badge):
				return fmt.Sprintf("leave for %q needs a second person", d.Gate)
			case l.overrides[d.Override]:
				return fmt.Sprintf("override %s was used before", d.Override)
			}
			return ""
		}},
}

// mayOverride lists the gates that leave may be given for; true: with a second
// person. Whatever is not here stays shut.
var mayOverride = map[string]bool{
	"bench-clear": false, "recipe-clearance": false, "label-balance": false, "third-counter": false, "mixed-lots": false, "short-life": false,
	"unprepped": false, "late-in-count": false, "delegation": false, "scale-fault": true, "substitute": true, "certify-by-weight": true,
}

// splitCause takes a command id apart: station/epoch and number.
func splitCause(cause string) (string, uint64, bool) {
	i := strings.LastIndexByte(cause, '/')
	if i < 0 {
		return "", 0, false
	}
	n, err := strconv.ParseUint(cause[i+1:], 10, 64)
	return cause[:i], n, err == nil
}

// has says whether a number was kept.
func (ep *epoch) has(n uint64) bool {
	for i := len(ep.Spans) - 1; i >= 0; i-- {
		if s := ep.Spans[i]; n >= s.From {
			return n <= s.To
		}
	}
	return false
}

// Verdict sums up a whole log.
type Verdict struct {
	Events   int64        `json:"events"`
	Frames   uint64       `json:"frames"`
	Root     string       `json:"root"`
	Cells    string       `json:"cells"`
	Laws     int          `json:"laws"`
	Breaches []Breach     `json:"breaches,omitempty"`
	Lots     []LotBalance `json:"lots"`
	Benches  []GapView    `json:"command_numbers,omitempty"`
	Floor    string       `json:"floor"`
	Last     events.Time  `json:"last_recorded,omitzero"`
	Key      string       `json:"key,omitempty"` // that the log was founded with
	Heads    int          `json:"signed_heads"`
	Signed   *HeadView    `json:"last_signed,omitempty"`
}

// OK says that nothing is wrong.
func (v Verdict) OK() bool {
	for _, b := range v.Lots {
		if !b.Balanced {
			return false
		}
	}
	return len(v.Breaches) == 0
}

// Text writes the verdict.
func (v Verdict) Text(w io.Writer) error {
	b := &strings.Builder{}
	word := "OK"
	if !v.OK() {
		word = "NOT LAWFUL"
	}
	balanced := 0
	for _, l := range v.Lots {
		if l.Balanced {
			balanced++
		}
	}
	fmt.Fprintf(b, "%s: %s, %d events in %d frames, head %s\n", word, v.Floor, v.Events, v.Frames, v.Root)
	fmt.Fprintf(b, "cells %s, equal to the decider's at every frame\n", v.Cells)
	fmt.Fprintf(b, "conservation: %d of %d lots balance; %d laws, %d breaches\n", balanced, len(v.Lots), v.Laws, len(v.Breaches))
	if v.Signed != nil {
		fmt.Fprintf(b, "%d signed heads, the last over %d events (frame %d), kept %s\n", v.Heads, v.Signed.Size, v.Signed.Frame, v.Signed.Kept)
		fmt.Fprintf(b, "key %s\n", v.Key)
	}
	for _, x := range v.Breaches {
		fmt.Fprintf(b, "  %s\n", x)
	}
	for _, g := range v.Benches {
		fmt.Fprintf(b, "  %s outbox %s: %d kept, %d numbers refused or never come, %d out of order\n", g.Station, g.Epoch, g.Kept, g.Lacks, g.Behind)
	}
	_, err := io.WriteString(w, b.String())
	return err
}

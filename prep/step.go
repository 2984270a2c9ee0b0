package prep

import "slices"

// Severity says how strongly a rule or a step binds.
type Severity uint8

// The severities, from the lightest to the heaviest. The heavier one wins.
const (
	Should Severity = iota + 1 // good practice; no gate asks for it
	Must                       // a gate stays shut without it
	Stop                       // no work at all
)

var severityWords = []string{"", "should", "must", "stop"}

func (s Severity) String() string { return wordAt(severityWords, int(s)) }

// MarshalText gives the word.
func (s Severity) MarshalText() ([]byte, error) { return []byte(s.String()), nil }

// UnmarshalText is the inverse of MarshalText.
func (s *Severity) UnmarshalText(b []byte) error { return readWord(s, b, severityWords, "severity") }

// Phase orders the steps of every recipe, whatever rules they come from.
type Phase uint8

// The phases, in working order.
const (
	PhaseLook Phase = iota + 1
	PhaseRemove
	PhaseClean
	PhaseDry
	PhaseProtect
	PhaseClose
	PhaseLabel
	PhaseVerify
)

var phaseWords = []string{"", "look", "remove", "clean", "dry", "protect", "close", "label", "verify"}

func (p Phase) String() string { return wordAt(phaseWords, int(p)) }

// CheckKind is what a gate wants to see before it takes a step as done.
type CheckKind string

// The kinds of check.
const (
	CheckNone  CheckKind = ""      // nothing is asked; only a step that no rule makes a must
	CheckDone  CheckKind = "done"  // said by the packer
	CheckValue CheckKind = "value" // a reading: a date, a count, a length
	CheckTimer CheckKind = "timer" // a time that has to pass, Step.Seconds
	CheckScan  CheckKind = "scan"  // a code read from the finished unit
	CheckLook  CheckKind = "look"  // looked at by a second person
)

var checkWords = []string{"done", "value", "timer", "scan", "look"}

// StepWord is a step as the rulebook defines it, once, for all rules that ask for it.
type StepWord struct {
	ID      string    `json:"step"` // stable word, such as wrap-all-faces
	Phase   Phase     `json:"phase"`
	Say     string    `json:"say"` // at most MaxStepWords words, for the bench
	Check   CheckKind `json:"check,omitempty"`
	Means   Means     `json:"means,omitempty"` // what the step works with; a prohibition of it removes the step
	Seconds int       `json:"seconds,omitempty"`
	Each    bool      `json:"each,omitempty"`   // checked on each unit, not once a run
	OneIn   int       `json:"one_in,omitempty"` // checked on one unit in so many
}

// MaxStepWords is the most words that fit a bench card at arm's length.
const MaxStepWords = 12

// Step is one line of a recipe.
type Step struct {
	ID       string    `json:"step"`
	Phase    Phase     `json:"phase"`
	Text     string    `json:"text"`
	Severity Severity  `json:"severity"`
	Check    CheckKind `json:"check,omitempty"`
	Means    Means     `json:"means,omitempty"`
	Seconds  int       `json:"seconds,omitempty"`
	Each     bool      `json:"each,omitempty"`
	OneIn    int       `json:"one_in,omitempty"`
	Rule     string    `json:"rule"` // the rule that asks the most for it, the first of equals
}

// Signal is a signal word of ANSI Z535.4: DANGER, will result in death or
// serious injury; WARNING, could; CAUTION, could result in minor or moderate
// injury; NOTICE, no injury but harm to goods. The most severe word decides
// when several apply.
type Signal uint8

// The signal words, from the lightest to the heaviest.
const (
	SignalNotice Signal = iota + 1
	SignalCaution
	SignalWarning
	SignalDanger
)

var signalWords = []string{"", "NOTICE", "CAUTION", "WARNING", "DANGER"}

func (s Signal) String() string { return wordAt(signalWords, int(s)) }

// MarshalText gives the word in capitals.
func (s Signal) MarshalText() ([]byte, error) { return []byte(s.String()), nil }

// UnmarshalText is the inverse of MarshalText.
func (s *Signal) UnmarshalText(b []byte) error { return readWord(s, b, signalWords, "signal word") }

// CautionWord is a caution as the rulebook defines it.
type CautionWord struct {
	ID     string `json:"caution"`
	Signal Signal `json:"signal"`
	About  string `json:"about"`           // cautions about one thing: only the heaviest is shown
	Means  Means  `json:"means,omitempty"` // shown only while a recipe uses this
	Say    string `json:"say"`
	Source string `json:"source,omitempty"`
}

// Caution is one caution of a recipe, the heaviest about its subject.
type Caution struct {
	ID     string `json:"caution"`
	Signal Signal `json:"signal"`
	About  string `json:"about"`
	Text   string `json:"text"`
	Rule   string `json:"rule"`
}

func wordAt(words []string, i int) string {
	if i >= 0 && i < len(words) {
		return words[i]
	}
	return "?"
}

// readWord sets v to the index of a word.
func readWord[T ~uint8](v *T, b []byte, words []string, what string) error {
	i := slices.Index(words, string(b))
	if i < 1 {
		return Input(quoted(string(b))+" is not a "+what, suggest(string(b), words[1:]))
	}
	*v = T(i)
	return nil
}

package prep

import (
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
)

// Recipe is what one item gets under one revision of the rulebook, and why.
// It is the same for every unit of the item.
type Recipe struct {
	Name string `json:"recipe"` // short, from the rulebook: "window figure"
	Rev  int    `json:"rules_rev"`

	// Stop and Ask shut the recipe: with either, there are no steps and no run
	// may open. Stop is a rule's word; Ask is what somebody must answer first.
	Stop []Hit    `json:"stop,omitempty"`
	Ask  []string `json:"ask,omitempty"`

	Hits      []Hit          `json:"hits"`
	Steps     []Step         `json:"steps,omitempty"`
	Materials []MaterialNeed `json:"materials,omitempty"`
	Labels    []LabelNeed    `json:"labels,omitempty"`
	Cautions  []Caution      `json:"cautions,omitempty"`
	Dropped   []Dropped      `json:"dropped,omitempty"` // what a prohibition took away

	RemovalMethods []Removal `json:"removal,omitempty"` // in the order to try them
	PairCheck      bool      `json:"pair_check,omitempty"`
	DryWait        int       `json:"dry_wait_s,omitempty"` // seconds before anything is closed
	Heat           bool      `json:"heat,omitempty"`       // warm air may be used
	Solvent        bool      `json:"solvent,omitempty"`    // remover may be used; never with Heat
}

// Hit is a rule that fired, and the answers that made it fire.
type Hit struct {
	Rule     string   `json:"rule"`
	Title    string   `json:"title"`
	Severity Severity `json:"severity"`
	Why      string   `json:"why"`
	// Verdict is what a Stop sends the goods to: "hold" or "divert".
	Verdict string `json:"verdict,omitempty"`
}

// The verdicts of a recipe, as triage writes them.
const (
	VerdictPrep   = "prep"
	VerdictHold   = "hold"
	VerdictDivert = "divert"
)

// Dropped is a step or an enclosure that one rule asked for and another forbade.
type Dropped struct {
	What     string   `json:"what"`
	Rule     string   `json:"rule"`
	Because  string   `json:"because"`
	Severity Severity `json:"severity"`
}

// Verdict is hold when anything stops or must be asked, divert when only
// rules that divert have stopped it, and prep otherwise.
func (r Recipe) Verdict() string {
	if len(r.Ask) > 0 {
		return VerdictHold
	}
	verdict := VerdictPrep
	for _, h := range r.Stop {
		if h.Verdict != VerdictDivert {
			return VerdictHold
		}
		verdict = VerdictDivert
	}
	return verdict
}

// Open tells whether work may begin.
func (r Recipe) Open() bool { return len(r.Stop) == 0 && len(r.Ask) == 0 }

// Required lists the steps that a gate asks for, in working order.
func (r Recipe) Required() []Step {
	var out []Step
	for _, s := range r.Steps {
		if s.Severity >= Must {
			out = append(out, s)
		}
	}
	return out
}

// Step returns the recipe's step with that id.
func (r Recipe) Step(id string) (Step, bool) {
	for _, s := range r.Steps {
		if s.ID == id {
			return s, true
		}
	}
	return Step{}, false
}

// Digest is the SHA-256, in hexadecimal, of what the recipe makes people do:
// the verdict, steps, materials, labels, cautions and allowed methods, but not
// the revision number, nor which rule asked or why. Two revisions that treat an
// item alike give it the same digest.
func (r Recipe) Digest() string {
	r.Rev, r.Hits, r.Dropped = 0, nil, nil
	r.Stop = append([]Hit(nil), r.Stop...)
	r.Steps = append([]Step(nil), r.Steps...)
	r.Materials = append([]MaterialNeed(nil), r.Materials...)
	r.Labels = append([]LabelNeed(nil), r.Labels...)
	r.Cautions = append([]Caution(nil), r.Cautions...)
	r.RemovalMethods = append([]Removal(nil), r.RemovalMethods...)
	for i := range r.Stop {
		r.Stop[i].Why = ""
	}
	for i := range r.Steps {
		r.Steps[i].Rule = ""
	}
	for i := range r.Materials {
		r.Materials[i].Rule, r.Materials[i].Why = "", ""
	}
	for i := range r.Labels {
		r.Labels[i].Rule = ""
	}
	for i := range r.Cautions {
		r.Cautions[i].Rule = ""
	}
	for i := range r.RemovalMethods {
		r.RemovalMethods[i].Rule = ""
	}
	return digestOf(r)
}

// digestOf hashes the JSON of v, which must be free of maps and floats so
// that the same value always gives the same bytes.
func digestOf(v any) string {
	b, err := json.Marshal(v)
	if err != nil {
		panic("prep: a rulebook or recipe that has no JSON form: " + err.Error())
	}
	sum := sha256.Sum256(b)
	return hex.EncodeToString(sum[:])
}

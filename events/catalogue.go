package events

import (
	"errors"

	json "github.com/goccy/go-json"

	"packwright/prep"
)

// FloorFounded begins every log; written once, by init. Version 2 has the public
// half of the key that signs the log's heads; a log without one has none signed.
type FloorFounded struct {
	Floor    string `json:"floor"`
	Owner    string `json:"owner"` // the owner's badge
	Currency string `json:"currency"`
	Epoch    string `json:"epoch"` // random, names this log for ever
	Key      string `json:"key,omitempty"`
}

// ItemRegistered puts an item into the catalogue.
type ItemRegistered struct {
	prep.Item
}

// ItemRevised replaces an item's entry; open cartons are judged anew by it.
type ItemRevised struct {
	prep.Item
	Reason string `json:"reason"`
}

// RulebookPublished makes a revision the one in force.
// Effective "new-runs": open runs finish on theirs; "at-once": those whose recipe
// changes stop.
type RulebookPublished struct {
	Rev       int           `json:"rev"`
	Digest    string        `json:"digest"`
	Rulebook  prep.Rulebook `json:"rulebook"`
	Note      string        `json:"note,omitempty"`
	Effective string        `json:"effective"`
}

// UnmarshalJSON refuses a body without its rulebook: one that was never read has no rules
// to be worked from.
func (p *RulebookPublished) UnmarshalJSON(src []byte) error {
	type plain RulebookPublished
	var body plain
	if err := json.Unmarshal(src, &body); err != nil {
		return err
	}
	if len(body.Rulebook.Rules) == 0 {
		return errors.New("there is no rulebook in it")
	}
	*p = RulebookPublished(body)
	return nil
}

// RulebookBlocked stops units prepped under a revision (of one recipe, or all) from being placed.
type RulebookBlocked struct {
	Rev    int    `json:"rev"`
	Recipe string `json:"recipe,omitempty"`
	Reason string `json:"reason"`
}

// Role is what a badge may do. One badge may hold several.
type Role string

// The roles of the floor.
const (
	Packer     Role = "packer"
	Lead       Role = "lead"
	Supervisor Role = "supervisor"
	Owner      Role = "owner"
	Client     Role = "client"  // approves for goods that are theirs
	Auditor    Role = "auditor" // reads only
)

// BadgeEnrolled lets a badge work here. Names of people live elsewhere and can be erased.
type BadgeEnrolled struct {
	Badge   string   `json:"badge"`
	Roles   []Role   `json:"roles"`
	Recipes []string `json:"recipes_cleared,omitempty"` // "*" for all
	OwnerOf string   `json:"owner_of,omitempty"`        // for a client: the owner whose goods are theirs
	Licence string   `json:"licence,omitempty"`         // reference of a transport licence; may release hazard holds
}

// BadgeRetired ends a badge.
type BadgeRetired struct {
	Badge  string `json:"badge"`
	Reason string `json:"reason,omitempty"`
}

// RecipeCleared lets a badge prep by a recipe without a lead beside it.
type RecipeCleared struct {
	Badge  string `json:"badge"`
	Recipe string `json:"recipe"`
	By     string `json:"by"`
}

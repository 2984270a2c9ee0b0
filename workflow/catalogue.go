package workflow

import (
	"errors"
	"fmt"
	"reflect"
	"strings"
	"sync"

	"packwright/events"
	"packwright/prep"
)

type registerItemAsk struct {
	prep.Item
}

// check says what of the item cannot be true.
func (in *registerItemAsk) check() error { return in.Validate() }

type reviseItemAsk struct {
	prep.Item
	Reason string `json:"reason"`
}

func (in *reviseItemAsk) check() error {
	if in.Reason == "" {
		return errors.Join(in.Validate(), prep.Input("the revision has no reason", "say why the entry changes"))
	}
	return in.Validate()
}

// publishAsk carries the rulebook as its JSON form, or as the YAML text that
// the owner wrote.
type publishAsk struct {
	Rev       int            `json:"rev"`
	Rulebook  *prep.Rulebook `json:"rulebook"`
	Source    string         `json:"source"`
	File      string         `json:"file"` // the source's name, for its errors
	Note      string         `json:"note"`
	Effective string         `json:"effective"`
}

// When a rulebook takes hold of runs that are open.
const (
	NewRuns = "new-runs" // they finish by the old revision
	AtOnce  = "at-once"  // those whose recipe changes stop
)

func (in *publishAsk) check() (err error) {
	switch {
	case (in.Rulebook == nil) == (in.Source == ""):
		return prep.Input("one rulebook is wanted", "give either rulebook or source")
	case in.Source != "":
		if in.Rulebook, err = prep.ParseRulebook(in.File, []byte(in.Source)); err != nil {
			return err
		}
	}
	if in.Effective == "" {
		in.Effective = NewRuns
	}
	if in.Effective != NewRuns && in.Effective != AtOnce {
		return prep.Input(fmt.Sprintf("%q does not say when the rulebook takes hold", in.Effective), "choose "+NewRuns+" or "+AtOnce)
	}
	if in.Rev != 0 && in.Rev != in.Rulebook.Rev {
		return prep.Input(fmt.Sprintf("rev %d, and the rulebook says %d", in.Rev, in.Rulebook.Rev), "make them one number")
	}
	return proved(in.Rulebook)
}

// held are digests of rulebooks that were proved in this process: the proof is
// a pure function, and costs about half a second.
var held sync.Map

// proved refuses a rulebook that leaves something open; all findings come at once.
func proved(b *prep.Rulebook) error {
	digest := b.Digest()
	if _, known := held.Load(digest); known {
		return nil
	}
	if err := prep.Findings(b, prep.Check(b)); err != nil {
		return err
	}
	held.Store(digest, true)
	return nil
}

type blockRulebookAsk struct {
	Rev    int    `json:"rev"`
	Recipe string `json:"recipe"`
	Reason string `json:"reason"`
}

func (in *blockRulebookAsk) check() error {
	if in.Reason == "" {
		return prep.Input("the block has no reason", "say what is wrong with it")
	}
	return nil
}

// ownCodes refuses an item whose code on the box names another item.
func ownCodes(d *decision, it *prep.Item) *Refusal {
	for _, c := range it.Codes {
		if other := d.f.Codes[c.Norm14()]; other != "" && other != it.Item {
			return refuse("E-CAT-02", c, other)
		}
	}
	return nil
}

// catalogueRules say what there is to work on and by which rules. The rules of
// badges are in people.go.
var catalogueRules = append([]rule{
	on(rule{Name: "register-item", Who: supervisors, Moves: []Move{{"item", "", "listed"}}}, []gate[registerItemAsk]{
		{Gate{"a new item code", "E-CAT-01", ""}, func(d *decision, in *registerItemAsk) *Refusal {
			switch old := d.f.Items[in.Item.Item]; {
			case old == nil:
				return nil
			case reflect.DeepEqual(*old, in.Item):
				return again(refuse("E-CAT-01", in.Item.Item))
			}
			return refuse("E-CAT-01", in.Item.Item)
		}},
		{Gate{"its codes name no other item", "E-CAT-02", ""}, func(d *decision, in *registerItemAsk) *Refusal {
			return ownCodes(d, &in.Item)
		}},
	}, func(d *decision, in *registerItemAsk) {
		d.emit(&events.ItemRegistered{Item: in.Item})
	}),

	on(rule{Name: "revise-item", Who: supervisors, Moves: []Move{{"item", "listed", "listed"}}}, []gate[reviseItemAsk]{
		{Gate{"an item of the catalogue", "E-INT-06", ""}, func(d *decision, in *reviseItemAsk) *Refusal {
			if d.f.Items[in.Item.Item] == nil {
				return refuse("E-INT-06", in.Item.Item)
			}
			return nil
		}},
		{Gate{"its codes name no other item", "E-CAT-02", ""}, func(d *decision, in *reviseItemAsk) *Refusal {
			return ownCodes(d, &in.Item)
		}},
	}, func(d *decision, in *reviseItemAsk) {
		if !sameItem(d.f.Items[in.Item.Item], &in.Item) {
			d.emit(&events.ItemRevised{Item: in.Item, Reason: in.Reason})
		}
	}),

	on(rule{Name: "publish-rulebook", Who: owners, Moves: []Move{{"rulebook", "", "in force"}, {"run", "open", "stopped"}}}, []gate[publishAsk]{
		{Gate{"the next revision number", "E-CAT-03", ""}, func(d *decision, in *publishAsk) *Refusal {
			rev := in.Rulebook.Rev
			if old := d.f.Books[rev]; old != nil && old.Digest() == in.Rulebook.Digest() {
				return again(refuse("E-CAT-03", rev, rev+1))
			}
			if d.f.RulesRev > 0 && rev != d.f.RulesRev+1 {
				return refuse("E-CAT-03", rev, d.f.RulesRev+1)
			}
			return nil
		}},
	}, func(d *decision, in *publishAsk) {
		d.emit(&events.RulebookPublished{Rev: in.Rulebook.Rev, Digest: in.Rulebook.Digest(), Rulebook: *in.Rulebook,
			Note: in.Note, Effective: in.Effective})
	}),

	on(rule{Name: "block-rulebook", Who: supervisors, Moves: []Move{{"rulebook", "in force", "blocked"}}}, []gate[blockRulebookAsk]{
		{Gate{"a revision and recipe of this floor", "E-SYS-07", ""}, func(d *decision, in *blockRulebookAsk) *Refusal {
			book := d.f.Books[in.Rev]
			if book == nil {
				return refuse("E-SYS-07", fmt.Sprintf("Rulebook %d", in.Rev))
			}
			if in.Recipe != "" && !namesRecipe(book, in.Recipe) {
				return refuse("E-SYS-07", fmt.Sprintf("Recipe %q", in.Recipe))
			}
			return nil
		}},
	}, func(d *decision, in *blockRulebookAsk) {
		if !d.f.blocked(in.Rev, in.Recipe) {
			d.emit(&events.RulebookBlocked{Rev: in.Rev, Recipe: in.Recipe, Reason: in.Reason})
		}
	}),
}, peopleRules...)

// namesRecipe says whether a rulebook has a recipe of that name.
func namesRecipe(b *prep.Rulebook, name string) bool {
	for _, n := range b.Names {
		if n.Name == name {
			return true
		}
	}
	return b.Otherwise == name
}

// blocked says whether units prepped by a recipe of a revision may not be placed.
func (f *Floor) blocked(rev int, recipe string) bool {
	for _, b := range f.Blocked {
		if b.Rev == rev && (b.Recipe == "" || b.Recipe == recipe) {
			return true
		}
	}
	return false
}

// plainWord says whether a name can stand in a code, a command id or a scan.
func plainWord(s string) bool {
	ok := func(r rune) bool {
		return r >= 'a' && r <= 'z' || r >= 'A' && r <= 'Z' || r >= '0' && r <= '9' || r == '-' || r == '_'
	}
	return s != "" && len(s) <= 24 && strings.IndexFunc(s, func(r rune) bool { return !ok(r) }) < 0
}

package audit

import (
	"fmt"
	"maps"
	"slices"

	"packwright/events"
	"packwright/prep"
)

// book is one published revision of the rules.
type book struct {
	Rev      int
	Rulebook prep.Rulebook
	Fact     fact
	Note     string
	Blocked  []blocked
}

type blocked struct {
	Recipe, Reason string // recipe empty: all of them
	Fact           fact
}

// badge is what a badge may do.
type badge struct {
	Roles   []events.Role
	OwnerOf string
	Licence string
	Cleared []string
	Retired bool
	Trail   trail // its sessions, not each of its scans
}

func (f *Fold) floorFounded(e *events.Event, d *events.FloorFounded) error {
	if f.count != 1 {
		return fmt.Errorf("a floor is founded once, at the start of its log")
	}
	f.founded = *d
	f.badges[d.Owner] = &badge{Roles: []events.Role{events.Owner}}
	return nil
}

func (f *Fold) itemRegistered(e *events.Event, d *events.ItemRegistered) error {
	f.items[d.Item.Item] = d.Item
	return nil
}

func (f *Fold) itemRevised(e *events.Event, d *events.ItemRevised) error {
	if _, ok := f.items[d.Item.Item]; !ok {
		return fmt.Errorf("item %s is not registered", d.Item.Item)
	}
	f.items[d.Item.Item] = d.Item
	return nil
}

func (f *Fold) rulebookPublished(e *events.Event, d *events.RulebookPublished) error {
	if n := len(f.books); n > 0 && d.Rev <= f.books[n-1].Rev {
		return fmt.Errorf("rulebook r%d follows r%d", d.Rev, f.books[n-1].Rev)
	}
	f.books = append(f.books, book{Rev: d.Rev, Rulebook: d.Rulebook, Fact: f.fact(e), Note: d.Note})
	return nil
}

func (f *Fold) rulebookBlocked(e *events.Event, d *events.RulebookBlocked) error {
	b := f.bookAt(d.Rev)
	if b == nil {
		return fmt.Errorf("there is no rulebook r%d", d.Rev)
	}
	b.Blocked = append(b.Blocked, blocked{d.Recipe, d.Reason, f.fact(e)})
	return nil
}

// bookAt gives a revision of the rules, or nil.
func (f *Fold) bookAt(rev int) *book {
	for i := range f.books {
		if f.books[i].Rev == rev {
			return &f.books[i]
		}
	}
	return nil
}

func (f *Fold) badgeOf(name string) *badge {
	b := f.badges[name]
	if b == nil {
		b = &badge{}
		f.badges[name] = b
	}
	return b
}

func (f *Fold) badgeEnrolled(e *events.Event, d *events.BadgeEnrolled) error {
	b := f.badgeOf(d.Badge)
	b.Roles, b.Cleared, b.OwnerOf, b.Licence, b.Retired = d.Roles, d.Recipes, d.OwnerOf, d.Licence, false
	b.Trail.add(e.Seq.Frame)
	return nil
}

func (f *Fold) badgeRetired(e *events.Event, d *events.BadgeRetired) error {
	b := f.badgeOf(d.Badge)
	b.Retired = true
	b.Trail.add(e.Seq.Frame)
	return nil
}

func (f *Fold) recipeCleared(e *events.Event, d *events.RecipeCleared) error {
	b := f.badgeOf(d.Badge)
	b.Cleared = append(b.Cleared, d.Recipe)
	b.Trail.add(e.Seq.Frame)
	return nil
}

// Rulebook gives a published revision of the rules. Errors: *NoSuch.
func (f *Fold) Rulebook(rev int) (*prep.Rulebook, error) {
	if b := f.bookAt(rev); b != nil {
		return &b.Rulebook, nil
	}
	return nil, &NoSuch{"rulebook", fmt.Sprintf("r%d", rev)}
}

// Items lists the catalogue by item code.
func (f *Fold) Items() []prep.Item {
	out := make([]prep.Item, 0, len(f.items))
	for _, code := range slices.Sorted(maps.Keys(f.items)) {
		out = append(out, f.items[code])
	}
	return out
}

package workflow

import (
	"bytes"
	"fmt"
	"slices"

	json "github.com/goccy/go-json"

	"packwright/events"
	"packwright/prep"
)

func (f *Floor) itemRegistered(e *events.Event, d *events.ItemRegistered) error {
	f.enter(&d.Item)
	return nil
}

func (f *Floor) itemRevised(e *events.Event, d *events.ItemRevised) error {
	old := f.Items[d.Item.Item]
	if old == nil {
		return unplaced("item", d.Item.Item)
	}
	for _, c := range old.Codes {
		delete(f.Codes, c.Norm14())
	}
	f.enter(&d.Item)
	for k := range f.recipes {
		if k.item == d.Item.Item {
			delete(f.recipes, k)
		}
	}
	return nil
}

// enter puts an item into the catalogue.
func (f *Floor) enter(it *prep.Item) {
	f.Items[it.Item] = it
	for _, c := range it.Codes {
		f.Codes[c.Norm14()] = it.Item
	}
}

// sameItem compares two entries by what would be written of them.
func sameItem(a, b *prep.Item) bool {
	x, err := json.Marshal(a)
	y, err2 := json.Marshal(b)
	return err == nil && err2 == nil && bytes.Equal(x, y)
}

func (f *Floor) rulebookPublished(e *events.Event, d *events.RulebookPublished) error {
	if f.RulesRev > 0 && d.Rev != f.RulesRev+1 {
		return fmt.Errorf("%w: rulebook %d after %d", events.ErrCorrupt, d.Rev, f.RulesRev)
	}
	f.Books[d.Rev], f.RulesRev = &d.Rulebook, d.Rev
	if d.Effective == AtOnce {
		for _, r := range f.Runs {
			if r.State != RunClosed && f.changes(r) {
				r.Stopped = true
			}
		}
	}
	f.forgetBooks()
	return nil
}

// changes says whether the rulebook in force has another recipe for the item of a run.
func (f *Floor) changes(r *Run) bool {
	was, now := f.recipe(r.Item, r.Rev), f.recipe(r.Item, f.RulesRev)
	return was == nil || now == nil || was.Digest() != now.Digest()
}

// forgetBooks drops revisions by which nothing on the floor was or is prepped.
func (f *Floor) forgetBooks() {
	used := map[int]bool{f.RulesRev: true}
	for _, r := range f.Runs {
		used[r.Rev] = true
	}
	for _, u := range f.Units {
		used[u.Rev] = true
	}
	for rev := range f.Books {
		if !used[rev] {
			delete(f.Books, rev)
		}
	}
	for k := range f.recipes {
		if !used[k.rev] {
			delete(f.recipes, k)
		}
	}
	f.Blocked = slices.DeleteFunc(f.Blocked, func(b BlockedRules) bool { return !used[b.Rev] })
}

func (f *Floor) rulebookBlocked(e *events.Event, d *events.RulebookBlocked) error {
	if f.Books[d.Rev] == nil {
		return unplaced("rulebook", fmt.Sprint(d.Rev))
	}
	f.Blocked = append(f.Blocked, BlockedRules{Rev: d.Rev, Recipe: d.Recipe, Reason: d.Reason})
	return nil
}

func (f *Floor) badgeEnrolled(e *events.Event, d *events.BadgeEnrolled) error {
	f.Badges[d.Badge] = &Badge{Badge: d.Badge, Roles: d.Roles, Recipes: slices.Clone(d.Recipes), OwnerOf: d.OwnerOf, Licence: d.Licence}
	return nil
}

func (f *Floor) badgeRetired(e *events.Event, d *events.BadgeRetired) error {
	b := f.Badges[d.Badge]
	if b == nil {
		return unplaced("badge", d.Badge)
	}
	b.Retired = true
	return nil
}

func (f *Floor) recipeCleared(e *events.Event, d *events.RecipeCleared) error {
	b := f.Badges[d.Badge]
	if b == nil {
		return unplaced("badge", d.Badge)
	}
	b.Recipes = append(b.Recipes, d.Recipe)
	return nil
}

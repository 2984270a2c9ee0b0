package audit

import (
	"maps"
	"slices"

	"packwright/events"
)

// BadgeView is what a badge may do.
type BadgeView struct {
	Badge   string        `json:"badge"`
	Roles   []events.Role `json:"roles"`
	OwnerOf string        `json:"owner_of,omitempty"` // whose goods it speaks for
	Retired bool          `json:"retired,omitempty"`
}

// Badge gives what a badge may do. A retired one may do nothing. Errors: *NoSuch.
func (f *Fold) Badge(key string) (BadgeView, error) {
	b := f.badges[key]
	if b == nil {
		return BadgeView{}, &NoSuch{"badge", key}
	}
	v := BadgeView{Badge: key, Roles: slices.Clone(b.Roles), OwnerOf: b.OwnerOf, Retired: b.Retired}
	if b.Retired {
		v.Roles = nil
	}
	return v, nil
}

// Badges lists every badge there ever was, by name.
func (f *Fold) Badges() []BadgeView {
	var out []BadgeView
	for _, key := range slices.Sorted(maps.Keys(f.badges)) {
		v, _ := f.Badge(key)
		out = append(out, v)
	}
	return out
}

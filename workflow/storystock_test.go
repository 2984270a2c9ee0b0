package workflow

import (
	"fmt"
	"maps"
	"slices"
	"strings"
)

// stock tells the lots of material that were received: in the store, at the benches.
func (tl *teller) stock() (out []string) {
	for _, code := range slices.Sorted(maps.Keys(tl.floor.MatLots)) {
		m := tl.floor.MatLots[code]
		if m.Known {
			out = append(out, strings.TrimSpace(fmt.Sprintf("%s %s: store %s, benches %s %s", code, m.Material, m.Store, m.Out, m.Blocked)))
		}
	}
	return out
}

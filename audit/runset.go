package audit

import "slices"

// unionRuns joins two rising lists; it gives one of them when that holds the other.
func unionRuns(a, b []runID) []runID {
	if holdsRuns(a, b) {
		return a
	}
	if holdsRuns(b, a) {
		return b
	}
	out := append(slices.Clone(a), b...)
	slices.Sort(out)
	return slices.Compact(out)
}

func holdsRuns(a, b []runID) bool {
	for _, r := range b {
		if _, ok := slices.BinarySearch(a, r); !ok {
			return false
		}
	}
	return true
}

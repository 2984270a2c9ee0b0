package prep

import (
	"slices"
	"strings"
)

// suggest ends an error with the nearest allowed word, or with the list of
// them when nothing is near.
func suggest(word string, allowed []string) string {
	if near := nearest(word, allowed); near != "" {
		return "did you mean " + near + "?"
	}
	if len(allowed) == 0 {
		return "leave it out"
	}
	return "choose from " + strings.Join(allowed, ", ")
}

// nearest finds the allowed word with the fewest slips from word; none when
// more than a third of its letters would have to change.
func nearest(word string, allowed []string) string {
	best, bestSlips := "", len([]rune(word))/3+1
	for _, w := range allowed {
		if s := slips(strings.ToLower(word), strings.ToLower(w)); s < bestSlips {
			best, bestSlips = w, s
		}
	}
	return best
}

// slips counts the letters to add, drop, change or swap with a neighbour to
// get from a to b (Damerau's count in its restricted form).
func slips(a, b string) int {
	x, y := []rune(a), []rune(b)
	if len(x) > 64 || len(y) > 64 {
		return max(len(x), len(y))
	}
	var before, last []int
	row := make([]int, len(y)+1)
	for j := range row {
		row[j] = j
	}
	for i := range x {
		before, last, row = last, row, make([]int, len(y)+1)
		row[0] = i + 1
		for j := range y {
			change := last[j]
			if x[i] != y[j] {
				change++
			}
			row[j+1] = min(change, last[j+1]+1, row[j]+1)
			if i > 0 && j > 0 && x[i] == y[j-1] && x[i-1] == y[j] {
				row[j+1] = min(row[j+1], before[j-1]+1)
			}
		}
	}
	return row[len(y)]
}

func quoted(s string) string {
	const longest = 60
	if r := []rune(s); len(r) > longest {
		s = string(r[:longest]) + "…"
	}
	return `"` + strings.ReplaceAll(s, "\n", " ") + `"`
}

func wholeNumber(word string) (int64, error) {
	v, err := parseDecimal([]byte(word), 0)
	if err != nil || v < 0 || strings.ContainsAny(word, "eE") {
		return 0, Input(quoted(word)+" is not a whole number", "write digits only, such as 300")
	}
	return v, nil
}

func sortedKeys[V any](m map[string]V) []string {
	keys := make([]string, 0, len(m))
	for k := range m {
		keys = append(keys, k)
	}
	slices.Sort(keys)
	return keys
}

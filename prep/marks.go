package prep

import (
	"bytes"
	"slices"
	"strconv"
	"strings"
)

// Marks is a set of marks, in rising order and without repetition; NewMarks
// makes one of any list. JSON: runs, ["M-0001..M-0014","M-0072"]; nil is null.
type Marks []Mark

// maxMarks bounds what one list may unpack to, so that a short line of input
// cannot ask for gigabytes.
const maxMarks = 1 << 20

// MarkRun is an unbroken run of marks, both ends included.
type MarkRun struct{ From, To Mark }

// NewMarks returns the marks in order, each once.
func NewMarks(list ...Mark) Marks {
	out := slices.Clone(Marks(list))
	slices.Sort(out)
	return slices.Compact(out)
}

// MarksFromTo returns from..to, both included; nil when to is before from.
func MarksFromTo(from, to Mark) Marks {
	if to < from {
		return nil
	}
	out := make(Marks, 0, int(to-from)+1)
	for m := uint64(from); m <= uint64(to); m++ {
		out = append(out, Mark(m))
	}
	return out
}

// Contains tells whether m is in the set.
func (s Marks) Contains(m Mark) bool {
	_, found := slices.BinarySearch(s, m)
	return found
}

// Union returns the marks in either set.
func (s Marks) Union(t Marks) Marks { return NewMarks(append(slices.Clone(s), t...)...) }

// Minus returns the marks of s that are not in t.
func (s Marks) Minus(t Marks) Marks {
	var out Marks
	for _, m := range s {
		if !t.Contains(m) {
			out = append(out, m)
		}
	}
	return out
}

// Runs returns the set as unbroken runs. FromRuns is its inverse.
func (s Marks) Runs() []MarkRun {
	var out []MarkRun
	for _, m := range s {
		if n := len(out); n > 0 && m > 0 && out[n-1].To == m-1 {
			out[n-1].To = m
			continue
		}
		out = append(out, MarkRun{m, m})
	}
	return out
}

// FromRuns returns the marks of the runs.
func FromRuns(runs []MarkRun) Marks {
	var out Marks
	for _, r := range runs {
		out = append(out, MarksFromTo(r.From, r.To)...)
	}
	return NewMarks(out...)
}

// String gives "M-0001..M-0014, M-0072".
func (s Marks) String() string {
	var parts []string
	for _, r := range s.Runs() {
		parts = append(parts, r.String())
	}
	return strings.Join(parts, ", ")
}

// String gives "M-0001..M-0014", or "M-0072" for a run of one.
func (r MarkRun) String() string { return string(r.append(nil)) }

func (r MarkRun) append(b []byte) []byte {
	b = r.From.append(b)
	if r.To != r.From {
		b = r.To.append(append(b, '.', '.'))
	}
	return b
}

// MarshalJSON refuses a list that is not in order or repeats a mark: that is
// two units with one serial, and must not be written down as one.
func (s Marks) MarshalJSON() ([]byte, error) {
	if s == nil {
		return []byte("null"), nil
	}
	for i := 1; i < len(s); i++ {
		if s[i] <= s[i-1] {
			return nil, Input("mark "+s[i].String()+" comes after "+s[i-1].String(), "list each mark once, in order")
		}
	}
	b := append(make([]byte, 0, 48), '[')
	for i := 0; i < len(s); {
		j := i
		for j+1 < len(s) && s[j+1] == s[j]+1 {
			j++
		}
		if i > 0 {
			b = append(b, ',')
		}
		b = append(MarkRun{s[i], s[j]}.append(append(b, '"')), '"')
		i = j + 1
	}
	return append(b, ']'), nil
}

// UnmarshalJSON takes single marks and runs in any order, and refuses a mark
// that comes twice.
func (s *Marks) UnmarshalJSON(b []byte) error {
	if isNull(b) {
		return nil
	}
	b = trimSpace(b)
	if len(b) < 2 || b[0] != '[' || b[len(b)-1] != ']' {
		return Input("a list of marks is missing its brackets", `write ["M-0001..M-0014","M-0072"]`)
	}
	out := Marks{}
	ordered := true
	for rest := trimSpace(b[1 : len(b)-1]); len(rest) > 0; {
		end := 0
		if len(rest) > 1 && rest[0] == '"' {
			end = bytes.IndexByte(rest[1:], '"') + 1
		}
		if end < 1 {
			return Input("a list of marks holds "+strconv.Quote(string(rest)), `write ["M-0001..M-0014","M-0072"]`)
		}
		run, err := parseMarkRun(rest[1:end])
		if err != nil {
			return err
		}
		if uint64(len(out))+uint64(run.To-run.From) >= maxMarks {
			return Input("a list names more than "+strconv.Itoa(maxMarks)+" marks", "split it")
		}
		out = slices.Grow(out, int(run.To-run.From)+1)
		ordered = ordered && (len(out) == 0 || run.From > out[len(out)-1])
		for m := uint64(run.From); m <= uint64(run.To); m++ {
			out = append(out, Mark(m))
		}
		rest = trimSpace(rest[end+1:])
		if len(rest) > 0 {
			if rest[0] != ',' || len(rest) == 1 {
				return Input("a comma is missing or left over in a list of marks", `write ["M-0001..M-0014","M-0072"]`)
			}
			rest = trimSpace(rest[1:])
		}
	}
	if !ordered {
		if err := out.sortUnique(); err != nil {
			return err
		}
	}
	*s = out
	return nil
}

func (s Marks) sortUnique() error {
	slices.Sort(s)
	for i := 1; i < len(s); i++ {
		if s[i] == s[i-1] {
			return Input("mark "+s[i].String()+" is listed twice", "list each mark once")
		}
	}
	return nil
}

func parseMarkRun(b []byte) (MarkRun, error) {
	var r MarkRun
	from, to, isRun := bytes.Cut(b, []byte(".."))
	if err := r.From.UnmarshalText(from); err != nil {
		return r, err
	}
	if !isRun {
		r.To = r.From
		return r, nil
	}
	if err := r.To.UnmarshalText(to); err != nil {
		return r, err
	}
	if r.To < r.From {
		return r, Input("run "+strconv.Quote(string(b))+" goes backwards", "write the smaller mark first")
	}
	return r, nil
}

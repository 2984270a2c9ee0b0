package workflow

import (
	"errors"
	"testing"

	"packwright/prep"
)

// FuzzPolicy: a file that people write is read, or refused with its place.
func FuzzPolicy(f *testing.F) {
	for _, src := range []string{"persons: 1\n", "scale: {present: no}\n", "delegated: {quill: {units: 1, percent: 2}}\n", "quiet_minutes: 2\nquiet_minutes: 3\n", "x: &a [*a]\n", "\xff"} {
		f.Add([]byte(src))
	}
	f.Fuzz(func(t *testing.T, src []byte) {
		p, err := ParsePolicy("policy.yaml", src)
		var in *prep.InputError
		if err != nil && (!errors.As(err, &in) || in.What == "" || in.Do == "") {
			t.Fatalf("not a sentence that says what to do: %v", err)
		}
		if err == nil && p == nil {
			t.Fatal("neither a policy nor a reason")
		}
	})
}

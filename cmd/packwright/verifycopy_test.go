package main

import (
	"errors"
	"math"
	"os"
	"path/filepath"
	"testing"

	"packwright/prep"
)

// TestCopyTree: a copy holds every file as it was; one that has no room is not begun.
func TestCopyTree(t *testing.T) {
	from, to := t.TempDir(), filepath.Join(t.TempDir(), "copy")
	want := map[string]string{"a": "1", "deep/er/b": "22", "empty": ""}
	for name, text := range want {
		file := filepath.Join(from, name)
		if err := errors.Join(os.MkdirAll(filepath.Dir(file), 0o700), os.WriteFile(file, []byte(text), 0o600)); err != nil {
			t.Fatal(err)
		}
	}
	d := &desk{settings: &settings{JSON: true}, ctx: t.Context()}
	if err := d.copyTree(to, from); err != nil {
		t.Fatal(err)
	}
	for name, text := range want {
		if got, err := os.ReadFile(filepath.Join(to, name)); err != nil || string(got) != text {
			t.Errorf("%s: %q, %v", name, got, err)
		}
	}
	bad := (*prep.InputError)(nil)
	if err := roomFor(to, math.MaxInt64/2); !errors.As(err, &bad) {
		t.Errorf("a copy larger than any disk: %v", err)
	}
	if err := roomFor(to, 1); err != nil {
		t.Error(err)
	}
}

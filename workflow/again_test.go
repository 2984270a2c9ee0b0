package workflow

import (
	"reflect"
	"slices"
	"testing"

	"packwright/events"
)

// TestSentAgain: what a bench may give once more is a packer's, and names no run.
func TestSentAgain(t *testing.T) {
	for _, name := range sentAgain {
		r := rules[name]
		if r == nil || !slices.Contains(r.Who, events.Packer) {
			t.Errorf("%s is no command of a packer", name)
			continue
		}
		if !r.Late && name != "open-carton" {
			t.Errorf("%s: refused, it would be lost in silence", name)
		}
		if _, has := reflect.TypeOf(r.blank()).Elem().FieldByName("Run"); has {
			t.Errorf("%s names a run, which may have another number", name)
		}
	}
}

package workflow

import (
	"reflect"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"packwright/prep"
)

func TestParsePolicy(t *testing.T) {
	p, err := ParsePolicy("house.yaml", []byte(`# how we work
totes: no
quiet_minutes: 5
divert_limit: 2000
weighing:
  packing: 2 oz
delegated:
  quill:
    units: 1
    percent: 2
destinations:
  dest-default:
    max_mass: 50 lb
  north:
    max_side: 63 cm
    one_owner: yes
`))
	if err != nil {
		t.Fatal(err)
	}
	want := DefaultPolicy()
	want.Totes, want.QuietMinutes, want.DivertLimit = false, 5, 2000*prep.MinorUnit
	want.Weighing.Packing = 56_699 // mg: 2 × 28.349523125 g
	want.Delegated["quill"] = Delegation{1, 2}
	d := want.Destinations["dest-default"]
	d.MaxMass = 22_679_619 // mg: 50 × 453.59237 g
	want.Destinations["dest-default"] = d
	want.Destinations["north"] = Destination{MaxSide: 630 * prep.MM, OneOwner: true}
	if diff := cmp.Diff(want, p); diff != "" {
		t.Errorf("-want +got:\n%s", diff)
	}
}

func TestOnePersonIsAPreset(t *testing.T) {
	p, err := ParsePolicy("house.yaml", []byte("persons: 1\ntotes: yes\n"))
	if err != nil {
		t.Fatal(err)
	}
	want := OnePerson()
	want.Totes = true
	if diff := cmp.Diff(want, p); diff != "" {
		t.Errorf("-want +got:\n%s", diff)
	}
	if err := p.Validate(); err != nil {
		t.Error(err)
	}
}

func TestPolicyErrors(t *testing.T) {
	for _, x := range []struct{ src, want string }{
		{"totse: no\n", "house.yaml:1:1: \"totse\" is not something this file has; did you mean totes?\n   1 | totse: no\n     | ^"},
		{"persons: 2\ndestinations:\n  dest-default:\n    max_mass: 22.5\n", "house.yaml:4:15: \"22.5\" has no unit; write a number and a unit, such as 540 g, 1.2 lb or 12 oz\n   4 |     max_mass: 22.5\n     |               ^"},
		{"runs: off\n", "house.yaml:1:7: \"off\" is not yes or no; did you mean no?"},
		{"persons: 1\nsecond_hand: yes\n", "house.yaml:2:14: one person has no second hand"},
		{"hand_count: no\nscale: no\n", "house.yaml:1:13: neither a count nor a scale would vouch for a carton"},
		{"delegated:\n  quill:\n    units: 1\n    percent: 200\n", "house.yaml:2:3: what is delegated is"},
		{"quiet_minutes: 0\n", "house.yaml:1:16: a bench would be quiet at once"},
	} {
		_, err := ParsePolicy("house.yaml", []byte(x.src))
		got := ""
		for _, e := range unjoin(err) {
			got += e.(*prep.InputError).Show() + "\n"
		}
		if !strings.Contains(got, x.want) {
			t.Errorf("%q gives\n%s\nwant\n%s", x.src, got, x.want)
		}
	}
}

func unjoin(err error) []error {
	if many, ok := err.(interface{ Unwrap() []error }); ok {
		return many.Unwrap()
	}
	if err == nil {
		return nil
	}
	return []error{err}
}

// Every field of the policy can be set by the file: a switch nobody can turn is none.
func TestPolicyFileHasEverySwitch(t *testing.T) {
	p := DefaultPolicy()
	list, _ := p.settings()
	places := map[uintptr]bool{}
	names := map[string]bool{}
	for _, s := range list {
		names[s.Name] = true
		if v := reflect.ValueOf(s.Into); v.Kind() == reflect.Pointer {
			places[v.Pointer()] = true
		}
		if group, ok := s.Into.([]prep.Setting); ok {
			for _, g := range group {
				places[reflect.ValueOf(g.Into).Pointer()] = true
			}
		}
	}
	v := reflect.ValueOf(p).Elem()
	for i := range v.NumField() {
		f := v.Field(i)
		name := v.Type().Field(i).Name
		switch f.Kind() {
		case reflect.Map:
			if !names[strings.ToLower(name)] {
				t.Errorf("the policy file cannot set %s", name)
			}
		case reflect.Struct:
			for j := range f.NumField() {
				if !places[f.Field(j).Addr().Pointer()] {
					t.Errorf("the policy file cannot set %s.%s", name, f.Type().Field(j).Name)
				}
			}
		default:
			if !places[f.Addr().Pointer()] {
				t.Errorf("the policy file cannot set %s", name)
			}
		}
	}
}

func TestSentences(t *testing.T) {
	one := strings.Join(Sentences(OnePerson()), "\n")
	for _, want := range []string{"persons: 1: nobody else looks", "totes: no: each lot", "runs: no:", "hand_count: no:", "label_balance: no:", "idle_minutes: 0:"} {
		if !strings.Contains(one, want) {
			t.Errorf("the one-person day does not say %q:\n%s", want, one)
		}
	}
	strict := &Policy{Persons: 5, Totes: true, Runs: true, PairCheck: true, HandCount: true, SecondHand: true, Scale: true, Balance: true,
		Clearances: true, Supplies: true, Reorder: map[string]Reorder{"bubble-small": {At: 1}}, SameScanMS: 900, QuietMinutes: 2, QuietCall: 15, IdleMinutes: 10, ScaleHours: 12, DivertLimit: 1, WriteOff: 1, TakeBackLast: 5}
	if got := Sentences(strict); len(got) != 1 || !strings.HasPrefix(got[0], "same_scan_ms: 900") {
		t.Errorf("a strict house gives up %q", got)
	}
	// turning any switch off never shortens the list
	all := len(Sentences(strict))
	v := reflect.ValueOf(strict).Elem()
	for i := range v.NumField() {
		if f := v.Field(i); f.Kind() == reflect.Bool && f.Bool() {
			f.SetBool(false)
			if n := len(Sentences(strict)); n <= all {
				t.Errorf("%s off gives up nothing in words", v.Type().Field(i).Name)
			}
			f.SetBool(true)
		}
	}
}

package prep

import (
	"encoding/json"
	"errors"
	"slices"
	"strings"
	"testing"

	"pgregory.net/rapid"
)

func TestMarkForms(t *testing.T) {
	for _, c := range []struct {
		m                   Mark
		wire, display, code string
	}{
		{0, "M-0000", "M-0000-X", "11111111"},
		{19, "M-0019", "M-0019-X", "111111MX"},
		{28, "M-0028", "M-0028-J", "111111X8"},
		{9999, "M-9999", "M-9999-E", ""},
		{10000, "M-10000", "", ""},
		{1<<32 - 1, "M-4294967295", "", ""},
	} {
		if c.m.String() != c.wire {
			t.Errorf("String %d = %s, want %s", c.m, c.m, c.wire)
		}
		if c.display != "" && c.m.Display() != c.display {
			t.Errorf("Display %d = %s, want %s", c.m, c.m.Display(), c.display)
		}
		if c.code != "" && c.m.Code() != c.code {
			t.Errorf("Code %d = %s, want %s", c.m, c.m.Code(), c.code)
		}
	}
}

func TestMarkReadsBack(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		m := Mark(rapid.Uint32().Draw(t, "counter"))
		for _, s := range []string{m.String(), m.Display(), m.Code()} {
			for _, form := range []string{s, strings.ToLower(s), " " + s + "\n"} {
				if got, err := ParseMark(form); err != nil || got != m {
					t.Fatalf("ParseMark(%q) = %v, %v; want %v", form, got, err, m)
				}
			}
		}
		if len(m.Code()) != 8 {
			t.Fatalf("Code %v has %d signs", m, len(m.Code()))
		}
	})
}

// Every slip of one sign to any other sign and every swap of two unlike
// adjacent signs, in both checked forms, over the first 5,000 marks and every
// 1,000,003rd after that: not one may read as a mark.
func TestMarkSlipsAndSwaps(t *testing.T) {
	slips, swaps := 0, 0
	try := func(m Mark, good string, bad []byte, n *int) {
		if string(bad) == good {
			return
		}
		*n++
		if got, err := ParseMark(string(bad)); err == nil {
			t.Fatalf("%s misread as %s passes for %v", good, bad, got)
		}
	}
	walk := func(m Mark) {
		for _, form := range []string{m.Code(), m.Display()} {
			from := 0
			if form[1] == '-' {
				from = 2
			}
			for i := from; i < len(form); i++ {
				for _, c := range []byte(markAlphabet + "0OILU-") {
					bad := []byte(form)
					bad[i] = c
					try(m, form, bad, &slips)
				}
				if i+1 < len(form) {
					bad := []byte(form)
					bad[i], bad[i+1] = bad[i+1], bad[i]
					try(m, form, bad, &swaps)
				}
			}
		}
	}
	for m := Mark(0); m < 5000; m++ {
		walk(m)
	}
	for m := uint64(5000); m < 1<<32; m += 1_000_003 {
		walk(Mark(m))
	}
	t.Logf("%d slips and %d swaps, none missed", slips, swaps)
}

func TestMarkRefused(t *testing.T) {
	for _, c := range []struct{ s, says string }{
		{"", "is not a mark"}, {"M", "is not a mark"}, {"M-", "is not a mark"}, {"M-19", "is not a mark"},
		{"M-00019", "is not a mark"}, {"T-0019", "is not a mark"}, {"M-0019-", "is not a mark"}, {"M-0019-XX", "is not a mark"},
		{"M-4294967296", "is not a mark"}, {"111111M", "is not a mark"}, {"111111OX", "is not a mark"},
		{"M-0019-K", "does not fit; read it again"}, {"111111MK", "does not fit; read it again"}, {"ZZZZZZZ1", "does not fit"},
	} {
		_, err := ParseMark(c.s)
		var in *InputError
		if !errors.As(err, &in) || !strings.Contains(err.Error(), c.says) {
			t.Errorf("ParseMark(%q): %v, want %q", c.s, err, c.says)
		}
	}
}

func TestMarksJSON(t *testing.T) {
	s := NewMarks(append(MarksFromTo(1, 14), 72, 5)...)
	b, err := json.Marshal(s)
	if err != nil || string(b) != `["M-0001..M-0014","M-0072"]` {
		t.Fatalf("%s, %v", b, err)
	}
	for _, in := range []string{string(b), `["M-0072","M-0001..M-0014"]`, ` [ "M-0001" , "m-0002-a", "M-0003..M-0014","M-0072" ] `} {
		var back Marks
		if err := json.Unmarshal([]byte(in), &back); err != nil || !slices.Equal(back, s) {
			t.Errorf("%s read as %v, %v", in, back, err)
		}
	}
	for _, in := range []string{`["M-0001","M-0001"]`, `["M-0001..M-0003","M-0002"]`, `["M-0003..M-0001"]`, `"M-0001"`, `[1]`,
		`["M-1"]`, `["M-0000..M-4294967295"]`, `["M-0001..M-0002..M-0003"]`} {
		var back Marks
		if err := json.Unmarshal([]byte(in), &back); err == nil {
			t.Errorf("%s read as %v", in, back)
		}
	}
	if _, err := json.Marshal(Marks{2, 1}); err == nil {
		t.Error("a list out of order must not be written")
	}
	if _, err := json.Marshal(Marks{1, 1}); err == nil {
		t.Error("a mark that comes twice must not be written")
	}
	for _, c := range []struct {
		s    Marks
		want string
	}{{nil, "null"}, {Marks{}, "[]"}, {Marks{1<<32 - 2, 1<<32 - 1}, `["M-4294967294..M-4294967295"]`}} {
		b, err := json.Marshal(c.s)
		var back Marks
		if err != nil || string(b) != c.want || json.Unmarshal(b, &back) != nil || !slices.Equal(back, c.s) || (back == nil) != (c.s == nil) {
			t.Errorf("%v: %s, %v, back %v", c.s, b, err, back)
		}
	}
}

func TestMarksSets(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		gen := rapid.SliceOf(rapid.Custom(func(t *rapid.T) Mark { return Mark(rapid.Uint32Range(0, 60).Draw(t, "m")) }))
		a, b := NewMarks(gen.Draw(t, "a")...), NewMarks(gen.Draw(t, "b")...)
		both := a.Union(b)
		for m := Mark(0); m <= 60; m++ {
			inA, inB := slices.Contains(a, m), slices.Contains(b, m)
			if a.Contains(m) != inA || both.Contains(m) != (inA || inB) || a.Minus(b).Contains(m) != (inA && !inB) {
				t.Fatalf("%v: a %v b %v", m, a, b)
			}
		}
		if back := FromRuns(a.Runs()); !slices.Equal(back, a) {
			t.Fatalf("%v through runs is %v", a, back)
		}
		wire, err := json.Marshal(a)
		var back Marks
		if err != nil || json.Unmarshal(wire, &back) != nil || !slices.Equal(back, a) {
			t.Fatalf("%v written as %s read as %v (%v)", a, wire, back, err)
		}
	})
}

// The claim in Mark's comment: which codes could be taken for an item number.
func TestMarkCodesThatReadAsGTIN8(t *testing.T) {
	var both Marks
	for m := Mark(0); m < 1_000_000; m++ {
		code := m.Code()
		if _, err := ParseGTIN(code); err == nil {
			both = append(both, m)
			if !strings.HasPrefix(code, "11") {
				t.Errorf("%v: %s", m, code)
			}
		}
	}
	if len(both) != 254 || both[0] != 968 {
		t.Errorf("%d, from %v", len(both), both[0])
	}
}

func TestMarksStrings(t *testing.T) {
	s := NewMarks(append(MarksFromTo(1, 14), 72)...)
	if s.String() != "M-0001..M-0014, M-0072" || MarksFromTo(2, 1) != nil {
		t.Errorf("%s", s)
	}
	wire, err := json.Marshal(map[string]Mark{"mark": 19})
	var back map[string]Mark
	if err != nil || string(wire) != `{"mark":"M-0019"}` || json.Unmarshal(wire, &back) != nil || back["mark"] != 19 {
		t.Errorf("%s, %v, %v", wire, err, back)
	}
	if err := json.Unmarshal([]byte(`{"mark":"M-0019-K"}`), &back); err == nil {
		t.Error("a wrong check sign was read from JSON")
	}
}

func FuzzParseMark(f *testing.F) {
	f.Add("M-0019-X")
	f.Add("111111MX")
	f.Fuzz(func(t *testing.T, s string) {
		m, err := ParseMark(s)
		if err != nil {
			return
		}
		if got := strings.ToUpper(strings.TrimSpace(s)); got != m.String() && got != m.Display() && got != m.Code() {
			t.Fatalf("%q read as %v, which is written in no such way", s, m)
		}
	})
}

func FuzzMarksJSON(f *testing.F) {
	f.Add([]byte(`["M-0001..M-0014","M-0072"]`))
	f.Add([]byte(`[,"M-0001"`))
	f.Fuzz(func(t *testing.T, b []byte) {
		var s Marks
		if s.UnmarshalJSON(b) != nil || s == nil {
			return
		}
		wire, err := s.MarshalJSON()
		var back Marks
		if err != nil || back.UnmarshalJSON(wire) != nil || !slices.Equal(back, s) {
			t.Fatalf("%s: %v written as %s (%v), read as %v", b, s, wire, err, back)
		}
	})
}

func BenchmarkMarksUnmarshal(b *testing.B) {
	wire := []byte(`["M-0001..M-0014","M-0072"]`)
	b.ReportAllocs()
	for b.Loop() {
		var s Marks
		if err := s.UnmarshalJSON(wire); err != nil {
			b.Fatal(err)
		}
	}
}

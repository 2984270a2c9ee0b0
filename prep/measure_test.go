package prep

import (
	"encoding/json"
	"math"
	"math/big"
	"testing"

	"pgregory.net/rapid"
)

func TestParseLength(t *testing.T) {
	for _, c := range []struct {
		s    string
		want Length
	}{
		{`8 1/2"`, 215900}, {"8.5in", 215900}, {"8-1/2 in.", 215900}, {"8½″", 215900}, {"½ in", 12700}, {"2¼ in", 57150},
		{"21,6 cm", 216000}, {"21.6cm", 216000}, {"63 cm", 630000}, {"159mm", 159000}, {"3/16 in", 4763}, {".5 in", 12700},
		{"5 ft 2 in", 1574800}, {`5'2"`, 1574800}, {"1 mil", 25}, {"1.5 mil", 38}, {"0.0005 mm", 1}, {"0.0004 mm", 0}, {"1 M", 1000000},
	} {
		if got, err := ParseLength(c.s); err != nil || got != c.want {
			t.Errorf("ParseLength(%q) = %d µm, %v; want %d", c.s, got, err, c.want)
		}
	}
	for _, s := range []string{"", "8", "in", "8 in in", "-3 in", "8 1/0 in", "8 1 in", "1,200 mm", "1.2.3 mm", "8 furlong", "1/2/3 in", "8.5 1/2 in",
		"99999999999999999 m", "1234567890123456789012 mm", "8 kg", ". in", "1e3 mm", "½½ in"} {
		if got, err := ParseLength(s); err == nil {
			t.Errorf("ParseLength(%q) = %d µm", s, got)
		}
	}
}

func TestParseMass(t *testing.T) {
	for _, c := range []struct {
		s    string
		want Mass
	}{
		{"540g", 540000}, {"1.2 lb", 544311}, {"12 oz", 340194}, {"1 lb 3 oz", 538641}, {"0,5 kg", 500000}, {"1 lb", Pound}, {"1 oz", Ounce},
		{"2.5 mg", 3}, {"50 LB", 22679619},
	} {
		if got, err := ParseMass(c.s); err != nil || got != c.want {
			t.Errorf("ParseMass(%q) = %d mg, %v; want %d", c.s, got, err, c.want)
		}
	}
	if got, err := ParseMass("63 cm"); err == nil {
		t.Errorf("63 cm is not a mass, got %v", got)
	}
}

func TestParseDims(t *testing.T) {
	std := Dims{158750, 114300, 88900}
	for _, c := range []struct {
		s    string
		want Dims
	}{
		{"6.25x4.5x3.5in", std}, {"6.25 x 4.5 x 3.5 in", std}, {`6 1/4" × 4 1/2" × 3 1/2"`, std}, {"158.75X114.3X88.9mm", std},
		{"159x114x89mm", Dims{159000, 114000, 89000}}, {"10 cm x 4 in x 30 mm", Dims{100000, 101600, 30000}},
	} {
		if got, err := ParseDims(c.s); err != nil || got != c.want {
			t.Errorf("ParseDims(%q) = %v, %v; want %v", c.s, got, err, c.want)
		}
	}
	for _, s := range []string{"", "3x4", "3x4x5", "3x4x5x6 in", "ax4x5 in", "x x in", "3in x 4 x"} {
		if got, err := ParseDims(s); err == nil {
			t.Errorf("ParseDims(%q) = %v", s, got)
		}
	}
}

func TestMeasureJSON(t *testing.T) {
	type wire struct {
		L Length
		M Mass
		P Money
		Z Fixed
		D Dims
	}
	v := wire{158750, 540, -115417, FixedOf(-1.6449), Dims{Inch, 1, 0}}
	b, err := json.Marshal(v)
	want := `{"L":158.75,"M":0.54,"P":-115.417,"Z":-1.6449,"D":[25.4,0.001,0]}`
	if err != nil || string(b) != want {
		t.Fatalf("%s, %v; want %s", b, err, want)
	}
	var back wire
	if err := json.Unmarshal(b, &back); err != nil || back != v {
		t.Fatalf("back: %+v, %v", back, err)
	}
	if err := json.Unmarshal([]byte(`{"L":1.5875E+2,"M":54e-2,"P":0e9,"D":[ 25.40 , 1e-3,0.000000]}`), &back); err != nil || back.L != v.L || back.M != v.M || back.P != 0 || back.D != v.D {
		t.Fatalf("exponents: %+v, %v", back, err)
	}
	for _, s := range []string{`{"L":0.0001}`, `{"L":1e30}`, `{"L":9223372036854775808}`, `{"L":"8.5"}`, `{"D":[1,2]}`, `{"D":[1,2,3,4]}`, `{"D":"1x2x3"}`, `{"D":[1,2,"3"]}`, `{"L":1e999}`} {
		if err := json.Unmarshal([]byte(s), &back); err == nil {
			t.Errorf("%s was read as %+v", s, back)
		}
	}
}

// What is written reads back, and it is the decimal number it claims to be.
func TestDecimalInverse(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		v := rapid.Int64Range(-1<<62, 1<<62).Draw(t, "v")
		places := rapid.IntRange(0, 6).Draw(t, "places")
		b := appendDecimal(nil, v, places)
		got, err := parseDecimal(b, places)
		if err != nil || got != v {
			t.Fatalf("%d written as %s read as %d, %v", v, b, got, err)
		}
		r, ok := new(big.Rat).SetString(string(b))
		scale := new(big.Int).Exp(big.NewInt(10), big.NewInt(int64(places)), nil)
		if !ok || r.Cmp(new(big.Rat).SetFrac(big.NewInt(v), scale)) != 0 {
			t.Fatalf("%d with %d places written as %s", v, places, b)
		}
	})
}

// mulDiv against big rationals: half away from zero.
func TestMulDiv(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		a := rapid.Int64Range(-1<<40, 1<<40).Draw(t, "a")
		b := rapid.Int64Range(-1<<22, 1<<22).Draw(t, "b")
		c := rapid.OneOf(rapid.Int64Range(1, 20), rapid.Int64Range(-20, -1), rapid.Int64Range(1, 1<<40)).Draw(t, "c")
		num := new(big.Int).Mul(big.NewInt(a), big.NewInt(b))
		want := new(big.Rat).SetFrac(num, big.NewInt(c))
		sign := want.Sign()
		w, ok := roundRat(want.Abs(want))
		if got := mulDiv(a, b, c); !ok || got != w*int64(sign) {
			t.Fatalf("mulDiv(%d, %d, %d) = %d, want %d", a, b, c, got, w*int64(sign))
		}
	})
	if got := mulDiv(1<<62, 1<<62, 1); got != 1<<63-1 {
		t.Errorf("an overflow gives %d, want the end of the range", got)
	}
}

func TestMeasureStrings(t *testing.T) {
	for got, want := range map[string]string{
		Length(158750).String():       "158.75 mm",
		Length(158750).InchString():   "6.25 in",
		Length(-6350).InchString():    "-0.25 in",
		Mass(540000).String():         "540 g",
		(12500 * Gram).String():       "12.5 kg",
		(18 * Kilogram).PoundString(): "39.68 lb",
		Dims{1000, 2500, 0}.String():  "1×2.5×0 mm",
		FixedOf(0.9534).String():      "0.9534",
	} {
		if got != want {
			t.Errorf("got %q, want %q", got, want)
		}
	}
	if d := (Dims{1, 3, 2}).Sorted(); d != (Dims{3, 2, 1}) {
		t.Errorf("Sorted = %v", d)
	}
}

func TestMoney(t *testing.T) {
	usd, yen := Currency{"USD", 2}, Currency{"JPY", 0}
	for _, c := range []struct {
		cur  Currency
		in   string
		want Money
		show string
	}{
		{usd, "16.50", 1650000, "16.50 USD"}, {usd, "16,5", 1650000, "16.50 USD"}, {usd, "0.28", 28000, "0.28 USD"},
		{usd, "0.00499", 499, "0.00 USD"}, {usd, "0.005", 500, "0.01 USD"}, {usd, "-0.005", -500, "-0.01 USD"}, {usd, "-0.004", -400, "0.00 USD"},
		{yen, "115.4", 115400, "115 JPY"},
	} {
		m, err := c.cur.Parse(c.in)
		if err != nil || m != c.want || c.cur.Format(m) != c.show {
			t.Errorf("%s: %d, %v, shown %s; want %d, %s", c.in, m, err, c.cur.Format(m), c.want, c.show)
		}
	}
	if m, err := ParseMoney(" 24.5 "); err != nil || m != 24500 || m.Rounded() != 25 || m.Tenths() != 245 {
		t.Errorf("ParseMoney: %v, %v", m, err)
	}
	if _, err := ParseMoney("0.0001"); err == nil {
		t.Error("finer than a thousandth of a minor unit must be refused")
	}
	for _, in := range []string{"1,200", "1,200.50", "", "abc", "0.000001"} {
		if m, err := usd.Parse(in); err == nil {
			t.Errorf("%q read as %v", in, m)
		}
	}
	if m, err := usd.Parse("0,125"); err != nil || m != 12500 || m.String() != "12.5" {
		t.Errorf("0,125: %v, %v", m, err)
	}
	if got := Money(-1500).Rounded(); got != -2 {
		t.Errorf("half goes away from zero: %d", got)
	}
}

func TestFixedRange(t *testing.T) {
	inf := math.Inf(1)
	if FixedOf(inf) != 1<<63-1 || FixedOf(-inf) != -(1<<63-1) || FixedOf(inf-inf) != 0 {
		t.Errorf("%d %d %d", FixedOf(inf), FixedOf(-inf), FixedOf(inf-inf))
	}
	if FixedOf(0.0000005) != 1 || FixedOf(-0.0000005) != -1 {
		t.Error("half goes away from zero")
	}
}

func FuzzParseMeasure(f *testing.F) {
	for _, s := range []string{`8 1/2"`, "21,6 cm", "1 lb 3 oz", "6.25 x 4.5 x 3.5 in", "2¼ in", "½½"} {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, s string) {
		if l, err := ParseLength(s); err == nil && l < 0 {
			t.Fatalf("%q is %v", s, l)
		}
		if m, err := ParseMass(s); err == nil && m < 0 {
			t.Fatalf("%q is %v", s, m)
		}
		if d, err := ParseDims(s); err == nil && (d[0] < 0 || d[1] < 0 || d[2] < 0) {
			t.Fatalf("%q is %v", s, d)
		}
	})
}

func BenchmarkLengthUnmarshal(b *testing.B) {
	wire := []byte("158.75")
	b.ReportAllocs()
	for b.Loop() {
		var l Length
		if err := l.UnmarshalJSON(wire); err != nil {
			b.Fatal(err)
		}
	}
}

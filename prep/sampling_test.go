package prep

import (
	"math/big"
	"strconv"
	"strings"
	"testing"

	"pgregory.net/rapid"
)

func TestZeroBadValues(t *testing.T) {
	for _, r := range checkRows(t, "sampling.txt", "zero") {
		p, err := ZeroBad(r.int(t, 0), r.int(t, 1), FixedOf(r.float(t, 2)))
		if err != nil || p.Sample != r.int(t, 3) {
			t.Errorf("%s: %+v, %v; want %s", r.place, p, err, r.col[3])
		}
	}
	p, _ := ZeroBad(40, 4, FixedOf(.95))
	if !strings.HasPrefix(p.Statement(), "0 of 21 bad rules out 4 or more bad of 40 at 95 %") || p.Reached < p.Confidence {
		t.Errorf("%+v: %s", p, p.Statement())
	}
	for _, c := range [][3]int{{0, 1, 950000}, {10, 0, 950000}, {10, 11, 950000}, {10, 1, 0}, {10, 1, 1000000}} {
		if p, err := ZeroBad(c[0], c[1], Fixed(c[2])); err == nil {
			t.Errorf("%v: %+v", c, p)
		}
	}
}

// Against the definition, with binomial coefficients and a walk from one up.
func TestZeroBadDefinition(t *testing.T) {
	binomial := func(n, k int) *big.Int { return new(big.Int).Binomial(int64(n), int64(k)) }
	rapid.Check(t, func(t *rapid.T) {
		lot := rapid.IntRange(1, 300).Draw(t, "lot")
		bad := rapid.IntRange(1, lot).Draw(t, "bad")
		conf := Fixed(rapid.Int64Range(1, 999_999).Draw(t, "confidence"))
		want := 0
		for n := 1; want == 0; n++ {
			// million·C(N-D,n) ≤ (million - conf)·C(N,n)
			left := new(big.Int).Mul(big.NewInt(1_000_000), binomial(lot-bad, n))
			right := new(big.Int).Mul(big.NewInt(1_000_000-int64(conf)), binomial(lot, n))
			if n > lot-bad || left.Cmp(right) <= 0 {
				want = n
			}
		}
		got, err := ZeroBad(lot, bad, conf)
		if err != nil || got.Sample != want {
			t.Fatalf("%+v, %v; want %d", got, err, want)
		}
		if pa := AcceptLot(lot, bad, got.Sample, 0); pa.Cmp(noneBad(lot, bad, got.Sample)) != 0 {
			t.Fatalf("%+v: two ways to the same chance differ: %v", got, pa)
		}
	})
}

func TestZeroBadLargeLot(t *testing.T) {
	p, err := ZeroBad(1_000_000, 1000, FixedOf(.95))
	if err != nil || p.Sample != 2990 {
		t.Errorf("%+v, %v", p, err)
	}
}

func TestCodeLetters(t *testing.T) {
	rows := checkRows(t, "sampling.txt", "letters")
	for i, r := range rows {
		for j, want := range strings.Fields(r.col[2]) {
			for _, lot := range []int{r.int(t, 0), r.int(t, 1)} {
				if got, err := CodeLetter(lot, inspectionLevels[j]); err != nil || got != want {
					t.Errorf("%s: lot %d level %s: %s, %v; want %s", r.place, lot, inspectionLevels[j], got, err, want)
				}
			}
		}
		if i > 0 && r.int(t, 0) != rows[i-1].int(t, 1)+1 {
			t.Errorf("%s: a gap before %s", r.place, r.col[0])
		}
	}
	if _, err := CodeLetter(1, LevelII); err == nil {
		t.Error("a lot of one has no plan")
	}
	if _, err := CodeLetter(10, "IV"); err == nil {
		t.Error("there is no level IV")
	}
}

func TestNormalPlans(t *testing.T) {
	for _, r := range checkRows(t, "sampling.txt", "plan") {
		p, err := NormalPlan(r.int(t, 0), InspectionLevel(r.col[1]), FixedOf(r.float(t, 2)))
		got := strings.Join([]string{itoa(p.Sample), itoa(p.Accept), itoa(p.Reject)}, " ")
		if err != nil || got != r.col[3] || p.Whole != (p.Sample == p.Lot) {
			t.Errorf("%s: %+v, %v; want %s (%s)", r.place, p, err, r.col[3], r.source)
		}
	}
	for _, c := range []struct {
		lot int
		aql float64
	}{{1, 1}, {100, 3}, {200_000, 1}} {
		if p, err := NormalPlan(c.lot, LevelII, FixedOf(c.aql)); err == nil {
			t.Errorf("%v: %+v", c, p)
		}
	}
}

// The build of Table II-A: one rejects from accept + 1; a plan taken from the
// letter's own row has that letter's sample size; along a row, and down a
// column, the accept number never falls.
func TestNormalTableShape(t *testing.T) {
	own := map[int]bool{}
	var letters string
	for _, r := range checkRows(t, "sampling.txt", "own") {
		own[r.int(t, 1)] = true
		if _, tabled := normalSingle[r.col[0][0]]; tabled {
			letters += r.col[0]
		}
	}
	if len(letters) != len(normalSingle) {
		t.Fatalf("letters %s, %d rows", letters, len(normalSingle))
	}
	above := make([]int, len(aqlColumns))
	for _, letter := range []byte(letters) {
		plans := strings.Fields(normalSingle[letter])
		if len(plans) != len(aqlColumns) {
			t.Fatalf("%c has %d plans", letter, len(plans))
		}
		before := 0
		for i, s := range plans {
			n, ac, re := parsePlan(s)
			if re != ac+1 || !own[n] || ac < before || ac < above[i] || s != itoa(n)+":"+itoa(ac)+","+itoa(re) {
				t.Errorf("%c at %s: %s", letter, aqlColumns[i], s)
			}
			before, above[i] = ac, ac
		}
	}
}

func itoa(n int) string { return strconv.Itoa(n) }

func TestOperatingPoints(t *testing.T) {
	for _, r := range checkRows(t, "sampling.txt", "oc") {
		points := OperatingPoints(r.int(t, 0), r.int(t, 1))
		for i, s := range strings.Fields(r.col[2]) {
			cell := checkRow{place: r.place, col: []string{s}}
			if got := points[i].Percent.Float(); !near(got, cell.float(t, 0), cell.digits(0)) {
				t.Errorf("%s: at Pa %v %v %%, want %s", r.place, points[i].Accept, got, s)
			}
		}
	}
	for _, r := range checkRows(t, "sampling.txt", "pa") {
		if got := AcceptShare(r.int(t, 0), r.int(t, 1), r.float(t, 2)/100); !near(got, r.float(t, 3), r.digits(3)) {
			t.Errorf("%s: Pa %.5f, want %s (%s)", r.place, got, r.col[3], r.source)
		}
	}
}

// One lot drawn from is, when it is large, as a stream is: and for a small one
// the sample taken without replacement is the sharper.
func TestAcceptLot(t *testing.T) {
	large, _ := AcceptLot(1_000_000, 10_000, 80, 2).Float64()
	if stream := AcceptShare(80, 2, .01); !near(large, stream, 1e-4) {
		t.Errorf("lot %v, stream %v", large, stream)
	}
	if one := AcceptLot(40, 4, 21, 21); one.Cmp(big.NewRat(1, 1)) != 0 {
		t.Errorf("accepting everything has the chance %v", one)
	}
	if none := AcceptLot(40, 4, 37, 0); none.Sign() != 0 {
		t.Errorf("37 of 40 cannot miss 4 bad, yet %v", none)
	}
	if AcceptShare(5, 5, .9) != 1 || AcceptShare(5, 0, 0) != 1 || AcceptShare(5, 0, 1) != 0 {
		t.Error("the ends of the curve")
	}
}

func TestDefectVocabulary(t *testing.T) {
	seen := map[string]bool{}
	for _, d := range Defects {
		if seen[d.ID] || !strings.HasPrefix(d.Cite, "7 CFR 42.11") || !strings.Contains(d.Cite, string(d.Class)) || !strings.HasPrefix(d.ID, d.On+"-") || d.Words == "" {
			t.Errorf("%+v", d)
		}
		seen[d.ID] = true
		if got, err := DefectByID(d.ID); err != nil || got != d {
			t.Errorf("%s: %+v, %v", d.ID, got, err)
		}
	}
	if _, err := DefectByID("label-999"); err == nil {
		t.Error("a word that is not there must be refused")
	}
}

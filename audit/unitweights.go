package audit

import (
	"fmt"
	"io"
	"math"
	"slices"
	"strings"

	"packwright/prep"
)

// UnitWeight is what accepted cartons of one item say of the mass of one unit,
// beside what the item's page says. It only proposes: a page changes when the
// owner revises the item, never of itself.
type UnitWeight struct {
	Item    string    `json:"item"`
	Cartons int       `json:"cartons"`
	Units   int       `json:"units"`
	Mean    prep.Mass `json:"mean_g"` // the median over the cartons
	SD      prep.Mass `json:"sd_g"`   // of one unit; 0: less than the weighing itself can show
	Low     prep.Mass `json:"low_g"`  // the mean lies between these in 95 of 100 such samples,
	High    prep.Mass `json:"high_g"` // by the normal law for a median
	Has     prep.Mass `json:"has_g"`  // as the item's page says now
	HasSD   prep.Mass `json:"has_sd_g"`
	// Propose: enough cartons, and the mean is off by more than three of its own
	// standard errors or was never measured.
	Propose bool `json:"propose"`
}

// learnFrom is how many cartons are needed before a mass is proposed.
const learnFrom = 5

// z95 is Φ⁻¹(0.975): two-sided 95 %.
const z95 = 1.959963984540054

// madToSD turns the median absolute deviation into a standard deviation, for
// what is normally distributed: 1/Φ⁻¹(3/4).
const madToSD = 1.4826022185056018

// filled is one accepted carton of one item: n units of net grams together.
type filled struct{ n, net, noise float64 }

// UnitWeights learns from every carton of one single item whose count was
// accepted and stands, by its last reading: mean = median(net/n); and with
// e = net − n·mean, Var e = n·σ² + σ_tare² + σ_packing² + σ_scale², so
// σ² = s² − median(noise/n) where s is the robust deviation of e/√n.
func (f *Fold) UnitWeights() []UnitWeight {
	cartons := map[string][]filled{}
	for _, c := range f.cartons.all() {
		if item, got, ok := f.filled(c); ok {
			cartons[item] = append(cartons[item], got)
		}
	}
	var out []UnitWeight
	for item, list := range cartons {
		out = append(out, learn(f.massOf(item), list))
	}
	slices.SortFunc(out, func(a, b UnitWeight) int { return strings.Compare(a.Item, b.Item) })
	return out
}

func (f *Fold) filled(c *carton) (string, filled, bool) {
	k := c.live()
	if k == nil || len(k.Lines) != 1 || k.Lines[0].Q < 1 || len(c.Weighs) == 0 {
		return "", filled{}, false
	}
	w := c.Weighs[len(c.Weighs)-1]
	if w.Fact.At < c.Placed.Last {
		return "", filled{}, false
	}
	s := f.sizes
	return f.names.text(k.Lines[0].Item), filled{float64(k.Lines[0].Q), (w.Gross - c.Tare - s.Packing).Grams(),
		square(s.TareSD) + square(s.PackingSD) + square(s.ScaleSD)}, true
}

func learn(has MassLine, list []filled) UnitWeight {
	u := UnitWeight{Item: has.Item, Cartons: len(list), Has: has.Mean, HasSD: has.SD}
	var each, noise []float64
	for _, c := range list {
		u.Units += int(c.n)
		each, noise = append(each, c.net/c.n), append(noise, c.noise/c.n)
	}
	mean := median(each)
	var off, spread, least []float64
	for _, c := range list {
		least = append(least, c.noise/(c.n*c.n))
		off = append(off, math.Abs(c.net-c.n*mean)/math.Sqrt(c.n))
		spread = append(spread, math.Abs(c.net/c.n-mean))
	}
	s := madToSD * median(off)
	u.Mean = prep.Mass(math.Round(mean * 1000))
	u.SD = prep.Mass(math.Round(1000 * math.Sqrt(max(0, s*s-median(noise)))))
	// The standard error of a median is √(π/2) times that of a mean; cartons that
	// happen to agree are not better known than the weighing lets them be.
	one := max(madToSD*median(spread), math.Sqrt(median(least)))
	se := math.Sqrt(math.Pi/2) * one / math.Sqrt(float64(len(list)))
	u.Low, u.High = prep.Mass(math.Round(1000*(mean-z95*se))), prep.Mass(math.Round(1000*(mean+z95*se)))
	u.Propose = len(list) >= learnFrom && (has.Mean <= 0 || math.Abs(mean-has.Mean.Grams()) > 3*se)
	return u
}

// median of a list that is not empty; it sorts the list.
func median(list []float64) float64 {
	slices.Sort(list)
	n := len(list)
	return (list[(n-1)/2] + list[n/2]) / 2
}

// UnitWeightsText writes one item a line.
func UnitWeightsText(w io.Writer, list []UnitWeight) error {
	b := &strings.Builder{}
	for _, u := range list {
		fmt.Fprintf(b, "%s: %s a unit (95 %%: %s to %s), sd %s, from %d units in %d cartons; its page says %s ± %s", u.Item, grams(u.Mean), grams(u.Low), grams(u.High), grams(u.SD), u.Units, u.Cartons, grams(u.Has), grams(u.HasSD))
		if u.Propose {
			b.WriteString("; revise the item?")
		}
		b.WriteString("\n")
	}
	if len(list) == 0 {
		b.WriteString("no accepted carton of one single item yet\n")
	}
	_, err := io.WriteString(w, b.String())
	return err
}

package audit

import (
	"fmt"
	"slices"
	"strings"

	"packwright/prep"
)

// account fills in the causes of every carton on the page, the pairs that one
// exchange explains, and the scales that are to be checked.
func (f *Fold) account(w *Why, p Priors) {
	for _, v := range w.Cartons {
		w.Explained = append(w.Explained, f.explain(v, p))
		for _, s := range f.swaps(v, p) {
			if !slices.ContainsFunc(w.Swaps, func(o Swap) bool { return o.Cartons == [2]string{s.Cartons[1], s.Cartons[0]} }) {
				w.Swaps = append(w.Swaps, s)
			}
		}
		if v.Weight == nil || v.Weight.Scale == "" || slices.ContainsFunc(w.Drift, func(d Drift) bool { return d.Scale == v.Weight.Scale }) {
			continue
		}
		if d := f.ScaleDrift(v.Weight.Scale); d.Alarm {
			w.Drift = append(w.Drift, d)
		}
	}
}

// text writes what the scale can see, and, where something is not as it should
// be, the causes with a bar for the weight alone and one with the count.
func (e Explained) text(b *strings.Builder, c Contents) {
	if e.Power != "" {
		fmt.Fprintf(b, "  power: %s\n", e.Power)
	}
	off := c.Weight != nil && c.Weight.Alarm || c.Counted != nil && *c.Counted != c.Scanned
	if !off {
		return
	}
	if len(e.Ranked) > 0 {
		fmt.Fprintf(b, "  %-38s %-20s  %s\n", "causes", "by the weight alone", "with the count")
	}
	for _, x := range e.Ranked {
		with := "not counted yet"
		switch {
		case x.RuledOut:
			with = "ruled out by the count"
		case c.Counted != nil:
			with = barred(x.Both)
		}
		fmt.Fprintf(b, "    %-36s %-20s  %s\n", x.Text, barred(x.Alone), with)
	}
	fmt.Fprintf(b, "  decided: %s\n", e.Says)
}

// barred writes a chance with a bar of ten.
func barred(p prep.Fixed) string {
	n := int(p.Float()*10 + 0.5)
	return strings.TrimSpace(fmt.Sprintf("%-9s %s", chance(p), strings.Repeat("=", n)))
}

// Words says what the pair means.
func (s Swap) Words() string {
	return fmt.Sprintf("a swap, %s: %s holds one %s and %s one %s that belong the other way round; residuals %+.0f g and %+.0f g",
		chance(s.Chance), s.Cartons[0], s.Items[0], s.Cartons[1], s.Items[1], s.Residual[0].Grams(), s.Residual[1].Grams())
}

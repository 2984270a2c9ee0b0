package prep

import (
	"cmp"
	"slices"
)

// writeSteps puts the steps that are left into working order: by phase, then
// as the rulebook lists them.
func (w *making) writeSteps() {
	for i, s := range w.book.Steps {
		if !w.steps[i].left() {
			continue
		}
		w.r.Steps = append(w.r.Steps, Step{ID: s.ID, Phase: s.Phase, Text: s.Say, Severity: w.steps[i].severity,
			Check: s.Check, Means: s.Means, Seconds: s.Seconds, Each: s.Each, OneIn: s.OneIn, Rule: w.c.rules[w.steps[i].rule].ID})
		if s.Phase == PhaseDry {
			w.r.DryWait = max(w.r.DryWait, s.Seconds)
		}
	}
	slices.SortStableFunc(w.r.Steps, func(a, b Step) int { return cmp.Compare(a.Phase, b.Phase) })
}

// writeLabels lists the labels, without those whose words are already printed
// on the bag, and what they are printed on.
func (w *making) writeLabels() {
	for i, l := range w.book.Labels {
		rule := w.labelledBy(i)
		if rule == "" || w.printed(l.Unless) {
			continue
		}
		n := max(l.Count, 1)
		w.r.Labels = append(w.r.Labels, LabelNeed{ID: l.ID, Where: w.where(l), Count: n, Rule: rule})
		w.addUse(Use{Material: l.Material, Amount: One * Fixed(n)}, KindLabel, rule)
	}
}

// where a label goes depends on what is outermost.
func (w *making) where(l LabelWord) string {
	switch {
	case w.box != nil && l.OnBox != "":
		return l.OnBox
	case w.box == nil && w.bag != nil && l.OnBag != "":
		return l.OnBag
	}
	return l.Where
}

func (w *making) labelledBy(label int) string {
	for _, i := range w.hits {
		if slices.Contains(w.c.rules[i].labels, label) {
			return w.c.rules[i].ID
		}
	}
	return ""
}

// printed tells whether the chosen bag says it already. Words to keep it
// closed count only on the outermost enclosure; a warning belongs to the bag.
func (w *making) printed(what string) bool {
	switch {
	case w.bag == nil:
		return false
	case what == "warning":
		return w.bag.PrintedWarning
	case what == "keep-closed":
		return w.bag.PrintedKeepClosed && w.box == nil
	}
	return false
}

// writeRest unites the materials that are neither wrap nor enclosure, and says
// how the sticker may come off.
func (w *making) writeRest() {
	for _, i := range w.hits {
		for _, u := range w.c.rules[i].uses {
			if u.kind != KindWrap && u.kind != KindBag && u.kind != KindBox {
				w.addUse(u.Use, u.kind, w.c.rules[i].ID)
			}
		}
		w.r.PairCheck = w.r.PairCheck || w.c.rules[i].PairCheck
	}
	w.r.Materials = w.uses
	w.r.Heat, w.r.Solvent = w.methods.has(WarmAir), w.methods.has(Remover)
	for _, m := range removalMeans {
		if w.methods.has(m) {
			w.r.RemovalMethods = append(w.r.RemovalMethods, w.removal(m))
		}
	}
}

// addUse unites uses of one material: the larger amount for other goods, the
// sum for labels, which are stuck on one by one.
func (w *making) addUse(u Use, kind, rule string) {
	amount := amountOf(u)
	if by := w.used(w.book.Materials.find(u.Material)); by != nil {
		u.Material = by.ID
	}
	for i := range w.uses {
		switch {
		case w.uses[i].Material != u.Material:
			continue
		case kind == KindLabel:
			w.uses[i].Amount += amount
		default:
			w.uses[i].Amount = max(w.uses[i].Amount, amount)
		}
		return
	}
	w.uses = append(w.uses, MaterialNeed{Material: u.Material, Kind: kind, Amount: amount, Rule: rule})
}

func (w *making) removal(m Means) Removal {
	how := Leaves(w.k.surface(), m).String()
	if note := scraperNote(w.k.surface(), m); note != "" {
		how = note
	}
	for _, i := range w.hits {
		if w.c.rules[i].allow.has(m) {
			return Removal{Means: m, How: how, Rule: w.c.rules[i].ID}
		}
	}
	return Removal{Means: m, How: how}
}

// writeCautions keeps the heaviest caution about each subject, the first of
// equals, in the order danger first. A caution about a means is left out when
// the recipe does not use it, and harm to goods is no matter once they stop.
func (w *making) writeCautions() {
	for _, i := range w.hits {
		for _, at := range w.c.rules[i].cautions {
			c := w.book.Cautions[at]
			if len(w.r.Stop) > 0 && c.Signal == SignalNotice {
				continue
			}
			if bit := bitOf(c.Means); bit != 0 && (w.methods|w.enclosed)&bit == 0 {
				continue
			}
			w.addCaution(Caution{ID: c.ID, Signal: c.Signal, About: c.About, Text: c.Say, Rule: w.c.rules[i].ID})
		}
	}
	slices.SortStableFunc(w.r.Cautions, func(a, b Caution) int { return cmp.Compare(b.Signal, a.Signal) })
}

func (w *making) addCaution(c Caution) {
	for i := range w.r.Cautions {
		if w.r.Cautions[i].About == c.About {
			if w.r.Cautions[i].Signal < c.Signal {
				w.r.Cautions[i] = c
			}
			return
		}
	}
	w.r.Cautions = append(w.r.Cautions, c)
}

package workflow

import (
	"fmt"
	"maps"
	"slices"
	"strings"

	"packwright/events"
	"packwright/prep"
)

// unit takes a piece's code for what is in hand; alone it asks where it goes.
func (b *Bench) unit(f *Floor, s Scan) Said {
	r := f.runAt(b.Station)
	switch {
	case b.Hand == HandCarton && f.inHandAt(b.Carton, b.Station):
		return b.place(f, s)
	case b.Hand == HandCount:
		return b.counted(f, s)
	case b.Hand == HandRun && r != nil:
		return b.prepped(f, r, s)
	}
	return b.where(f, s)
}

// prepped takes a piece's code in a run: a reading that a step asks for, the
// ends of a range of labels, the two codes of a pair check, or a finished unit.
func (b *Bench) prepped(f *Floor, r *Run, s Scan) Said {
	recipe := f.recipeOf(r)
	if s.Class == ScanMark && len(r.Live) == 0 && slices.Contains(r.Marks, s.Mark) {
		return b.ends(r, s.Mark)
	}
	if step, ok := unchecked(r, recipe, 1); ok {
		if step.Check == prep.CheckScan {
			return b.checked(r, step, strings.TrimSpace(s.Raw))
		}
		return prompt(step.Text, asks(step))
	}
	if s.Class == ScanItem && f.marked(r) {
		b.Boxed = strings.TrimSpace(s.Raw)
		return prompt("Box read.", "Now its label.")
	}
	ask := map[string]any{"run": r.Run}
	if s.Class == ScanMark {
		ask["mark"] = s.Mark
		if b.Boxed != "" {
			ask["code"] = b.Boxed
		}
	} else {
		ask["q"], ask["code"] = 1, strings.TrimSpace(s.Raw)
	}
	b.Boxed = ""
	return b.ready(ask)
}

// ready finishes units; where the pieces cannot stay, an empty tote is asked for.
func (b *Bench) ready(ask map[string]any) Said {
	return b.give("finish-units", ask, then{Do: "made", Ask: ask})
}

func (b *Bench) mixed(f *Floor, t then) Said {
	return b.wants("Ready ones and others do not mix.", "Scan an empty tote for the ready ones.", then{Do: "ready-into", Ask: t.Ask})
}

func (b *Bench) readyInto(f *Floor, t then, s Scan) (Said, bool) {
	if s.Class != ScanTote {
		return Said{}, false
	}
	t.Ask["to"] = s.Code
	return b.ready(t.Ask), true
}

// made tells how many of a run are ready.
func (b *Bench) made(f *Floor, _ then) Said {
	r := f.runAt(b.Station)
	if r == nil {
		b.Hand = HandFree
		return Said{Text: "Ready. The run is over.", Next: "Scan the next tote."}
	}
	said := b.step(f)
	return Said{Text: fmt.Sprintf("%d ready.", r.Made), Next: said.Text + " " + said.Next}.short(said.Next)
}

// short falls back on a shorter second line when the two are too long together.
func (s Said) short(next string) Said {
	if len(strings.Fields(s.Next)) > 12 {
		s.Next = next
	}
	return s
}

// ends waits for the last label of a range and makes it live.
func (b *Bench) ends(r *Run, first prep.Mark) Said {
	return b.wants("First label "+first.Display()+".", "Scan the last label of the range.", then{Do: "range", Run: r.Run, Mark: first})
}

func (b *Bench) ranged(f *Floor, t then, s Scan) (Said, bool) {
	if s.Class != ScanMark {
		return Said{}, false
	}
	return b.give("labels-live", map[string]any{"run": t.Run, "from": t.Mark, "to": s.Mark}, then{Do: "step"}), true
}

// done confirms the step that comes next.
func (b *Bench) done(f *Floor) Said {
	r := f.runAt(b.Station)
	if r == nil || b.Hand != HandRun {
		return no("No step is open here.", "Scan a tote.")
	}
	step, ok := unchecked(r, f.recipeOf(r), 1)
	if !ok {
		if step, ok = closing(r, f.recipeOf(r)); !ok {
			return b.step(f)
		}
	}
	value := ""
	if step.Check == prep.CheckValue {
		value, b.Number = b.Number, ""
		if value == "" {
			return no("What does it say?", "Key it in, then DONE.")
		}
	}
	return b.checked(r, step, value)
}

// closing gives the step asked when a run is closed, when it is not confirmed yet.
func closing(r *Run, recipe *prep.Recipe) (prep.Step, bool) {
	for _, s := range recipe.Required() {
		if atClose(s) && !r.Checked[s.ID].OK {
			return s, true
		}
	}
	return prep.Step{}, false
}

func (b *Bench) checked(r *Run, step prep.Step, value string) Said {
	ask := map[string]any{"run": r.Run, "step": step.ID}
	if value != "" {
		ask["value"] = value
	}
	return b.give("check-step", ask, then{Do: "step"})
}

// where says where a piece goes that was scanned alone: into the carton that
// wants it, back to its tote, or aside. While a carton is being counted here it
// says nothing of plans.
func (b *Bench) where(f *Floor, s Scan) Said {
	here := "Set it in " + aside(b.Station) + "."
	if f.countingAt(b.Station) {
		return prompt("A carton is being counted here.", here)
	}
	item, owner, stage, place := s.Item, "", events.Prepped, ""
	if s.Class == ScanMark {
		cell := f.Ledger.Find(s.Mark)
		v, void := f.Voided[s.Mark]
		switch {
		case void:
			r := cancelled(v)
			return no(r.Text, r.Next)
		case cell == nil && f.Spent.Has(s.Mark):
			return prompt("That piece has left.", "Set it aside and call.")
		case cell == nil:
			return no("That label is on no piece.", here)
		}
		item, owner, stage, place = cell.Item, f.Lots[cell.Lot].Owner, cell.Stage, cell.Place
		if c := f.Cartons[place]; c != nil {
			return prompt("It is in "+whereabouts(c)+".", "Put it back there, or TAKE OUT.")
		}
	}
	if item == "" {
		return no("Unknown code.", here)
	}
	if stage != events.Prepped {
		return prompt("Not ready: "+string(stage)+".", "Back to "+place+".")
	}
	if c := f.belongs(item, owner, ""); c != nil {
		return prompt("It goes into "+whereabouts(c)+".", "Scan that carton, then the piece.")
	}
	if place != "" {
		return prompt("No carton wants one now.", "Leave it in "+place+".")
	}
	return prompt("No carton wants one now.", here)
}

// countingAt says whether a carton of a station is being counted.
func (f *Floor) countingAt(station string) bool {
	for _, c := range f.Cartons {
		if c.Bench == station && c.State == CartonCounting {
			return true
		}
	}
	return false
}

// outOf waits for the roll or pack that follows one that is used up.
func (b *Bench) outOf(f *Floor) Said {
	r := f.runAt(b.Station)
	if r == nil || len(r.Materials) == 0 {
		return no("Nothing was drawn for a run here.", "Scan its tote first.")
	}
	may := slices.Sorted(maps.Keys(r.Materials))
	return b.which(f, may, then{Do: "used-up", Run: r.Run})
}

func (b *Bench) usedUp(f *Floor, t then, material string) Said {
	t = then{Do: "next-roll", Run: t.Run, Material: material}
	return b.wants("Out of "+material+"."+f.insteadOf(f.Runs[t.Run], material), "Scan the next "+material+", or PAUSE.", t)
}

func (b *Bench) nextRoll(f *Floor, t then, s Scan) (Said, bool) {
	switch {
	case s.Class == ScanCard && s.Code == "PAUSE":
		return b.pause(f, "out of "+t.Material), true
	case s.Class != ScanMaterial:
		return Said{}, false
	}
	return b.give("swap-material", map[string]any{"run": t.Run, "material": t.Material, "to": s.Code}, then{Do: "step"}), true
}

// insteadOf says what the run's rulebook lists to take a material's place: the
// supervisor decides.
func (f *Floor) insteadOf(r *Run, material string) string {
	if r == nil {
		return ""
	}
	book := f.Books[r.Rev]
	if book == nil {
		return ""
	}
	if m, ok := book.Materials.Find(material); ok && len(m.Substitutes) > 0 {
		return " No more? Call: " + m.Substitutes[0] + " may do."
	}
	return ""
}

// cartonsAt lists the cartons in hand at a station, by code.
func (f *Floor) cartonsAt(station string) (out []string) {
	for code, c := range f.Cartons {
		if c.Bench == station && slices.Contains(inHand, c.State) {
			out = append(out, code)
		}
	}
	slices.Sort(out)
	return out
}

// sentence makes a sentence of an input error's half.
func sentence(s string) string {
	if s == "" {
		return ""
	}
	s = strings.ToUpper(s[:1]) + s[1:]
	if last := s[len(s)-1]; last != '.' && last != '?' {
		s += "."
	}
	return s
}

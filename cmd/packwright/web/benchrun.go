package web

import (
	"fmt"
	"strings"

	"packwright/prep"
	"packwright/workflow"
)

// runSheet is the page of a run: danger first, then the step that comes next among
// its neighbours, what this surface allows, and the labels left.
type runSheet struct {
	workflow.Shows
	Plates []plate
	Steps  []stepDrawn
	Labels []labelsDrawn
	Digits bool // a number may be given
	Value  bool // what a pack says may be: a date, a lot, a serial
	Before int  // steps before those shown
	After  int
}

// around is how many steps are shown after the one that comes next.
const around = 3

// window says which steps are shown: while one is to be confirmed, that and its
// neighbours; else all, for the hands go through them with each unit.
func window(r *workflow.RunShown) (from, to int) {
	for i, s := range r.Steps {
		if s.Now {
			return max(i-1, 0), min(i+1+around, len(r.Steps))
		}
	}
	if r.Fetch != "" {
		return 0, min(around, len(r.Steps))
	}
	return 0, len(r.Steps)
}

// plate is a safety plate: the signal word of ANSI Z535 on its colour, and for each
// danger of that weight a drawing and the act.
type plate struct {
	Class, Word string
	Lines       []plateLine
}

type plateLine struct{ Pic, Text string }

// stepDrawn is a step with its drawing.
type stepDrawn struct {
	workflow.StepShown
	No  int
	Pic string
}

// labelsDrawn are the labels of one kind, as strokes: solid those used, hollow
// those left.
type labelsDrawn struct {
	Kind string
	workflow.LabelShown
	Used, Hollow Tally
	Many         bool
}

// platePics say which drawing a caution has, by what it is about.
var platePics = map[string]string{
	"remover-vapour": "fire", "warmth": "air", "hot-nozzle": "nozzle", "stains": "stain", "cutting": "edge", "edges": "corner", "glass": "glass",
	"fragile": "glass", "leak": "drop", "lifting": "lift", "hazard": "stop", "cell": "stop", "crush": "crush", "cool": "air", "bag": "bag", "film": "film",
	"window": "film", "cloth": "film", "label-place": "label", "printed-marks": "label", "print": "label", "date": "label", "bare-box": "label", "set": "label", "case": "crush", "tape": "tape",
}

// stepPics say which drawing a step has: by what it works with, else by its phase.
var (
	meansPics = map[prep.Means]string{prep.ColdPeel: "peel", prep.WarmAir: "air", prep.Remover: "drop", prep.Scraper: "scrape", prep.UsesBag: "bag", prep.UsesBox: "box", prep.UsesTape: "tape", prep.UsesBlade: "edge"}
	phasePics = map[prep.Phase]string{prep.PhaseLook: "look", prep.PhaseRemove: "peel", prep.PhaseClean: "dab", prep.PhaseDry: "clock", prep.PhaseProtect: "wrap", prep.PhaseClose: "box", prep.PhaseLabel: "label", prep.PhaseVerify: "scan"}
)

// runDrawn draws a run.
func runDrawn(show workflow.Shows) runSheet {
	out := runSheet{Shows: show, Digits: len(show.Next) > 0 && show.Next[0] == "READY"}
	for _, c := range show.Run.Cautions {
		pic := platePics[c.About]
		if pic == "" {
			pic = "stop"
		}
		word := c.Signal.String()
		if n := len(out.Plates); n == 0 || out.Plates[n-1].Word != word {
			out.Plates = append(out.Plates, plate{Class: strings.ToLower(word), Word: word})
		}
		last := &out.Plates[len(out.Plates)-1]
		last.Lines = append(last.Lines, plateLine{pic, c.Text})
	}
	from, to := window(show.Run)
	for i, s := range show.Run.Steps {
		pic, ok := meansPics[s.Means]
		if !ok {
			pic = phasePics[s.Phase]
		}
		if s.Now && s.Check == prep.CheckValue {
			out.Value = true
		}
		if i >= from && i < to {
			out.Steps = append(out.Steps, stepDrawn{s, i + 1, pic})
		}
	}
	out.Before, out.After = from, len(show.Run.Steps)-to
	for _, l := range show.Run.Labels {
		field := Field{Wide: 350, High: 40, Full: max(l.Printed, 1)}
		used := min(l.Used, l.Printed)
		d := labelsDrawn{Kind: strings.ReplaceAll(string(l.Kind), "-", " "), LabelShown: l, Many: l.Printed > 0}
		if used > 0 {
			d.Used = field.strokes(0, used, "st")
		}
		if l.Left() > 0 {
			d.Hollow = field.strokes(used, l.Left(), "hollow")
		}
		out.Labels = append(out.Labels, d)
	}
	return out
}

// Says tells the labels of one kind.
func (l labelsDrawn) Says() string {
	return fmt.Sprintf("%s labels: %d printed, %d used, %d left, %d spoiled", l.Kind, l.Printed, l.LabelShown.Used, l.Left(), l.Spoiled)
}

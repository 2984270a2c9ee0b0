package workflow

import (
	"fmt"
	"maps"
	"slices"
	"strings"
	"time"

	json "github.com/goccy/go-json"

	"packwright/events"
	"packwright/prep"
)

// checkStepAsk is a person's word on a step: of the whole run, of n units, or of one by its label.
type checkStepAsk struct {
	ofRun
	Step  string    `json:"step"`
	Mark  prep.Mark `json:"mark"`
	N     int       `json:"n"`     // 0: the whole run; for a step checked on each or on samples: one
	OK    *bool     `json:"ok"`    // left out: yes
	Value reading   `json:"value"` // a reading, or the code that was read
	step  prep.Step
}

// reading is what somebody read off: words, or a number written as one.
type reading string

// UnmarshalJSON takes a string or a number.
func (r *reading) UnmarshalJSON(b []byte) error {
	if len(b) > 0 && b[0] == '"' {
		return json.Unmarshal(b, (*string)(r))
	}
	var n json.Number
	err := json.Unmarshal(b, &n)
	*r = reading(n)
	return err
}

func (in *checkStepAsk) check() error {
	if in.Step == "" || in.N < 0 || in.N > 1 && in.Mark != 0 {
		return prep.Input("a check needs its step, and one label or a number of units", "scan the step on the card")
	}
	return nil
}

func (in *checkStepAsk) ok() bool { return in.OK == nil || *in.OK }

// PairCheck is the step that the two scans of finish-units are: item and label, before the lid closes.
const PairCheck = "pair-check"

// atClose says whether a step is about the bench and asked when the run is
// closed: the hot tool back in its holder.
func atClose(s prep.Step) bool { return s.Phase == prep.PhaseVerify && s.Means == prep.WarmAir }

// sampled says whether a step is checked on units and not once for the run.
func sampled(s prep.Step) bool { return s.Each || s.OneIn > 0 }

var checkStepRule = on(rule{Name: "check-step", Who: packers, Late: true, Moves: []Move{{"run", "open", "closed"}}}, inHands(
	gate[checkStepAsk]{standing, func(d *decision, in *checkStepAsk) *Refusal {
		if in.recipe != nil {
			in.step, _ = in.recipe.Step(in.Step)
		}
		if atClose(in.step) { // asked before any run is closed
			return nil
		}
		return d.stands(&in.ofRun)
	}},
	gate[checkStepAsk]{Gate{"a step of the recipe", "E-SYS-07", ""}, func(d *decision, in *checkStepAsk) *Refusal {
		if in.step.ID == "" {
			return refuse("E-SYS-07", fmt.Sprintf("Step %q", in.Step))
		}
		return nil
	}},
	gate[checkStepAsk]{Gate{"a label of this run", "E-PRE-10", ""}, func(d *decision, in *checkStepAsk) *Refusal {
		if in.Mark == 0 {
			return nil
		}
		d.scope.Mark, in.N = in.Mark, 1
		if u := d.f.Units[in.Mark]; !in.run.Live.Contains(in.Mark) && (u == nil || u.Run != in.run.Run) {
			return refuse("E-PRE-10", in.Mark.Display())
		}
		return nil
	}},
	gate[checkStepAsk]{Gate{"no more units than the run has", "E-INT-05", ""}, func(d *decision, in *checkStepAsk) *Refusal {
		if in.N > in.run.Q {
			return refuse("E-INT-05", in.N)
		}
		if in.N == 0 && sampled(in.step) {
			in.N = 1
		}
		return nil
	}},
	gate[checkStepAsk]{Gate{"a reading where the step asks for one", "E-PRE-02", ""}, func(d *decision, in *checkStepAsk) *Refusal {
		if in.ok() && in.Value == "" && (in.step.Check == prep.CheckValue || in.step.Check == prep.CheckScan) {
			return refuse("E-PRE-02", stepName(in.recipe, in.step))
		}
		return nil
	}},
	gate[checkStepAsk]{Gate{"the code read is of the item in hand", "E-PRE-03", ""}, func(d *decision, in *checkStepAsk) *Refusal {
		if in.ok() && in.step.Check == prep.CheckScan {
			return d.rightItem(in.run, string(in.Value))
		}
		return nil
	}},
	gate[checkStepAsk]{Gate{"another person's eyes where the step asks for them", "E-AUT-03", ""}, func(d *decision, in *checkStepAsk) *Refusal {
		if in.ok() && in.step.Check == prep.CheckLook && d.badge.Badge == in.run.Badge && d.f.policy.Persons > 1 {
			return refuse("E-AUT-03")
		}
		return nil
	}},
	gate[checkStepAsk]{Gate{"its time has passed; nothing is closed before it is dry", "E-PRE-13", ""}, func(d *decision, in *checkStepAsk) *Refusal {
		if !in.ok() {
			return nil
		}
		if in.step.Phase >= prep.PhaseDry {
			if no := d.dry(in.run, in.recipe); no != nil {
				return no
			}
		}
		if in.step.Check == prep.CheckTimer && in.step.Phase != prep.PhaseDry {
			return d.rested(in.run, in.step.Seconds, func(prep.Step) bool { return true })
		}
		return nil
	}},
), func(d *decision, in *checkStepAsk) {
	d.begin(&in.ofRun)
	d.emit(&events.StepChecked{Run: in.run.Run, Step: in.Step, Mark: in.Mark, N: in.N, OK: in.ok(), Value: string(in.Value)})
	after := *in.run
	after.Checked = withCheck(in.run, &events.StepChecked{Step: in.Step, N: in.N, OK: in.ok()}, d.c.At)
	d.ends(&after, in.recipe)
})

// stepName gives a step as the card shows it: 3 (wrap all faces).
func stepName(r *prep.Recipe, s prep.Step) string {
	for i := range r.Steps {
		if r.Steps[i].ID == s.ID {
			return fmt.Sprintf("%d (%s)", i+1, strings.ReplaceAll(s.ID, "-", " "))
		}
	}
	return s.ID
}

// rightItem refuses a code that is not of the item a run makes: a short code of
// the house, or what a scanner read.
func (d *decision) rightItem(r *Run, code string) *Refusal {
	says := code
	if g, err := prep.ParseGTIN(code); err == nil && d.f.Codes[g.Norm14()] != "" {
		says = d.f.Codes[g.Norm14()]
	}
	if says != r.Item {
		return refuse("E-PRE-03", says, r.Item)
	}
	return nil
}

// dry asks that the waits of the dry phase have passed since what they wait for:
// the last step with the same means, else the last before them. The bench's own
// clock tells; nobody has to say so.
func (d *decision) dry(r *Run, recipe *prep.Recipe) *Refusal {
	for _, s := range recipe.Required() {
		if s.Phase == prep.PhaseDry && s.Check == prep.CheckTimer {
			wet := func(b prep.Step) bool { return b.Phase < prep.PhaseDry }
			if means := s.Means; slices.ContainsFunc(recipe.Steps, func(b prep.Step) bool { return wet(b) && b.Means == means && r.Checked[b.ID].OK }) {
				wet = func(b prep.Step) bool { return b.Phase < prep.PhaseDry && b.Means == means }
			}
			if no := d.rested(r, s.Seconds, wet); no != nil {
				return no
			}
		}
	}
	return nil
}

// rested asks that so many seconds have passed since the last of some steps was checked.
func (d *decision) rested(r *Run, seconds int, which func(prep.Step) bool) *Refusal {
	since, recipe := r.Opened, d.f.recipeOf(r)
	for id, c := range r.Checked {
		if s, ok := recipe.Step(id); ok && which(s) {
			since = events.Max(since, c.At)
		}
	}
	wait := time.Duration(seconds)*time.Second - d.c.At.Sub(since)
	if wait <= 0 {
		return nil
	}
	s := int((wait + time.Second - 1) / time.Second)
	return refuse("E-PRE-13", r.Tote, fmt.Sprintf("%d:%02d", s/60, s%60))
}

// unchecked gives the first required step that does not cover the units
// finished so far and q more. The pair check is finish-units' own.
func unchecked(r *Run, recipe *prep.Recipe, q int) (prep.Step, bool) {
	for _, s := range recipe.Required() {
		if r.Every {
			s.OneIn = 0
		}
		if atClose(s) || s.ID == PairCheck || s.Phase == prep.PhaseDry && s.Check == prep.CheckTimer {
			continue
		}
		if !r.Checked[s.ID].reaches(s, r.done()+q) {
			return s, true
		}
	}
	return prep.Step{}, false
}

// reaches says whether the last word on a step covers so many units.
func (c StepCheck) reaches(s prep.Step, units int) bool {
	switch {
	case !c.OK:
		return false
	case c.All:
		return true
	case s.OneIn > 0:
		return c.N*s.OneIn >= units
	}
	return c.N >= units
}

// withCheck gives a run's checks after one more word. A yes of n units adds to
// the units covered; a yes without a number covers the whole run. A no without
// a number takes back all but what is finished; a no of n units stands until
// they are spoiled or checked again.
func withCheck(r *Run, e *events.StepChecked, at events.Time) map[string]StepCheck {
	out := maps.Clone(r.Checked)
	if out == nil {
		out = map[string]StepCheck{}
	}
	c := out[e.Step]
	c.OK, c.At, c.Value = e.OK, at, e.Value
	switch {
	case e.OK && e.N == 0:
		c.All = true
	case e.OK:
		c.N = max(c.N, r.done()) + e.N // a pair check may have been finish-units' own so far
	case e.N == 0:
		c.All, c.N = false, r.done()
	}
	out[e.Step] = c
	return out
}

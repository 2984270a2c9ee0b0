package main

import (
	"fmt"
	"io"
	"strings"

	"packwright/prep"
)

// liftCommand works out the revised NIOSH lifting equation for one task.
type liftCommand struct {
	Load      string  `required:"" placeholder:"MASS" help:"What is lifted: 18.2 kg, 40 lb."`
	Out       string  `required:"" placeholder:"LENGTH" help:"Forward from the middle between the ankles to the hands."`
	Up        string  `required:"" placeholder:"LENGTH" help:"From the floor up to the hands."`
	Travel    string  `required:"" placeholder:"LENGTH" help:"Up or down, from where it is taken to where it is set."`
	Angle     float64 `placeholder:"DEG" help:"The load away from straight ahead, in degrees."`
	ToOut     string  `placeholder:"LENGTH" help:"Likewise where it is set down, when that takes control: forward,"`
	ToUp      string  `placeholder:"LENGTH" help:"up,"`
	ToAngle   float64 `placeholder:"DEG" help:"and to the side."`
	PerMinute float64 `default:"0.2" placeholder:"N" help:"Lifts a minute (${default})."`
	Spell     string  `enum:"short,moderate,long" default:"short" help:"How long: short up to 1 h, moderate up to 2 h, long up to 8 h (${default})."`
	Coupling  string  `enum:"good,fair,poor" default:"fair" help:"How well the hands hold it: good, fair, poor (${default})."`
}

// Help shows how it is used.
func (*liftCommand) Help() string {
	return `Example:
  packwright lift --load 44lb --out 18in --up 15in --travel 21in --coupling fair
  packwright lift --load 18kg --out 40cm --up 75cm --travel 50cm --to-out 50cm --to-up 125cm

Equation, tables and limits: NIOSH Applications Manual, DHHS Publication 94-110. A caution, never a permission: local codes and the person who lifts decide.`
}

// lifted is the answer in both unit systems of the manual, with plain practice beside it.
type lifted struct {
	US      prep.LiftResult  `json:"us"`
	Metric  prep.LiftResult  `json:"metric"`
	Caution prep.LiftCaution `json:"caution"`
	Silent  []string         `json:"says_nothing_of"`
}

func (c *liftCommand) Run(d *desk) error {
	l, err := c.lift()
	if err != nil {
		return err
	}
	out := lifted{Silent: prep.LiftLimits}
	if out.US, err = l.In(prep.LiftUS); err != nil {
		return err
	}
	if out.Metric, err = l.In(prep.LiftMetric); err != nil {
		return err
	}
	out.Caution = prep.CautionFor(max(out.US.LI, out.Metric.LI), l.Load)
	return d.say(out)
}

func (c *liftCommand) lift() (prep.Lift, error) {
	l := prep.Lift{PerMinute: c.PerMinute, Spell: prep.LiftSpell(c.Spell), Coupling: prep.Coupling(c.Coupling), Origin: prep.LiftPlace{Angle: c.Angle}}
	var err error
	if l.Load, err = prep.ParseMass(c.Load); err != nil {
		return l, err
	}
	if (c.ToOut == "") != (c.ToUp == "") {
		return l, prep.Input("the place it is set down is half told", "give --to-out and --to-up, or neither")
	}
	sides := []struct {
		text string
		into *prep.Length
	}{{c.Out, &l.Origin.H}, {c.Up, &l.Origin.V}, {c.Travel, &l.Travel}}
	if c.ToOut != "" {
		l.Destination = &prep.LiftPlace{Angle: c.ToAngle}
		sides = append(sides, []struct {
			text string
			into *prep.Length
		}{{c.ToOut, &l.Destination.H}, {c.ToUp, &l.Destination.V}}...)
	}
	for _, s := range sides {
		if *s.into, err = prep.ParseLength(s.text); err != nil {
			return l, err
		}
	}
	return l, nil
}

// Text writes limit, index and caution for people.
func (l lifted) Text(w io.Writer) error {
	for _, r := range []struct {
		prep.LiftResult
		unit string
	}{{l.US, "lb"}, {l.Metric, "kg"}} {
		fmt.Fprintf(w, "load %.1f %s\tlimit %.1f %s\tindex %s\tat the %s\n", r.Load, r.unit, r.RWL, r.unit, index(r.LI), r.Governs)
		at := r.Origin
		if r.Destination != nil && r.Governs == "destination" {
			at = *r.Destination
		}
		fmt.Fprintf(w, "  HM %.3f\tVM %.3f\tDM %.3f\tAM %.3f FM %.3f CM %.3f\n", at.HM, at.VM, at.DM, at.AM, at.FM, at.CM)
	}
	fmt.Fprintln(w, l.Caution.Band)
	if l.Caution.Mark != "" {
		fmt.Fprintf(w, "carton mark by plain practice: %s\n", l.Caution.Mark)
	}
	fmt.Fprintf(w, "The equation says nothing of lifts %s. Check your local code.\n", strings.Join(l.Silent, "; "))
	return nil
}

// index shows an index to two places; none when no load is recommended at all.
func index(i prep.LiftIndex) string {
	if i > 1e6 {
		return "none: no load is recommended so"
	}
	return fmt.Sprintf("%.2f", float64(i))
}

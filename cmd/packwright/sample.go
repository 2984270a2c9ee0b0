package main

import (
	"fmt"
	"strconv"

	"packwright/audit"
	"packwright/prep"
)

// sampleCommand draws units at random, the same ones for the same seed and log.
type sampleCommand struct {
	N    int    `required:"" help:"How many units."`
	Seed uint64 `required:"" help:"The seed: the same one draws the same units again."`
	atFlag
}

var sampleQuestion = question[audit.Sample]{"/sample", "units drawn at random; ?n= ?seed= ?at=", answerSample}

func answerSample(v view, say asked) (audit.Sample, error) {
	n, err := strconv.Atoi(say["n"])
	if err != nil || n < 1 {
		return audit.Sample{}, prep.Input(fmt.Sprintf("a sample of %q units", say["n"]), "ask for 1 or more")
	}
	seed, err := strconv.ParseUint(say["seed"], 10, 64)
	if err != nil {
		return audit.Sample{}, prep.Input(fmt.Sprintf("%q is no seed", say["seed"]), "give a whole number from 0 on")
	}
	return v.Sample(n, seed), nil
}

func (c *sampleCommand) Run(d *desk) error {
	return tell(d, sampleQuestion, asked{"n": strconv.Itoa(c.N), "seed": strconv.FormatUint(c.Seed, 10), "at": c.At})
}

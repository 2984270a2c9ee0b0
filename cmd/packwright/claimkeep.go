package main

import (
	"path/filepath"
	"strings"

	"packwright/prep"
)

// claimLink says that a claim tells again what an earlier one told.
type claimLink struct {
	Claim   string `arg:"" help:"The later claim: CL-03. It ends here."`
	Repeats string `arg:"" name:"earlier" help:"The earlier claim, whose answer answers both: CL-01."`
	byline
}

func (c *claimLink) Run(d *desk) error {
	return d.giveNext(c.byline, "link-claim", map[string]any{"claim": c.Claim, "dup_of": c.Repeats}, "")
}

// claimNote keeps what came to light.
type claimNote struct {
	Claim string   `arg:"" help:"The claim: CL-01."`
	Text  []string `arg:"" optional:"" help:"What came to light, in words."`
	File  string   `type:"path" placeholder:"FILE" help:"A picture or letter. The log keeps its name and SHA-256; keep the file itself."`
	byline
}

func (c *claimNote) Run(d *desk) error {
	ask := map[string]any{"claim": c.Claim, "text": strings.Join(c.Text, " ")}
	if c.File != "" {
		b, err := d.readFile(c.File)
		if err != nil {
			return err
		}
		if len(b) == 0 {
			return prep.Input(c.File+" is empty", "name the file that shows something")
		}
		ask["file"], ask["digest"] = filepath.Base(c.File), digest(b)
	}
	return d.giveNext(c.byline, "note-claim", ask, "")
}

// claimSiblings keeps what was seen of the units that share something with the
// one complained of.
type claimSiblings struct {
	Claim  string   `arg:"" help:"The claim: CL-01."`
	Set    string   `arg:"" help:"What they share, as siblings names it: R-07, BW-18, \"r5 wrap\"."`
	Axis   string   `placeholder:"AXIS" help:"In which way: run, material lot, source lot, carton, ... (as siblings has it for the set)."`
	Looked int      `required:"" placeholder:"N" help:"How many were looked at."`
	Bad    int      `required:"" placeholder:"N" help:"How many of them were bad."`
	Of     int      `placeholder:"N" help:"Of how many (those of the set that are still here)."`
	Seed   int64    `placeholder:"N" help:"The seed they were drawn with, if they were."`
	Text   []string `arg:"" optional:"" help:"What was seen, in words."`
	byline
}

// Run looks the set up where nothing else is said.
func (c *claimSiblings) Run(d *desk) error {
	if c.Axis == "" || c.Of == 0 {
		sets, err := ask(d, siblingsQuestion, asked{"of": c.Set})
		if err != nil {
			return err
		}
		if len(sets.Sets) != 1 {
			return prep.Input(c.Set+" names no one set", "name a run, a material lot, a source lot, a carton, or a recipe of a revision")
		}
		if c.Axis == "" {
			c.Axis = string(sets.Sets[0].Axis)
		}
		if c.Of == 0 {
			c.Of = sets.Sets[0].Here + sets.Sets[0].Sealed
		}
	}
	return d.giveNext(c.byline, "check-siblings", map[string]any{"claim": c.Claim, "axis": c.Axis, "set": c.Set, "of": c.Of,
		"looked_at": c.Looked, "bad": c.Bad, "seed": c.Seed, "text": strings.Join(c.Text, " ")}, "")
}

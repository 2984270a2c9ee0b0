package main

import (
	"crypto/sha256"
	"encoding/hex"

	"packwright/events"
	"packwright/prep"
)

type claimOpen struct {
	Kind   string `required:"" enum:"damaged,short,over,wrong-item,unlabelled,unprepared,other" placeholder:"KIND" help:"What is said to be wrong: damaged, short, over, wrong-item, unlabelled, unprepared, other."`
	Mark   string `placeholder:"M-NNNN" help:"The mark on the unit."`
	Item   string `placeholder:"ITEM" help:"The item."`
	Carton string `placeholder:"C-NN" help:"The carton it came in."`
	From   string `placeholder:"TIME" help:"When it was sold or received: from,"`
	To     string `placeholder:"TIME" help:"and to."`
	Order  string `placeholder:"TEXT" help:"The other side's reference; the log keeps only its SHA-256."`
	Qty    int    `default:"1" help:"How many units (${default})."`
	Amount string `placeholder:"MINOR" help:"What is asked, in minor units: 2400 is 24.00."`
	Due    string `placeholder:"TIME" help:"When the answer is due."`
	byline
}

func (c *claimOpen) Run(d *desk) error {
	given := events.ClaimGiven{Item: c.Item, Carton: c.Carton}
	if c.Order != "" {
		given.Order = digest([]byte(c.Order))
	}
	var err error
	if c.Mark != "" {
		if given.Mark, err = prep.ParseMark(c.Mark); err != nil {
			return err
		}
	}
	var due events.Time
	for _, t := range []struct {
		text string
		into *events.Time
	}{{c.From, &given.From}, {c.To, &given.To}, {c.Due, &due}} {
		if t.text == "" {
			continue
		}
		if *t.into, err = parseMoment(t.text, events.Time{}); err != nil {
			return err
		}
	}
	ask := map[string]any{"kind": c.Kind, "given": given, "qty": c.Qty, "due": due}
	if ask["amount_minor"], err = minor(c.Amount); err != nil {
		return err
	}
	return d.giveNext(c.byline, "open-claim", ask, "")
}

// minor reads minor units; nothing said is 0.
func minor(s string) (prep.Money, error) {
	if s == "" {
		return 0, nil
	}
	return prep.ParseMoney(s)
}

func digest(b []byte) string {
	h := sha256.Sum256(b)
	return hex.EncodeToString(h[:])
}

type claimDecide struct {
	Claim     string `arg:"" help:"The claim: CL-01."`
	Finding   string `required:"" enum:"ours,carrier,destination,maker,unknown" placeholder:"WHOSE" help:"Where it went wrong: ours, carrier, destination, maker, unknown."`
	Statement string `required:"" type:"path" placeholder:"FILE" help:"What is sent to the other side; the log keeps its SHA-256."`
	Cause     string `placeholder:"WORD" help:"The cause, in a word."`
	Money     string `placeholder:"MINOR" help:"What is paid, in minor units."`
	byline
}

func (c *claimDecide) Run(d *desk) error {
	page, err := d.readFile(c.Statement)
	if err != nil {
		return err
	}
	if len(page) == 0 {
		return prep.Input(c.Statement+" is empty", "write what is sent to the other side")
	}
	money, err := minor(c.Money)
	if err != nil {
		return err
	}
	return d.giveNext(c.byline, "decide-claim", map[string]any{"claim": c.Claim, "finding": c.Finding, "cause_code": c.Cause,
		"money_minor": money, "statement_digest": digest(page)}, "")
}

type claimClose struct {
	Claim string `arg:"" help:"The claim: CL-01."`
	byline
}

func (c *claimClose) Run(d *desk) error {
	return d.giveNext(c.byline, "close-claim", map[string]any{"claim": c.Claim}, "")
}

package main

import (
	"packwright/audit"
	"packwright/events"
	"packwright/prep"
)

// rulesBacktest runs another rulebook over the units that the log knows.
type rulesBacktest struct {
	File string `arg:"" help:"The other rulebook, YAML."`
	Rate string `placeholder:"MINOR" help:"The price of an hour's work in minor units: 1650. Not told: the labour rate in the log."`
	atFlag
}

// Help shows how it is used.
func (*rulesBacktest) Help() string {
	return `Example:
  packwright rules backtest my-rules.yaml --rate 1650

Units whose recipe would be another, the difference in materials and in labour (as far as runs were ever worked by the new recipe), and how many of the complained-of units are among them. Items are as they are known now. That a complaint would have been spared, nobody can say from this.`
}

func (c *rulesBacktest) Run(d *desk) error {
	book, err := provedBook(d, c.File)
	if err != nil {
		return err
	}
	rate, err := minor(c.Rate)
	if err != nil {
		return err
	}
	a, err := d.readHere("packwright rules backtest")
	if err != nil {
		return err
	}
	defer a.log.Close()
	var out audit.Backtest
	err = a.look(d.ctx, c.At, func(v view) error {
		out = v.Backtest(book, orRate(v, rate))
		return nil
	})
	if err != nil {
		return err
	}
	return d.say(out)
}

// orRate gives the rate told, or the labour rate in the log named bench.
func orRate(v view, told prep.Money) prep.Money {
	if told != 0 {
		return told
	}
	r, _ := v.RateAt(events.LabourRate, "bench", v.now)
	return r.Minor
}

package main

import (
	"fmt"
	"strconv"

	"packwright/audit"
	"packwright/prep/label"
)

// dayCommand ends a day, and makes the copy of it that is kept elsewhere.
type dayCommand struct {
	Close dayClose `cmd:"" help:"Close a day: what is open is named, and the head of the log signed."`
	Sheet daySheet `cmd:"" help:"What left, what is open, and the signed head of the log: print it, and keep it away from the machine."`
}

type dayClose struct {
	Day string `arg:"" optional:"" help:"Which day: 2031-03-04 (today)."`
	byline
}

// Run closes the day; whoever holds the key signs the head after it.
func (c *dayClose) Run(d *desk) error {
	return d.giveNext(c.byline, "close-day", map[string]any{"day": c.Day}, "")
}

type daySheet struct {
	Day   string `arg:"" optional:"" help:"Which day: 2031-03-04 (the last that was closed)."`
	Paper string `enum:"a4,letter" default:"a4" help:"The paper: a4, letter (${default})."`
	labelOut
}

// Run shows the sheet in words, or paints it when it is to go somewhere.
func (c *daySheet) Run(d *desk) error {
	v, err := ask(d, dayQuestion, asked{"day": c.Day})
	if err != nil {
		return err
	}
	if c.Out == "" && !c.Print {
		return d.say(v)
	}
	if c.DPI == 0 {
		c.DPI = 600
	}
	return c.paint(d, sheetOf(v, map[string]label.Stock{"a4": label.A4, "letter": label.Letter}[c.Paper]))
}

// dayQuestion shows one day.
var dayQuestion = question[audit.DayView]{"/day-sheet", "one day: what left, what is open, the signed head of the log; ?day=", func(v view, say asked) (audit.DayView, error) {
	return v.Day(say["day"])
}}

// sheetOf puts a day onto paper.
func sheetOf(v audit.DayView, paper label.Stock) label.Day {
	s := label.Day{Floor: v.Floor, Day: v.Day, Closed: "not closed", Paper: paper}
	if !v.Closed.IsZero() {
		s.Closed = fmt.Sprintf("closed %s by %s", v.Closed.Clock(), v.By)
	}
	if v.Head == nil {
		s.Head = append(s.Head, [2]string{"head", "No head of the log was signed on this day."})
	} else {
		s.Check = fmt.Sprintf("%d:%s", v.Head.Frame, v.Root)
		s.Head = append(s.Head, [2]string{"log", v.Head.Log}, [2]string{"head", fmt.Sprintf("frame %d, %d events, signed and kept %s", v.Head.Frame, v.Head.Size, v.Head.Kept.Clock())},
			[2]string{"root", v.Root}, [2]string{"signature", v.Head.Signature})
	}
	if v.Key != "" {
		s.Head = append(s.Head, [2]string{"public key", v.Key})
	}
	if v.Head != nil {
		s.Head = append(s.Head, [2]string{"to check", "packwright verify --key (the public key) --head (what the code says)"})
	}
	for _, l := range v.Loads {
		list := label.DayList{Heading: fmt.Sprintf("%s left %s: %d cartons, %d units", l.Load, l.Left.Clock(), len(l.Cartons), l.Units)}
		for _, c := range l.Cartons {
			gross := "not weighed"
			if c.Gross > 0 {
				gross = fmt.Sprintf("%.3f kg", c.Gross.Grams()/1000)
			}
			list.Rows = append(list.Rows, [4]string{c.Carton, "seal " + c.Seal, strconv.Itoa(c.Units) + " units", gross})
		}
		for _, name := range l.Behind {
			list.Rows = append(list.Rows, [4]string{name, "left behind"})
		}
		s.Lists = append(s.Lists, list)
	}
	if len(v.Loads) == 0 {
		s.Lists = append(s.Lists, label.DayList{Heading: "Nothing left on this day"})
	}
	open := label.DayList{Heading: "Nothing is open"}
	for _, o := range v.Open {
		open.Heading = "Left open"
		open.Rows = append(open.Rows, [4]string{o.Kind, o.Name, o.Text})
	}
	s.Lists = append(s.Lists, open)
	return s
}

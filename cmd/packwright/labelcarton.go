package main

import (
	"cmp"
	"errors"
	"net/http"

	"packwright/audit"
	"packwright/cmd/packwright/door"
	"packwright/cmd/packwright/printing"
	"packwright/prep"
	"packwright/prep/label"
	"packwright/workflow"
)

type labelCarton struct {
	Carton    string `arg:"" help:"The carton's own name: C-07."`
	SSCC      string `name:"sscc" placeholder:"DIGITS" help:"Its 18-digit number; or build one:"`
	Prefix    string `placeholder:"DIGITS" help:"the floor's company prefix,"`
	Extension int    `help:"an extension digit,"`
	Serial    int64  `placeholder:"N" help:"and a serial number that was not used for twelve months."`
	Of        string `help:"A line about it: of 14, load LD-1, 4 March 2031."`
	From      string `help:"Who sends it."`
	To        string `help:"Who gets it."`
	Owner     string `help:"Whose goods these are."`
	Seal      string `help:"The seal's number."`
	Gross     string `placeholder:"MASS" help:"What it weighs: 12136 g."`
	Ask       bool   `help:"Take seal, weight and load from the floor where they are not given."`
	labelOut
}

func (c *labelCarton) Run(d *desk) error {
	x := label.Carton{Carton: c.Carton, Of: c.Of, From: c.From, To: c.To, Owner: c.Owner, Seal: c.Seal}
	var err error
	if x.SSCC, err = c.number(); err != nil {
		return err
	}
	if x.Gross, err = massOr0(c.Gross); err != nil {
		return err
	}
	if c.Ask {
		held, err := ask(d, contentsQuestion, asked{"carton": c.Carton})
		if err != nil {
			return err
		}
		x.Seal = cmp.Or(x.Seal, held.Seal)
		x.Gross = cmp.Or(x.Gross, printing.Gross(held))
		if x.Of == "" && held.Load != "" {
			x.Of = "load " + held.Load + ", " + held.SentAt.Std().Format("2 January 2006")
		}
	}
	return c.paint(d, x)
}

// number gives the carton's number, read or built.
func (c *labelCarton) number() (prep.SSCC, error) {
	switch {
	case c.SSCC != "" && c.Prefix == "":
		return prep.ParseSSCC(c.SSCC)
	case c.SSCC == "" && c.Prefix != "":
		return prep.NextSSCC(c.Prefix, c.Extension, c.Serial)
	}
	return "", prep.Input("a carton label without its number", "give --sscc, or --prefix and --serial")
}

func massOr0(text string) (prep.Mass, error) {
	if text == "" {
		return 0, nil
	}
	return prep.ParseMass(text)
}

type labelTeamLift struct {
	Carton string `arg:"" help:"The carton's own name: C-07."`
	Gross  string `placeholder:"MASS" help:"What it weighs: 23.4 kg."`
	labelOut
}

func (c *labelTeamLift) Run(d *desk) error {
	mass, err := massOr0(c.Gross)
	if err != nil {
		return err
	}
	return c.paint(d, label.TeamLift{Carton: c.Carton, Gross: mass})
}

type labelContents struct {
	Carton string `arg:"" help:"The carton's own name: C-07."`
	atFlag
	labelOut
}

var contentsQuestion = question[audit.Contents]{"/contents/{carton}", "planned, scanned, counted and weighed of one carton; ?at=",
	func(v view, say asked) (audit.Contents, error) {
		held, ok := v.Contents(say["carton"])
		if !ok {
			return held, &audit.NoSuch{Kind: "carton", Name: say["carton"]}
		}
		return held, nil
	}}

func (c *labelContents) Run(d *desk) error {
	held, err := ask(d, contentsQuestion, asked{"carton": c.Carton, "at": c.At})
	if err != nil {
		return err
	}
	if !printing.Counted(held) {
		return nothing(held.Carton+" has no accepted count: a sheet would tell the number to those who count", "print it after the count")
	}
	var codes []string
	for _, l := range held.Lines {
		codes = append(codes, l.Item)
	}
	items, err := d.itemsOf(codes...)
	if err != nil {
		return err
	}
	names := map[string]string{}
	for i, code := range codes {
		names[code] = items[i].Name
	}
	return c.paint(d, printing.Contents(held, func(item string) string { return names[item] }))
}

// itemsOf looks codes up in the floor's catalogue, at --url or in --data.
func (d *desk) itemsOf(codes ...string) ([]prep.Item, error) {
	out := make([]prep.Item, len(codes))
	if d.URL != "" {
		web, err := d.web()
		for i, code := range codes {
			if err == nil {
				err = heard(web.Read(d.ctx, "/items/"+code, &out[i]))
			}
		}
		return out, err
	}
	h, err := d.open("packwright label")
	if err != nil {
		return nil, err
	}
	gone := h.writer.View(d.ctx, func(f *workflow.Floor) {
		for i, code := range codes {
			if f.Items[code] == nil {
				err = noItem(code)
				return
			}
			out[i] = *f.Items[code]
		}
	})
	return out, errors.Join(err, gone, h.Close())
}

func noItem(code string) error {
	return nothing("item "+code+" is not in the catalogue", "look at packwright items")
}

// readItem gives one item of the catalogue.
func (h *hub) readItem(w http.ResponseWriter, r *http.Request) {
	var found *prep.Item
	err := h.writer.View(r.Context(), func(f *workflow.Floor) {
		if it := f.Items[r.PathValue("item")]; it != nil {
			c := *it
			found = &c
		}
	})
	if err == nil && found == nil {
		err = noItem(r.PathValue("item"))
	}
	if err != nil {
		writeUnknown(w, err)
		return
	}
	door.WriteJSON(w, http.StatusOK, found)
}

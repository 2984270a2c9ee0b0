package workflow

import (
	"strings"

	"packwright/events"
	"packwright/prep"
)

// sealAsk closes a carton under a numbered seal.
type sealAsk struct {
	cartonAsk
	Seal  string    `json:"seal_no"`
	Code  prep.SSCC `json:"carton_code"` // 18 digits, or with its identifier; empty in a house without them
	Gross prep.Mass `json:"gross_g"`     // 0: the last weighing's
}

func (in *sealAsk) check() error {
	if in.Seal == "" || len(in.Seal) > 40 {
		return prep.Input("a seal has a number", "give seal_no as it stands on the seal")
	}
	if in.Code == "" {
		return nil
	}
	s := strings.TrimPrefix(string(in.Code), "(00)")
	if len(s) == 20 {
		s = strings.TrimPrefix(s, "00")
	}
	code, err := prep.ParseSSCC(s)
	in.Code = code
	return err
}

var sealRule = on(rule{Name: "seal", Who: packers, Moves: []Move{{"carton", "counted", "sealed"}, {"unit", "contents-counted", "sealed"}}}, []gate[sealAsk]{
	onlineGate[sealAsk](),
	cartonIn[sealAsk]("a carton of this floor that is not void", "E-CAR-10", CartonOpen, CartonCounting, CartonCounted, CartonSealed, CartonDispatched),
	{Gate{"a carton without a seal", "E-SEA-08", ""}, func(d *decision, in *sealAsk) *Refusal {
		c := in.carton
		if c.State != CartonSealed && c.State != CartonDispatched {
			return nil
		}
		no := refuse("E-SEA-08", c.Carton, CartonSealed)
		if c.Seal == in.Seal {
			return again(no)
		}
		return no
	}},
	mineGate[sealAsk](),
	cartonGate[sealAsk](Gate{"a live count certificate; it ends with any change of the carton or its lines", "E-SEA-01", ""}, func(d *decision, c *Carton) *Refusal {
		if c.Cert == nil || c.ChangedRev > c.Cert.Rev {
			return refuse("E-SEA-01")
		}
		return nil
	}),
	{Gate{"a seal number never used", "E-SEA-02", ""}, func(d *decision, in *sealAsk) *Refusal {
		if carton, used := d.f.Seals[in.Seal]; used {
			return refuse("E-SEA-02", in.Seal, carton)
		}
		return nil
	}},
	{Gate{"a carton number of no other carton", "E-SEA-09", ""}, func(d *decision, in *sealAsk) *Refusal {
		if carton, used := d.f.SSCCs[in.Code]; in.Code != "" && used && carton != in.Carton {
			return refuse("E-SEA-09", string(in.Code), carton)
		}
		return nil
	}},
	cartonGate[sealAsk](Gate{"no open question", "E-SEA-04", ""}, func(d *decision, c *Carton) *Refusal {
		return d.questioned(c)
	}),
	{Gate{"a known gross", "E-CNT-08", ""}, func(d *decision, in *sealAsk) *Refusal {
		if in.Gross == 0 && in.carton.Weight != nil {
			in.Gross = in.carton.Weight.Gross
		}
		if in.Gross <= 0 && d.f.policy.Scale {
			return refuse("E-CNT-08")
		}
		return nil
	}},
	{Gate{"mass and sides within the destination's limits", "E-SEA-03", ""}, func(d *decision, in *sealAsk) *Refusal {
		limits := d.f.destinationOf(in.carton)
		if limits.MaxMass > 0 && in.Gross > limits.MaxMass {
			return refuse("E-SEA-03", in.Gross.String())
		}
		if side := d.f.longestSide(in.carton); limits.MaxSide > 0 && side > limits.MaxSide {
			return refuse("E-SEA-03", side.String())
		}
		return nil
	}},
	cartonGate[sealAsk](Gate{"the carton's label is printed", "E-SEA-06", ""}, func(d *decision, c *Carton) *Refusal {
		if !c.Label {
			return refuse("E-SEA-06")
		}
		return nil
	}),
	{Gate{"the team-lift label is printed, where the gross asks for it", "E-SEA-10", ""}, func(d *decision, in *sealAsk) *Refusal {
		if !in.carton.Lift && d.f.policy.heavy(in.Gross) {
			return refuse("E-SEA-10", in.Gross.String())
		}
		return nil
	}},
}, func(d *decision, in *sealAsk) {
	d.emit(&events.CartonSealed{Carton: in.Carton, Seal: in.Seal, Code: in.Code, Gross: in.Gross})
})

// questioned refuses while a mismatch is open on a carton.
func (d *decision) questioned(c *Carton) *Refusal {
	if m := d.f.matterOn(c.Carton); m != nil {
		return refuse("E-SEA-04", m.Matter)
	}
	return nil
}

// longestSide gives the longest inside side of a carton's box, when the
// rulebook's catalogue knows it. The outside is larger by the walls.
func (f *Floor) longestSide(c *Carton) prep.Length {
	if book := f.Books[f.RulesRev]; book != nil && c.Box != "" {
		if box, ok := book.Materials.Find(c.Box); ok {
			return box.Inner.Sorted()[0]
		}
	}
	return 0
}

var reopenRule = on(rule{Name: "reopen", Who: packers, Moves: []Move{{"carton", "sealed", "open"}, {"unit", "sealed", "prepped"}}}, []gate[cartonAsk]{
	{Gate{"a supervisor", "E-SEA-05", ""}, func(d *decision, in *cartonAsk) *Refusal {
		if !d.may(events.Supervisor) {
			return refuse("E-SEA-05")
		}
		return nil
	}},
	onlineGate[cartonAsk](),
	cartonIn[cartonAsk]("a carton under seal that has not left", "E-SEA-07", CartonSealed),
	{Gate{"a reason", "E-AUT-05", ""}, func(d *decision, in *cartonAsk) *Refusal {
		if in.Reason == "" {
			return refuse("E-AUT-05")
		}
		return nil
	}},
}, func(d *decision, in *cartonAsk) {
	d.emit(&events.CartonReopened{Carton: in.Carton, Seal: in.carton.Seal, Reason: in.Reason})
})

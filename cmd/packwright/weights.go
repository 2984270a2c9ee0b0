package main

import (
	"io"

	"packwright/audit"
)

// weightsCommand says what accepted cartons tell of the weight of one unit. It
// proposes: an item changes only when somebody revises it.
type weightsCommand struct {
	Item string `arg:"" optional:"" help:"Only this item."`
	atFlag
}

// learned is the answer, one item a line.
type learned struct {
	Weights []audit.UnitWeight `json:"weights"`
}

// Text writes one item a line.
func (l learned) Text(w io.Writer) error { return audit.UnitWeightsText(w, l.Weights) }

var weightsQuestion = question[learned]{"/weights", "unit weights as accepted cartons of one item tell them, beside the catalogue's; nothing is changed; ?item= ?at=", func(v view, say asked) (learned, error) {
	out := learned{[]audit.UnitWeight{}}
	for _, u := range v.UnitWeights() {
		if say["item"] == "" || say["item"] == u.Item {
			out.Weights = append(out.Weights, u)
		}
	}
	if say["item"] != "" && len(out.Weights) == 0 {
		return out, nothing("no accepted carton holds "+say["item"]+" alone", "its weight is learned from cartons of one item")
	}
	return out, nil
}}

func (c *weightsCommand) Run(d *desk) error {
	return tell(d, weightsQuestion, asked{"item": c.Item, "at": c.At})
}

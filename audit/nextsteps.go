package audit

import (
	"fmt"

	json "github.com/goccy/go-json"

	"packwright/prep"
)

// NextStep is something that may be done about a set of siblings, ready to be
// given: a command line, or a command for packwright do (with --station, and the
// badge of whoever gives it).
type NextStep struct {
	Does    string `json:"does"`
	Line    string `json:"line,omitempty"`    // for a shell
	Command string `json:"command,omitempty"` // JSON, for packwright do
}

// command is a command as packwright do takes it; its badge is left to be filled in.
type command struct {
	Type string         `json:"type"`
	Data map[string]any `json:"data"`
}

func (c command) step(does string) NextStep {
	b, err := json.Marshal(c)
	if err != nil {
		return NextStep{Does: does} // names and marks can always be written
	}
	return NextStep{Does: does, Command: string(b)}
}

// heldWhere is marked units of one lot that lie together and may be held there.
type heldWhere struct {
	place, lot, stage string
}

// steps gives what can be done about a set when there is a complaint and units of
// it are still here: hold those that lie outside cartons, reopen what is sealed,
// block the roll, look at a sample.
func (f *Fold) steps(s Siblings) (out []NextStep) {
	rest := s.Here + s.Sealed
	if s.Odds.Complaints == 0 || rest == 0 {
		return nil
	}
	reason := fmt.Sprintf("complaint about %s %s", s.Axis, s.Key)
	groups, cartons := map[heldWhere]prep.Marks{}, 0
	var order []heldWhere
	for _, m := range s.HereMarks {
		u := f.look(m)
		if p := f.places.row(u.Place); p == nil || p.Carton != 0 {
			cartons++
			continue
		}
		at := heldWhere{f.places.Keys[u.Place], f.lots.Keys[u.Lot], string(u.Stage.name())}
		if groups[at] == nil {
			order = append(order, at)
		}
		groups[at] = append(groups[at], m)
	}
	for _, at := range order {
		out = append(out, command{"hold", map[string]any{"lot": at.lot, "from": at.place, "stage": at.stage, "q": len(groups[at]), "marks": groups[at], "reason": reason}}.
			step(fmt.Sprintf("hold %d of them in %s", len(groups[at]), at.place)))
	}
	if s.Axis == ByMaterial {
		out = append(out, command{"block-lot", map[string]any{"matlot": s.Key, "reason": reason}}.step("block the roll"))
	}
	if cartons > 0 {
		out = append(out, NextStep{Does: fmt.Sprintf("%d lie in open cartons: take them out before they are held", cartons)})
	}
	if s.Sealed > 0 {
		out = append(out, NextStep{Does: fmt.Sprintf("%d are sealed: keep their cartons off the load; a supervisor may reopen them", s.Sealed)})
	}
	if s.Class > 0 && s.Here > len(s.HereMarks) {
		out = append(out, NextStep{Does: fmt.Sprintf("%d have no mark: look where they lie, and hold them there", s.Here-len(s.HereMarks))})
	}
	bad := max(1, rest/10)
	if p, err := prep.ZeroBad(rest, bad, 950_000); err == nil {
		out = append(out, NextStep{Does: fmt.Sprintf("look at %d of the %d", p.Sample, rest), Line: fmt.Sprintf("packwright inspect-plan --n %d --bad %d --conf 0.95", rest, bad)})
	}
	return out
}

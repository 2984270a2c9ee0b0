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
// block the roll, look at a sample. The floor takes each command as it stands; what
// cannot be one yet is said.
func (f *Fold) steps(s Siblings) (out []NextStep) {
	rest := s.Here + s.Sealed
	if s.Odds.Complaints == 0 || rest == 0 {
		return nil
	}
	reason := fmt.Sprintf("complaint about %s %s", s.Axis, s.Key)
	out, cartons, onHold := f.holdSteps(s.HereMarks, reason)
	if m := f.matlots[s.Key]; s.Axis == ByMaterial && m != nil && m.Stock.Blocked.Ref == 0 {
		out = append(out, command{"block-lot", map[string]any{"matlot": s.Key, "reason": reason}}.step("block the roll"))
	}
	for _, x := range []struct {
		n    int
		says string
	}{
		{onHold, "%d are on hold already"},
		{cartons, "%d lie in cartons that are not sealed: take them out before they are held"},
		{s.Sealed, "%d are sealed: keep their cartons off the load; a supervisor may reopen them"},
		{s.Here - len(s.HereMarks), "%d have no mark: look where they lie, and hold them there"},
	} {
		if x.n > 0 {
			out = append(out, NextStep{Does: fmt.Sprintf(x.says, x.n)})
		}
	}
	bad := max(1, rest/10)
	if p, err := prep.ZeroBad(rest, bad, 950_000); err == nil {
		out = append(out, NextStep{Does: fmt.Sprintf("look at %d of the %d", p.Sample, rest), Line: fmt.Sprintf("packwright inspect-plan --n %d --bad %d --conf 0.95", rest, bad)})
	}
	return out
}

// holdSteps gives a command for each place, lot and stage of marked units, and how
// many lie in cartons or are on hold and need none.
func (f *Fold) holdSteps(marks prep.Marks, reason string) (out []NextStep, cartons, onHold int) {
	groups := map[heldWhere]prep.Marks{}
	var order []heldWhere
	for _, m := range marks {
		u := f.look(m)
		p := f.places.row(u.Place)
		switch {
		case p == nil || p.Carton != 0:
			cartons++
			continue
		case u.Stage == held:
			onHold++
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
	return out, cartons, onHold
}

package web

import (
	"fmt"
	"net/http"
	"slices"

	"packwright/audit"
	"packwright/cmd/packwright/door"
	"packwright/events"
)

// changePage is one question with two answers, for a phone.
type changePage struct {
	Sheet
	audit.ChangeView
	Question string
	Mine     []changeLine // lines this badge answers for
	Theirs   []changeSide // by whom the others are answered
	Pieces   int          // of mine
	Answer   *answerForms // nil: nothing to answer
	Done     string       // what this badge, or all, have said already
	Word     string       // the outcome that Done is: already, kept, no
	Load     string
	Names    names
	Own      bool // a client: only its own lines
}

type changeLine struct {
	audit.ChangeLine
	Draw Strokes
}

// changeSide is the lines of another owner.
type changeSide struct {
	audit.Voice
	Lines []changeLine
}

type answerForms struct{ Yes, No Form }

// change shows one change of a plan.
func (p *Pages) change(w http.ResponseWriter, r *http.Request) {
	page := changePage{}
	err := p.Log.Look(r.Context(), p.at(r), func(v View) error {
		all, err := v.Change(r.PathValue("proposal"))
		if err != nil {
			return err
		}
		page.Sheet = p.sheet(r.Context(), v, all.Proposal)
		c, ok := ownChange(all, page.Who)
		if !ok {
			return &audit.NoSuch{Kind: "change", Name: all.Proposal}
		}
		page.Nav, page.Styles, page.Names = "/plans", []string{"desk.css", "change.css"}, namesOf(v)
		page.Own = len(c.Lines) < len(all.Lines)
		page.ChangeView = c
		page.fill(v, p.at(r) == p.At)
		return nil
	})
	p.showOr(w, r, err, "change", &page)
}

// fill sorts the lines by who answers for them.
func (x *changePage) fill(v View, now bool) {
	delta := 0
	for _, l := range x.Lines {
		delta += l.Is - l.Was
	}
	if x.Own {
		x.Was, x.Cartons = x.ownPieces(v)
		x.Is = x.Was + delta
	}
	x.Question = questionOf(delta, x.Lines)
	for _, o := range x.Voices {
		lines := linesFor(x.Lines, o.Owner)
		if speaksFor(x.Who, o) {
			x.Mine, x.Pieces = append(x.Mine, lines...), x.Pieces+o.Pieces
			continue
		}
		x.Theirs = append(x.Theirs, changeSide{o, lines})
	}
	for _, l := range v.Board(v.Now).Loads {
		if !l.Due.IsZero() && x.Load == "" {
			x.Load = fmt.Sprintf("Truck %s stays %s.", l.Load, clockOf(l.Due))
		}
	}
	x.answered(now)
}

// ownPieces counts a client's own pieces of the plan before the change.
func (x *changePage) ownPieces(v View) (pieces, cartons int) {
	plan, err := v.PlanAt(x.Plan, x.Rev)
	if err != nil {
		return 0, 0
	}
	list, _, n := besides(nil, ownLines(plan.Lines, x.Who))
	return n, len(list)
}

// answered says what was answered, or offers the two answers.
func (x *changePage) answered(now bool) {
	mine := slices.DeleteFunc(slices.Clone(x.Voices), func(o audit.Voice) bool { return !speaksFor(x.Who, o) })
	open := slices.ContainsFunc(mine, func(o audit.Voice) bool { return o.By == "" })
	switch {
	case x.State == "amended":
		x.Word, x.Done = "already", fmt.Sprintf("Already approved at %s.", clockOf(x.Answered))
	case x.State == "declined":
		x.Word, x.Done = "no", fmt.Sprintf("Declined at %s.", clockOf(x.Answered))
		if !x.Own {
			x.Done = fmt.Sprintf("Declined at %s by %s.", clockOf(x.Answered), x.Declined)
		}
	case open && now:
		x.Answer = &answerForms{form(x.Who, "approve", "/change/"+x.Proposal), form(x.Who, "decline", "/change/"+x.Proposal)}
	case len(mine) > 0 && mine[0].By != "":
		x.Word, x.Done = "already", fmt.Sprintf("Already approved at %s by %s. The others have not answered yet.", clockOf(mine[0].At), mine[0].By)
	}
}

// speaksFor says whether a badge answers for an owner's goods: the client for its
// own, the floor's owner for those of nobody else.
func speaksFor(who door.Who, o audit.Voice) bool {
	if o.Client {
		return who.Is(events.Client) && who.OwnerOf == o.Owner
	}
	return who.Is(events.Owner)
}

func linesFor(list []audit.ChangeLine, owner string) []changeLine {
	var out []changeLine
	for _, l := range list {
		if l.Owner == owner {
			out = append(out, changeLine{l, strokesOf([]Pieces{{There: min(l.Was, l.Is), Missing: max(l.Was-l.Is, 0), Extra: max(l.Is-l.Was, 0)}})})
		}
	}
	return out
}

// questionOf is the change as a question with its number.
func questionOf(delta int, lines []audit.ChangeLine) string {
	word := "pieces"
	if delta == 1 || delta == -1 {
		word = "piece"
	}
	switch {
	case delta < 0:
		return fmt.Sprintf("Ship %d %s fewer?", -delta, word)
	case delta > 0:
		return fmt.Sprintf("Ship %d %s more?", delta, word)
	}
	n := 0
	for _, l := range lines {
		n += max(l.Is-l.Was, 0)
	}
	return fmt.Sprintf("Move %d between cartons?", n)
}

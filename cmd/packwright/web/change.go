package web

import (
	"context"
	"fmt"
	"net/http"
	"slices"

	"packwright/audit"
	"packwright/cmd/packwright/door"
	"packwright/events"
	"packwright/workflow"
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
	Own      bool     // a client: only its own lines
	Unsaid   bool     // the words are for those who decide, and their author
	Given    []string // owners whose lines a supervisor may answer for, by delegation
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
	page := changePage{Given: p.voices(r.Context(), r.PathValue("proposal"))}
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
		if page.Unsaid = !mayRead(page.Who, all, page.Given); page.Unsaid {
			page.Reason, page.Why = "", ""
		}
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
		if speaksFor(x.Who, o, x.Given) {
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
	mine := slices.DeleteFunc(slices.Clone(x.Voices), func(o audit.Voice) bool { return !speaksFor(x.Who, o, x.Given) })
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
// own, the floor's owner for those of nobody else, a supervisor for what was
// delegated to them.
func speaksFor(who door.Who, o audit.Voice, given []string) bool {
	if slices.Contains(given, o.Owner) || who.Badge != "" && o.By == who.Badge {
		return true
	}
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

// voices lists the owners whose lines of a waiting change whoever asks may answer for.
func (p *Pages) voices(ctx context.Context, proposal string) (owners []string) {
	err := p.Writer.View(ctx, func(f *workflow.Floor) { owners = f.VoicesOf(door.WhoOf(ctx).Badge, proposal) })
	if err != nil {
		p.Logger.Debug().Err(err).Msg("the floor cannot be asked who may answer a change")
	}
	return owners
}

// mayRead says whether somebody is shown the words of a change, which may speak of
// people: who decides a line of it, and who wrote them.
func mayRead(who door.Who, c audit.ChangeView, given []string) bool {
	return who.House || who.Badge == c.By || slices.ContainsFunc(c.Voices, func(o audit.Voice) bool { return speaksFor(who, o, given) })
}

// hush takes the words of those changes away that whoever asks does not decide.
func (p *Pages) hush(ctx context.Context, rows []changeRow) {
	who := door.WhoOf(ctx)
	for i := range rows {
		if !mayRead(who, rows[i].ChangeView, p.voices(ctx, rows[i].Proposal)) {
			rows[i].Reason, rows[i].Why = "", ""
		}
	}
}

package web

import (
	"context"
	"errors"
	"net/http"
	"net/url"
	"strings"
	"time"

	"packwright/audit"
	"packwright/cmd/packwright/door"
	"packwright/prep"
)

// storyPage answers "what happened to this one?" for whatever code was scanned.
type storyPage struct {
	Sheet
	Code, Item string // as asked
	Kind       audit.NameKind
	Items      []string // that an answer may be narrowed by
	Sure       *Certainty
	Lives      []Life
	Beside     *Beside
	Box        *Box
	Load       *LoadDrawing
	Known      []string
	Unknown    []string
	Odds       string
	Sets       []audit.Siblings
	Units      []prep.Mark // each with a story of its own
	Links      []Wait
	Client     bool
}

// Certainty is how many pieces an answer names, said before any story.
type Certainty struct {
	N     int
	Word  string
	Prose string
	Class string // kept: exact; call: nobody can say which; no: nothing
}

// beside is how long before and after its own time a bench counts as beside.
const beside = 30 * time.Minute

// mostLives are drawn; the others stand in the table.
const mostLives = 6

// story finds what a code names and tells it.
func (p *Pages) story(w http.ResponseWriter, r *http.Request) {
	code, item := strings.TrimSpace(r.URL.Query().Get("code")), strings.TrimSpace(r.URL.Query().Get("item"))
	var page storyPage
	to := ""
	err := p.Log.Look(r.Context(), p.at(r), func(v View) error {
		page = p.storySheet(r.Context(), v, code, item)
		if code == "" {
			return nil
		}
		kind, key, err := v.Named(code)
		page.Kind = kind
		if err == nil {
			to, err = page.tell(v, kind, key)
		}
		return page.orNothing(err)
	})
	if len(page.Lives)+len(page.Sets) == 0 {
		page.Table = ""
	}
	switch {
	case err == nil && to != "":
		http.Redirect(w, r, to, http.StatusSeeOther)
	case err == nil && page.Sure != nil && page.Sure.N == 0:
		p.show(w, r, http.StatusNotFound, "story", page)
	default:
		p.showOr(w, r, err, "story", page)
	}
}

func (p *Pages) storySheet(ctx context.Context, v View, code, item string) storyPage {
	page := storyPage{Sheet: p.sheet(ctx, v, "What happened to this one?"), Code: code, Item: item}
	page.Nav, page.Styles, page.Rule = "/story", []string{"story.css"}, nil
	page.Client = page.Who.As()&door.Readers == 0
	if code != "" {
		page.Title, page.Name, page.Table = "The story of "+code, code, "table"
	}
	return page
}

// orNothing turns "there is no such thing" into an answer.
func (s *storyPage) orNothing(err error) error {
	var no *audit.NoSuch
	var blank *audit.NotPrinted
	var input *prep.InputError
	switch {
	case errors.As(err, &blank):
		s.nothing(blank.Error() + ".")
	case errors.As(err, &no):
		s.nothing("The log does not know this code. Scan it again, or type what is printed beside it.")
	case errors.As(err, &input):
		s.nothing(input.What + ". " + input.Do + ".")
	default:
		return err
	}
	return nil
}

func (s *storyPage) nothing(why string) {
	s.Sure = &Certainty{Word: "Nothing here matches.", Prose: strings.ToUpper(why[:1]) + why[1:], Class: "no"}
	s.Lives, s.Sets, s.Units, s.Box, s.Load, s.Beside = nil, nil, nil, nil, nil, nil
}

// tell fills the story of a named thing; what has a page of its own is shown there.
func (s *storyPage) tell(v View, kind audit.NameKind, key string) (to string, err error) {
	switch kind {
	case audit.NamedMismatch, audit.NamedClaim:
		if s.Client {
			return "", &audit.NoSuch{Kind: string(kind), Name: key}
		}
		path := map[audit.NameKind]string{audit.NamedMismatch: "/wrong/", audit.NamedClaim: "/claimed/"}[kind]
		return path + url.PathEscape(key), nil
	case audit.NamedMark:
		m, err := prep.ParseMark(key)
		if err != nil {
			return "", err
		}
		return "", s.tellMark(v, m)
	case audit.NamedMaterial:
		return "", s.tellMaterial(v, key)
	case audit.NamedLoad:
		return "", s.tellLoad(v, key)
	case audit.NamedTote:
		return "", s.tellTote(v, key)
	}
	ask := audit.Ask{Item: s.Item}
	switch kind {
	case audit.NamedCarton:
		ask.Carton = key
	case audit.NamedLot:
		ask.Lot = key
	case audit.NamedRun:
		ask.Run = key
	case audit.NamedSerial:
		ask.Serial = key
	case audit.NamedItem:
		ask.Item = key
	}
	return "", s.tellSets(v, kind, key, ask)
}

func nameOf(name, item string) string {
	if name == "" {
		return item
	}
	return name
}

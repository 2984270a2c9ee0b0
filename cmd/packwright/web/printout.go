package web

import (
	"errors"
	"fmt"
	"net/http"
	"strconv"
	"strings"

	"packwright/audit"
	"packwright/cmd/packwright/door"
	"packwright/cmd/packwright/printing"
	"packwright/events"
	"packwright/prep"
	"packwright/prep/label"
	"packwright/workflow"
)

// dots are the dots an inch of label printers, and of what prints on paper.
const (
	labelDots = 203
	paperDots = 600
)

// papers makes what a request asks to be printed.
type papers func(*http.Request) ([]label.Layout, error)

// paperOut is what leaves: as PDF, or by the printer.
type paperOut struct {
	form   string // that asked for it
	marks  prep.Marks
	labels []label.Label
	err    error
}

// dpi reads the printer's dots that were chosen.
func dpi(r *http.Request) (int, error) {
	text := r.FormValue("dpi")
	if text == "" {
		return labelDots, nil
	}
	n, err := strconv.Atoi(text)
	if err != nil {
		return 0, prep.Input(text+" is no number of dots", "choose 203, 300 or 600")
	}
	return n, nil
}

// deliver lays labels out and lets them leave. What does not fit says so, and no
// mark has gone to paper then.
func (p *Pages) deliver(w http.ResponseWriter, r *http.Request, out paperOut) {
	var pages []label.Layout
	n, err := dpi(r)
	if err = errors.Join(out.err, err); err == nil && len(out.labels) == 0 {
		err = prep.Input("there is nothing to print", "every label of this kind is used, or spoiled")
	}
	if err == nil {
		pages, err = printing.Lay(n, out.labels...)
	}
	var before bool
	if err == nil {
		before, err = p.taken.take(out.form, out.marks)
	}
	if err != nil {
		p.refuse(w, r, err)
		return
	}
	if r.PostFormValue("way") != "printer" {
		p.sendPDF(w, r, pages)
		return
	}
	if before {
		p.answer(w, r, door.Answer{Outcome: workflow.Already})
		return
	}
	if err := p.lp(w, r, pages); err != nil {
		p.taken.leave(out.form, out.marks)
		p.refuse(w, r, err)
	}
}

// sendPDF answers with pages for the browser to show and print.
func (p *Pages) sendPDF(w http.ResponseWriter, r *http.Request, pages []label.Layout) {
	b, err := label.PDF(pages)
	if err != nil {
		p.refuse(w, r, err)
		return
	}
	w.Header().Set("Content-Type", "application/pdf")
	w.Header().Set("Content-Disposition", "inline")
	_, _ = w.Write(b) // the asker may have gone
}

// lp sends pages to the system's printer and shows what it answered.
func (p *Pages) lp(w http.ResponseWriter, r *http.Request, pages []label.Layout) error {
	if p.Printer == nil {
		return prep.Input("this hub has no printer", "open the PDF and print from there, or start the hub with --printer")
	}
	jobs, err := p.Printer.Send(r.Context(), pages, printing.Job{Copies: 1})
	if err != nil {
		p.Logger.Warn().Err(err).Msg("the printer took nothing")
		return prep.Input("the printer took nothing: "+err.Error(), "look at the printer, or open the PDF and print from there")
	}
	p.show(w, r, http.StatusOK, "said", said{Sheet: Sheet{Title: "packwright", Name: "packwright", Who: door.WhoOf(r.Context()), Styles: []string{"said.css"}},
		Outcome: workflow.Kept, Word: "kept", Text: fmt.Sprintf("%s to the printer.", upper(pagesOf(len(pages)))), Next: sentence("it answered: " + strings.Join(jobs, "; ")), Then: local(r.PostFormValue("then"))})
	return nil
}

func pagesOf(n int) string {
	if n == 1 {
		return "1 page went"
	}
	return fmt.Sprintf("%d pages went", n)
}

// asPDF shows papers in the browser.
func (p *Pages) asPDF(make papers) http.HandlerFunc {
	return func(w http.ResponseWriter, r *http.Request) {
		pages, err := make(r)
		if err != nil {
			p.refuse(w, r, err)
			return
		}
		p.sendPDF(w, r, pages)
	}
}

// toPrinter sends papers to the system's printer.
func (p *Pages) toPrinter(make papers) http.HandlerFunc {
	return func(w http.ResponseWriter, r *http.Request) {
		r.Body = http.MaxBytesReader(w, r.Body, 4<<10)
		pages, err := make(r)
		if err == nil {
			err = p.lp(w, r, pages)
		}
		if err != nil {
			p.refuse(w, r, err)
		}
	}
}

// printCarton prints a carton's label: with its 18 digits where it has some, else
// with the floor's own code. That it was printed stands in the log before.
func (p *Pages) printCarton(w http.ResponseWriter, r *http.Request) {
	r.Body = http.MaxBytesReader(w, r.Body, 4<<10)
	who, carton := door.WhoOf(r.Context()), r.PathValue("carton")
	x, err := p.cartonLabel(r, carton)
	n, bad := dpi(r)
	var pages []label.Layout
	if err = errors.Join(err, bad); err == nil {
		pages, err = printing.Lay(n, x) // before the log is told: what does not fit was not printed
	}
	c, bad := p.command(r, who)
	if err = errors.Join(err, bad); err != nil {
		p.refuse(w, r, err)
		return
	}
	c.Type = "print-labels"
	c.Data, err = jsonOf(map[string]any{"carton": carton, "kind": events.CartonLabel})
	if err != nil {
		p.refuse(w, r, err)
		return
	}
	a := p.ask(r.Context(), who, c)
	switch {
	case a.Err() != nil:
		p.answer(w, r, a)
	case r.PostFormValue("way") != "printer":
		p.sendPDF(w, r, pages)
	case a.Outcome == workflow.Already:
		p.answer(w, r, a)
	default:
		if err := p.lp(w, r, pages); err != nil {
			p.refuse(w, r, err)
		}
	}
}

// cartonLabel is what a carton travels under. What it weighs is known to whoever
// carries it; how many pieces it holds is never on it.
func (p *Pages) cartonLabel(r *http.Request, carton string) (label.Label, error) {
	x := label.Carton{Carton: carton}
	err := p.Log.Look(r.Context(), p.At, func(v View) error {
		held, ok := v.Contents(carton)
		if !ok {
			return &audit.NoSuch{Kind: "carton", Name: carton}
		}
		if x.Seal = held.Seal; held.Load != "" {
			x.Of = "load " + held.Load
		}
		if printing.Counted(held) {
			x.Gross = printing.Gross(held)
		}
		return nil
	})
	if err != nil {
		return nil, err
	}
	gone := p.Writer.View(r.Context(), func(f *workflow.Floor) {
		if c := f.Cartons[carton]; c != nil {
			x.SSCC = c.Code
		}
	})
	if gone != nil {
		return nil, gone
	}
	if digits := strings.TrimSpace(r.PostFormValue("sscc")); digits != "" {
		typed, err := prep.ParseSSCC(digits)
		if err != nil {
			return nil, err
		}
		if x.SSCC != "" && typed != x.SSCC {
			return nil, prep.Input(carton+" has the number "+string(x.SSCC)+" already", "leave the field empty")
		}
		x.SSCC = typed
	}
	if x.SSCC != "" {
		return x, nil
	}
	all, err := printing.Own([]string{carton}, label.Own{Stock: label.Wide}, workflow.ScanCarton)
	if err != nil {
		return nil, err
	}
	return all[0], nil
}

// contentsSheet says what a counted carton holds; before that it is refused.
func (p *Pages) contentsSheet(r *http.Request) ([]label.Layout, error) {
	var held audit.Contents
	err := p.Log.Look(r.Context(), p.At, func(v View) error {
		var ok bool
		if held, ok = v.Contents(r.PathValue("carton")); !ok {
			return &audit.NoSuch{Kind: "carton", Name: r.PathValue("carton")}
		}
		return nil
	})
	if err == nil && !printing.Counted(held) {
		err = prep.Input(held.Carton+" has no accepted count: a sheet would tell the number to those who count", "print it after the count")
	}
	var sheet label.Contents
	if err == nil {
		err = p.Writer.View(r.Context(), func(f *workflow.Floor) {
			sheet = printing.Contents(held, func(item string) string { return itemName(f, item) })
		})
	}
	n, bad := dpi(r)
	if err = errors.Join(err, bad); err != nil {
		return nil, err
	}
	return printing.Lay(n, sheet)
}

// badgeCard is the card of a badge that is enrolled and not retired.
func (p *Pages) badgeCard(r *http.Request) ([]label.Layout, error) {
	name := r.PathValue("badge")
	var roles []string
	err := p.Log.Look(r.Context(), p.At, func(v View) error {
		b, err := v.Badge(name)
		if err == nil && b.Retired {
			err = prep.Input(name+" is retired", "a badge is never given to another; enrol a new one")
		}
		for _, role := range b.Roles {
			roles = append(roles, string(role))
		}
		return err
	})
	if err != nil {
		return nil, err
	}
	return p.own(r, []string{"B-" + strings.TrimPrefix(name, "B-")}, label.Own{Note: strings.Join(roles, ", "), Stock: label.BadgeStock, Square: r.FormValue("square") != ""}, workflow.ScanBadge)
}

// mostCodes are how many labels one request makes.
const mostCodes = 200

// ownCodes are labels for totes and other things of the floor's, by their codes.
func (p *Pages) ownCodes(r *http.Request) ([]label.Layout, error) {
	codes := strings.FieldsFunc(strings.ToUpper(r.FormValue("codes")), func(c rune) bool { return c == ',' || c == ' ' || c == '\n' || c == '\r' })
	if len(codes) == 0 || len(codes) > mostCodes {
		return nil, prep.Input(fmt.Sprintf("%d codes", len(codes)), fmt.Sprintf("give 1 to %d, like T-05 T-06", mostCodes))
	}
	return p.own(r, codes, label.Own{Stock: label.Wide, Square: r.FormValue("square") != ""}, append([]workflow.Class{workflow.ScanTote}, printing.Places...)...)
}

func (p *Pages) own(r *http.Request, codes []string, like label.Own, classes ...workflow.Class) ([]label.Layout, error) {
	all, err := printing.Own(codes, like, classes...)
	n, bad := dpi(r)
	if err = errors.Join(err, bad); err != nil {
		return nil, err
	}
	return printing.Lay(n, all...)
}

// benchCards are the cards of a bench, on sheets of paper or one by one.
func (p *Pages) benchCards(r *http.Request) ([]label.Layout, error) {
	cards, err := printing.Cards(numberCards)
	if err != nil {
		return nil, err
	}
	paper, ok := map[string]label.Stock{"a4": label.A4, "letter": label.Letter}[r.FormValue("sheet")]
	if !ok {
		return printing.Lay(labelDots, cards...)
	}
	pages, err := printing.Lay(paperDots, cards...)
	if err != nil {
		return nil, err
	}
	return label.Sheets(pages, paper, nil)
}

// numberCards go up to this, as with packwright cards.
const numberCards = 12

// testLabel shows whether a printer has its dots.
func (p *Pages) testLabel(r *http.Request) ([]label.Layout, error) {
	n, err := dpi(r)
	if err != nil {
		return nil, err
	}
	return printing.Lay(n, label.Printer{})
}

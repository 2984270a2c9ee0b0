package web

import (
	"context"
	"net/http"
	"slices"
	"strings"
	"sync"

	"packwright/audit"
	"packwright/cmd/packwright/door"
	"packwright/cmd/packwright/printing"
	"packwright/events"
	"packwright/prep"
	"packwright/prep/label"
	"packwright/workflow"
)

// What goes on paper is printed from here: as a PDF that the browser shows and
// prints at true size or, where the hub was given one, by the system's printer.
//
// Labels with marks go onto paper once. That they were printed is in the log before
// (print-labels); one that is lost or torn is printed again by a command that
// spoils the old mark and gives a new one (print-again). So the hub remembers which
// form took a mark to paper: the same form again, after a lost answer, gets the
// same page; another form is told to print again. The memory ends with the hub; the
// log then still refuses a mark that comes back on a second piece.

// printPage is what can be printed of one thing, or of the floor.
type printPage struct {
	Sheet
	Run     *printRun
	Carton  *printCarton
	Badges  []string // to whom badges may be printed
	Printer bool     // the hub has one
	Ask     Form     // names the paper that is asked for
}

// printRun are the labels of a run.
type printRun struct {
	Run, Tote, Item string
	Labels          []printLabels
	Torn            []prep.Mark // spoiled ones, no more in force
	More, Again     Form
}

type printLabels struct {
	workflow.LooseLabels
	Word  string
	Draws bool
	Taken int // of them went to paper before
}

// printCarton are the papers of a carton.
type printCarton struct {
	Carton  string
	Code    prep.SSCC // known since its seal; empty: it is typed, or the floor's own code stands there
	Counted bool      // only then has it a contents sheet
	Ask     Form
}

// taken remembers which form took a mark to paper.
type taken struct {
	mu sync.Mutex
	by map[prep.Mark]string
}

// take notes marks for a form, all or none. Errors: *prep.InputError when another
// form took one of them before.
func (x *taken) take(form string, marks prep.Marks) (before bool, err error) {
	x.mu.Lock()
	defer x.mu.Unlock()
	for _, m := range marks {
		if by := x.by[m]; by != "" && by != form {
			return false, prep.Input(m.Display()+" was put on paper before", "was it lost or torn? Print it again, with the reason: it gets a new number")
		}
		before = before || x.by[m] == form
	}
	if x.by == nil {
		x.by = map[prep.Mark]string{}
	}
	for _, m := range marks {
		x.by[m] = form
	}
	return before, nil
}

// leave forgets what a form took: it did not reach paper.
func (x *taken) leave(form string, marks prep.Marks) {
	x.mu.Lock()
	defer x.mu.Unlock()
	for _, m := range marks {
		if x.by[m] == form {
			delete(x.by, m)
		}
	}
}

func (x *taken) count(marks prep.Marks) (n int) {
	x.mu.Lock()
	defer x.mu.Unlock()
	for _, m := range marks {
		if x.by[m] != "" {
			n++
		}
	}
	return n
}

// printRoutes are those of the papers.
func (p *Pages) printRoutes(page func(string, string, door.May, http.HandlerFunc) door.Route) []door.Route {
	boss := door.Supervisor | door.Owner
	routes := []door.Route{
		page("GET /print", "what goes on paper: of a run, of a carton, of the floor; ?run= ?carton=", door.Hands, p.print),
		page("POST /print/run/{run}", "the labels of a run that no piece bears yet, once", door.Hands, p.printRun),
		page("POST /print/run/{run}/labels", "more labels for a run, or new ones for those that are torn", door.Hands, p.printLabels),
		page("POST /print/carton/{carton}", "the label of a carton; the printing stands in the log", door.Hands, p.printCarton),
	}
	for _, x := range []struct {
		pattern, about string
		may            door.May
		papers         papers
	}{
		{"/print/contents/{carton}", "what a counted carton holds", door.Hands, p.contentsSheet},
		{"/print/badge/{badge}", "a badge, on a card", boss, p.badgeCard},
		{"/print/codes", "codes of the floor's own: totes, benches, asides, cartons; ?codes=", door.Hands, p.ownCodes},
		{"/print/cards", "the cards of a bench", door.Hands, p.benchCards},
		{"/print/test", "whether the printer has the dots it is taken to have", door.Hands, p.testLabel},
	} {
		routes = append(routes, page("GET "+x.pattern, x.about+", as PDF", x.may, p.asPDF(x.papers)),
			page("POST "+x.pattern, x.about+", to the printer", x.may, p.toPrinter(x.papers)))
	}
	return routes
}

// print shows what can be printed.
func (p *Pages) print(w http.ResponseWriter, r *http.Request) {
	page := printPage{Printer: p.Printer != nil}
	run, carton := strings.TrimSpace(r.URL.Query().Get("run")), strings.TrimSpace(r.URL.Query().Get("carton"))
	err := p.Log.Look(r.Context(), p.At, func(v View) error {
		page.Sheet = p.sheet(r.Context(), v, "What goes on paper?")
		page.Nav, page.Styles = "/print", []string{"desk.css", "print.css"}
		page.Ask = form(page.Who, "paper", "/print")
		if page.Who.As()&(door.Supervisor|door.Owner) != 0 {
			for _, b := range v.Badges() {
				if !b.Retired {
					page.Badges = append(page.Badges, b.Badge)
				}
			}
		}
		if carton == "" {
			return nil
		}
		held, ok := v.Contents(carton)
		if !ok {
			return &audit.NoSuch{Kind: "carton", Name: carton}
		}
		page.Name = "What goes on " + held.Carton + "?"
		page.Carton = &printCarton{Carton: held.Carton, Counted: printing.Counted(held), Ask: form(page.Who, "print-labels", "/print?carton="+held.Carton)}
		return nil
	})
	if err == nil {
		err = p.fillPaper(r.Context(), &page, run)
	}
	p.showOr(w, r, err, "print", &page)
}

// fillPaper adds what the floor itself knows: loose labels, a carton's number.
func (p *Pages) fillPaper(ctx context.Context, page *printPage, run string) (err error) {
	gone := p.Writer.View(ctx, func(f *workflow.Floor) {
		if c := page.Carton; c != nil && f.Cartons[c.Carton] != nil {
			c.Code = f.Cartons[c.Carton].Code
		}
		if run == "" {
			return
		}
		var r *workflow.Run
		if r, err = p.mayPrint(f, page.Who, run); err != nil {
			return
		}
		here := "/print?run=" + r.Run
		page.Name = "Labels of " + r.Run
		page.Run = &printRun{Run: r.Run, Tote: r.Tote, Item: itemName(f, r.Item), Torn: slices.Clone(r.Torn), More: form(page.Who, "print-labels", here), Again: form(page.Who, "print-again", here)}
		for _, l := range f.LooseLabels(r.Run) {
			page.Run.Labels = append(page.Run.Labels, printLabels{l, strings.ReplaceAll(string(l.Kind), "-", " "), printing.Draws(l.Kind), p.taken.count(l.Marks)})
		}
	})
	if gone != nil {
		return gone
	}
	return err
}

func itemName(f *workflow.Floor, item string) string {
	if it := f.Items[item]; it != nil {
		return it.Name
	}
	return item
}

// mayPrint gives a run whose labels somebody may print: a packer's is at their own
// bench. Of a run that is over nothing is printed.
func (p *Pages) mayPrint(f *workflow.Floor, who door.Who, run string) (*workflow.Run, error) {
	r := f.Runs[run]
	switch {
	case r == nil:
		return nil, &audit.NoSuch{Kind: "run", Name: run}
	case r.State == workflow.RunClosed:
		return nil, prep.Input(run+" is over", "its labels were counted and given back")
	case who.As()&^door.Packer == 0 && r.Station != who.Station:
		return nil, prep.Input(run+" is at another bench", "its labels are printed there, or by a lead")
	}
	return r, nil
}

// printRun puts the loose labels of one kind on paper, those with marks once.
func (p *Pages) printRun(w http.ResponseWriter, r *http.Request) {
	r.Body = http.MaxBytesReader(w, r.Body, 4<<10)
	who, kind, id := door.WhoOf(r.Context()), events.LabelKind(r.PostFormValue("kind")), r.PostFormValue("id")
	var all []label.Label
	var marks prep.Marks
	var err error
	if want := formID(who); len(id) > len(want)+40 || !strings.HasPrefix(id, stationOf(want)) {
		err = prep.Input("the form cannot be read", "load the page again")
	}
	gone := p.Writer.View(r.Context(), func(f *workflow.Floor) {
		if err != nil {
			return
		}
		var run *workflow.Run
		if run, err = p.mayPrint(f, who, r.PathValue("run")); err != nil {
			return
		}
		i := slices.IndexFunc(f.LooseLabels(run.Run), func(l workflow.LooseLabels) bool { return l.Kind == kind })
		if i < 0 {
			err = prep.Input(run.Run+" has no labels of that kind", "look at its recipe")
			return
		}
		loose, it := f.LooseLabels(run.Run)[i], prep.Item{Name: run.Item}
		if known := f.Items[run.Item]; known != nil {
			it = *known
		}
		marks = slices.Clone(loose.Marks)
		all, err = printing.OfRun(run, it, loose, r.PostFormValue("mark-as") == "text")
	})
	if gone != nil {
		err = gone
	}
	p.deliver(w, r, paperOut{form: id, marks: marks, labels: all, err: err})
}

// printLabels gives the command that prints more labels, or new ones for torn ones.
func (p *Pages) printLabels(w http.ResponseWriter, r *http.Request) {
	r.Body = http.MaxBytesReader(w, r.Body, 4<<10)
	who := door.WhoOf(r.Context())
	c, err := p.command(r, who)
	if err == nil && c.Type != "print-labels" && c.Type != "print-again" {
		err = prep.Input("that is no printing of labels", "load the page again")
	}
	if err == nil && c.Type == "print-again" && strings.TrimSpace(r.PostFormValue("s.why")) == "" {
		err = prep.Input("the reason is missing", "say why the label is printed again")
	}
	if err != nil {
		p.refuse(w, r, err)
		return
	}
	p.answer(w, r, p.ask(r.Context(), who, c))
}

// stationOf is the station that an id of a form begins with.
func stationOf(id string) string { return id[:strings.IndexByte(id, '/')+1] }

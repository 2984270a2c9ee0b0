package web

import (
	"fmt"
	"slices"
	"strings"

	"packwright/audit"
	"packwright/cmd/packwright/door"
	"packwright/events"
	"packwright/workflow"
)

// Ways are the lawful ways out of a matter, as one badge sees them.
type Ways struct {
	Left  string // "the 19 minutes to 18:00"; empty: no truck waits
	List  []Way
	Leave []string // cartons that may stay for the next load
	Send  int      // how many would go without them
}

// Way is one lawful way out.
type Way struct {
	Name  string
	Does  string
	May   bool
	Who   string // who may, and who must agree
	How   string // where and by what hands it is done
	Check string // what must be in the log before it closes
	Takes string // how long, and what that rests on
	Bar   *TimeBar
	Both  bool
}

// settledBy says by which way out a matter was closed.
func settledBy(m audit.MatterView) string {
	for _, r := range events.WaysOut(kindsOf(m)...) {
		if r.Name == m.Resolution {
			return r.Does
		}
	}
	return m.Resolution
}

// TimeBar is minutes on the minutes left.
type TimeBar struct {
	Percent float64
	Text    string
	Wait    bool // somebody has to answer first
}

// Wide is how wide the bar is drawn: what is left of the row has room for its text.
func (b TimeBar) Wide() float64 { return r1(b.Percent * barRoom / 100) }

// barRoom is how much of a row its bar may take, in percent.
const barRoom = 76

// Acts are the forms of somebody who may settle it.
type Acts struct {
	Taken    string // who else has it, and since when; empty: free, or mine
	Mine     bool
	Take     Form
	Note     Form
	Fixed    Form
	Resolve  Form
	Hand     Form
	Leave    Form // an override
	Cartons  []string
	Benches  []string
	Seconds  []string // badges that can be the second person
	Gates    []gateWord
	Counters []string // who is signed in and did not count or pack it
	Changes  []changeAsk
	IsFixed  bool
	Mismatch string
}

// changeAsk leads to the page that proposes a change of a carton's lines.
type changeAsk struct{ Carton, Plan, Path string }

// gateWord is a gate that leave may be given for.
type gateWord struct{ Gate, Says string }

// gateWords are the gates in words. Which of them may be passed the floor says
// when it is asked; nothing about hazards, counts or seals is among them.
var gateWords = []gateWord{
	{"third-counter", "somebody who counted before counts again"},
	{"late-in-count", "what was told late was in the count"},
	{"scale-fault", "the scale is wrong and two blind counts agree (a second person must agree)"},
	{"certify-by-weight", "the weight stands in for a count (a second person must agree)"},
	{"label-balance", "the run closes though labels do not add up"},
	{"unprepped", "a piece goes in though its run is not finished"},
	{"mixed-lots", "two lots may share a tote"},
	{"short-life", "goods near their date may leave"},
	{"bench-clear", "the next run begins on a bench that is not clear"},
	{"recipe-clearance", "a packer without clearance does this recipe"},
	{"substitute", "another material than the recipe's (a second person must agree)"},
	{"delegation", "an approval beyond the delegated limit"},
}

// hows says where a way out is done, and by what hands. {it} is the carton or
// its like, {bench} the bench.
var hows = map[string]string{
	"recount":           "At {bench}: somebody else signs in, scans {it} and counts it blind.",
	"find-and-add":      "Look where pieces are set down. At {bench}: scan {it}, then the piece; then FINISH CARTON, weigh, and somebody else counts.",
	"amend-plan":        "Ask for the change below; it takes effect when its owner says yes.",
	"take-out":          "At {bench}: scan {it}, take the piece out to its tote; then count again.",
	"move":              "At {bench}: take it out of {it} and scan it into the carton it is for; both are counted again.",
	"remove":            "At {bench}: take it out of {it}; then count again.",
	"reweigh":           "Check the scale with the reference weight, weigh {it} again; then somebody else counts.",
	"weigh-singly":      "Weigh the pieces one by one at {bench}; then somebody else counts.",
	"find-swap":         "Open {it} at {bench}, put the right piece in; each carton is counted again.",
	"open-and-count":    "Break the seal, count {it}, seal it with a new one.",
	"open-and-recount":  "Open {it}, count it again, seal it with a new one.",
	"split-carton":      "At {bench}: take pieces out of {it} to another carton; both are counted.",
	"weigh-and-certify": "Ask for leave below, with a second person; the weight then stands in for the count.",
	"accept":            "Ask for leave below first.",
	"allow":             "Ask for leave below first.",
	"confirm-in-count":  "Ask for leave below first.",
}

// waysOf puts the options into words and bars.
func waysOf(v View, why audit.Why, o audit.Options) Ways {
	w := Ways{}
	left := leftTo(v)
	if left.minutes > 0 {
		w.Left = fmt.Sprintf("each bar runs on the %d minutes to %s", left.minutes, left.clock)
	}
	carton, bench := strings.Join(o.Cartons, " and "), ""
	if len(why.Cartons) > 0 {
		bench = why.Cartons[0].Bench
	}
	if bench == "" {
		bench = "a bench"
	}
	for _, opt := range o.Options {
		x := Way{Name: opt.Name, Does: upper(opt.Does), May: opt.May, Both: opt.Both, Who: whoMay(opt), Check: opt.CheckSays(), Takes: opt.Takes.Says()}
		if how := hows[opt.Name]; how != "" {
			x.How = strings.NewReplacer("{it}", carton, "{bench}", bench).Replace(how)
		}
		switch {
		case len(opt.Waits) > 0:
			var voices []string
			for _, role := range opt.Waits { // each of them must say yes
				voices = append(voices, strings.Join(voicesOf(v, why, []events.Role{role}), " or "))
			}
			x.Bar = &TimeBar{Text: fmt.Sprintf("until %s answers", strings.Join(voices, ", then ")), Wait: true}
		case left.minutes > 0:
			x.Bar = &TimeBar{Percent: min(100*float64(opt.Takes.Minutes)/float64(left.minutes), 99), Text: fmt.Sprintf("%d min", opt.Takes.Minutes)}
		}
		w.List = append(w.List, x)
	}
	if o.Leave {
		w.Leave = o.Cartons
		for _, c := range v.Board(v.Now).Cartons {
			if !slices.Contains(o.Cartons, c.Carton) {
				w.Send++
			}
		}
	}
	return w
}

// voicesOf names the badges that can answer for these roles: of clients, those
// whose goods are in the cartons.
func voicesOf(v View, why audit.Why, roles []events.Role) []string {
	var out []string
	for _, b := range v.Badges() {
		for _, r := range roles {
			if slices.Contains(b.Roles, r) && (r != events.Client || holds(why, b.OwnerOf)) && !slices.Contains(out, b.Badge) {
				out = append(out, b.Badge)
			}
		}
	}
	if len(out) == 0 {
		return []string{rolesIn(roles)}
	}
	return out
}

func holds(why audit.Why, owner string) bool {
	for _, c := range why.Cartons {
		if slices.ContainsFunc(c.Lines, func(l audit.ContentLine) bool { return l.Owner == owner }) {
			return true
		}
	}
	return false
}

func upper(s string) string {
	if s == "" {
		return s
	}
	return strings.ToUpper(s[:1]) + s[1:]
}

func rolesIn(list []events.Role) string {
	var out []string
	for _, r := range list {
		out = append(out, string(r))
	}
	return strings.Join(out, " or ")
}

func whoMay(o audit.Option) string {
	who := "you may close it so"
	if !o.May {
		who = "for " + rolesIn(o.Who)
	}
	if len(o.Waits) > 0 {
		who += "; " + strings.ReplaceAll(rolesIn(o.Waits), " or ", " and ") + " must agree"
	}
	if o.Both {
		who += "; two persons, supervisor and owner"
	}
	return who
}

// remaining is the time to the next truck.
type remaining struct {
	minutes int
	clock   string
}

func leftTo(v View) remaining {
	for _, l := range v.Board(v.Now).Loads {
		if !l.Due.IsZero() && l.Minutes > 0 {
			return remaining{l.Minutes, clockOf(l.Due)}
		}
	}
	return remaining{}
}

// actsOf makes the forms. Somebody else's matter offers only a note.
func actsOf(v View, who door.Who, m audit.MatterView, why audit.Why) *Acts {
	back := "/wrong/" + m.Mismatch
	a := &Acts{Mismatch: m.Mismatch, Mine: m.By == who.Badge, Gates: gateWords, IsFixed: !m.Fixed.IsZero(),
		Take: form(who, "take", back), Note: form(who, "note", back), Fixed: form(who, "fixed", back),
		Resolve: form(who, "resolve", back), Hand: form(who, "hand-over-carton", back), Leave: form(who, "override", back)}
	if m.By != "" && !a.Mine {
		a.Taken = fmt.Sprintf("%s has it since %s", m.By, clockOf(m.Taken))
	}
	for _, c := range why.Cartons {
		a.Cartons = append(a.Cartons, c.Carton)
		if c.Plan != "" {
			a.Changes = append(a.Changes, changeAsk{c.Carton, c.Plan, "/plans/" + c.Plan + "/ask?carton=" + c.Carton + "&mismatch=" + m.Mismatch})
		}
	}
	for _, b := range v.Board(v.Now).Benches {
		if b.Bench != workflow.Board {
			a.Benches = append(a.Benches, b.Bench)
		}
		if b.Badge != "" && b.Badge != who.Badge && counts(v, b.Badge) && !touched(why, b.Badge) {
			a.Counters = append(a.Counters, b.Badge+" at "+b.Bench)
		}
	}
	for _, b := range v.Badges() {
		if b.Badge != who.Badge && (slices.Contains(b.Roles, events.Supervisor) || slices.Contains(b.Roles, events.Owner)) {
			a.Seconds = append(a.Seconds, b.Badge)
		}
	}
	return a
}

// counts says whether a badge works at benches.
func counts(v View, badge string) bool {
	b, err := v.Badge(badge)
	return err == nil && (slices.Contains(b.Roles, events.Packer) || slices.Contains(b.Roles, events.Lead))
}

// touched says whether somebody has counted or packed one of the cartons lately.
func touched(why audit.Why, badge string) bool {
	for _, c := range why.Counts {
		if slices.ContainsFunc(c.Counts, func(k audit.Count) bool { return k.By == badge }) {
			return true
		}
	}
	return slices.ContainsFunc(why.Recent, func(h audit.Happened) bool {
		return h.Badge == badge && strings.HasPrefix(h.Text, "placed ")
	})
}

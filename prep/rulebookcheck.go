package prep

import (
	"errors"
	"fmt"
	"slices"
)

// Finding is something that a rulebook leaves open, with an example of the
// goods for which it does. It is an error: a rulebook with findings is not published.
type Finding struct {
	Kind    string `json:"kind"`           // one of the Found… words
	Rule    string `json:"rule,omitempty"` // the rule to look at first
	Text    string `json:"text"`
	Do      string `json:"do"`
	Witness string `json:"example,omitempty"` // the answers that show it

	path string
}

// The kinds of finding.
const (
	FoundUndefined = "undefined" // a name, word or number that does not hold together
	FoundNeverHits = "never"     // a rule that no goods can make fire
	FoundAlways    = "always"    // a rule with a condition that all goods fulfil
	FoundConflict  = "conflict"  // goods for which the rules contradict each other
	FoundSurface   = "surface"   // a rule that allows what the surface table forbids
	FoundSilent    = "silent"    // goods of which no rule may speak
	FoundName      = "name"      // a recipe name that can never be given
	FoundTangled   = "tangled"   // too many answers hang together to be proved
)

// Check proves that a rulebook gives every combination of answers exactly one
// recipe or a stop, and returns what stands against it, nothing when it holds.
//
// The proof is by decomposition. Rules can only contradict each other over a
// means: what one allows, uses or wants and another forbids, or two that may
// never meet. Rules that speak of the same means, or of two that are kept apart,
// form a group, so rules of different groups share no forbidden pair; what else
// they ask for is united and cannot conflict. For each group the attributes
// that its rules read are walked through in full, numbers by one value from
// between each two thresholds, and every combination is worked out by the same
// code that works out recipes. That a recipe has one name follows from the
// ordered list of names with its "otherwise"; that no goods are passed over in
// silence, from one attribute whose every answer makes some rule fire.
func Check(b *Rulebook) []Finding {
	var out []Finding
	for _, p := range b.problems() {
		out = append(out, Finding{Kind: FoundUndefined, Text: p.what, Do: p.do, path: p.path})
	}
	if len(out) > 0 {
		return out
	}
	p := &proof{book: b, c: b.ready()}
	p.soloRules()
	for _, g := range p.groups() {
		p.walkGroup(g)
	}
	p.surfaces()
	p.coverage()
	p.names()
	return p.found
}

// Findings turns findings into one error of *InputErrors, with their places when
// the rulebook was read from a file; nil when there are none.
func Findings(b *Rulebook, found []Finding) error {
	errs := make([]error, 0, len(found))
	for _, f := range found {
		what := f.Text
		if f.Witness != "" {
			what += ", for example when " + f.Witness
		}
		e := Input(what, f.Do)
		if b.src != nil {
			mark := len(b.src.errs)
			b.src.fail(b.src.place(f.path), what, f.Do)
			e, b.src.errs = b.src.errs[mark], b.src.errs[:mark]
		}
		errs = append(errs, e)
	}
	return errors.Join(errs...)
}

// proof is a check under way.
type proof struct {
	book  *Rulebook
	c     *compiled
	found []Finding
}

func (p *proof) add(kind, rule, text, do, witness string) {
	p.found = append(p.found, Finding{Kind: kind, Rule: rule, Text: text, Do: do, Witness: witness, path: path("rules", rule, "when")})
}

// soloRules shows for each rule one combination of its own attributes that
// makes it fire and one that does not.
func (p *proof) soloRules() {
	for i := range p.c.rules {
		r := &p.c.rules[i]
		if r.when.always {
			continue
		}
		product := p.productOf([]int{i})
		if product.size() > largestProduct {
			p.tangled(r.ID, product)
			continue
		}
		hit, miss := false, false
		product.each(func(k *knowledge) bool {
			if r.when.holds(k) {
				hit = true
			} else {
				miss = true
			}
			return !hit || !miss
		})
		if !hit {
			p.add(FoundNeverHits, r.ID, "rule "+r.ID+" can never fire: its conditions exclude each other", "loosen a condition", "")
		}
		if !miss {
			p.add(FoundAlways, r.ID, "rule "+r.ID+" fires for all goods", "write when: always if that is meant", "")
		}
	}
}

func (p *proof) tangled(rule string, product *product) {
	p.add(FoundTangled, rule, fmt.Sprintf("rule %s reads together with others %s: too many combinations to prove", rule, product.named()),
		"split it into rules that read less", "")
}

// surfaces finds rules that allow a means where the surface table does not.
func (p *proof) surfaces() {
	for i := range p.c.rules {
		r := &p.c.rules[i]
		if r.allow&removalSet == 0 {
			continue
		}
		fires := p.surfacesOf(i)
		for _, m := range removalMeans {
			if r.allow.has(m) {
				p.surfaceOf(r, m, fires)
			}
		}
	}
}

func (p *proof) surfaceOf(r *readyRule, m Means, fires []Surface) {
	var refused []Surface
	for _, s := range fires {
		if !Leaves(s, m).Usable() {
			refused = append(refused, s)
		}
	}
	if len(refused) == 0 || len(refused) < len(fires) && !r.reads(factSurface) {
		return
	}
	s := refused[0]
	word := facts[factSurface].words[s]
	p.found = append(p.found, Finding{Kind: FoundSurface, Rule: r.ID, path: path("rules", r.ID, m),
		Text: fmt.Sprintf("rule %s allows %s on %s; the surface table says %s", r.ID, m, word, Leaves(s, m)),
		Do:   "take " + string(m) + " out of allow"})
}

// surfacesOf lists the known surfaces for which a rule can fire.
func (p *proof) surfacesOf(rule int) []Surface {
	product := p.productOf([]int{rule})
	product.include(factSurface)
	var seen uint16
	if product.size() <= largestProduct {
		product.each(func(k *knowledge) bool {
			if p.c.rules[rule].when.holds(k) {
				seen |= k.mask[factSurface]
			}
			return true
		})
	}
	var out []Surface
	for s := SurfaceCard; int(s) < len(facts[factSurface].words); s++ {
		if seen&(1<<s) != 0 {
			out = append(out, s)
		}
	}
	return out
}

func (r *readyRule) reads(fact int) bool {
	found := false
	r.when.each(func(t *readyTest) { found = found || t.fact == fact })
	return found
}

// coverage wants one attribute whose every answer makes a rule fire that
// reads nothing else.
func (p *proof) coverage() {
	var covered [factCount]uint16
	for i := range p.c.rules {
		w := &p.c.rules[i].when
		if w.always {
			return
		}
		if len(w.all) == 1 && len(w.any) == 0 && !w.all[0].number {
			covered[w.all[0].fact] |= w.all[0].want
		}
	}
	for i := range factUses {
		if n := len(facts[i].words); n > 0 && covered[i] == 1<<n-1 {
			return
		}
	}
	p.found = append(p.found, Finding{Kind: FoundSilent, path: "rules",
		Text: "for some goods no rule may fire, and nobody would be told what to do",
		Do:   "write a rule with when: always, or rules for every answer to one question, unknown too"})
}

// names finds recipe names that an earlier one always takes first.
func (p *proof) names() {
	for i, n := range p.book.Names {
		for _, earlier := range p.book.Names[:i] {
			if containsAll(n.Rules, earlier.Rules) {
				p.found = append(p.found, Finding{Kind: FoundName, path: path("names", n.Name),
					Text: fmt.Sprintf("no recipe is ever called %q: %q stands before it and fits whenever it does", n.Name, earlier.Name),
					Do:   "move it before " + earlier.Name})
			}
		}
	}
}

func containsAll(list, part []string) bool {
	return !slices.ContainsFunc(part, func(s string) bool { return !slices.Contains(list, s) })
}

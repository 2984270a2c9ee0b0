package floors

import (
	"cmp"
	"fmt"
	"maps"
	"slices"
	"strings"
	"time"

	"packwright/events"
	"packwright/prep"
	"packwright/workflow"
)

// atOnce sends an act, again if need be, until it is answered.
func (d *Day) atOnce(a *act) {
	d.now = d.now.Add(time.Second)
	d.number(a)
	for range 30 {
		if d.deliver(); !slices.Contains(a.station.outbox, a) {
			return
		}
		d.now = d.now.Add(time.Second)
	}
}

// who finds a person by badge.
func (d *Day) who(badge string) *person {
	i := slices.IndexFunc(d.people, func(p *person) bool { return p.badge == badge })
	return d.people[i]
}

// morning founds the floor and says who there is, what there is and by which rules.
func (d *Day) morning() {
	own := d.who("own")
	board := d.stations[workflow.Board]
	d.atOnce(&act{station: board, typ: "found", data: kv("floor", Floor, "owner", "own", "currency", "EUR", "epoch", fmt.Sprint("seed-", d.Seed), "key", publicKey)})
	own.here = workflow.Board
	d.atOnce(d.say(own, "sign-in"))
	for _, p := range d.people[1:] {
		roles := map[string][]string{"supervisor": {"supervisor", "lead", "packer"}, "packer": {"packer"}, "client": {"client"}}[p.job]
		words := []any{"badge", p.badge, "roles", roles}
		switch {
		case p.job == "client":
			words = append(words, "owner_of", "mill")
		case p.badge == "sup-2":
			words = append(words, "licence", "L-1")
		}
		if p.job == "supervisor" || d.Policy.Clearances && p.badge != "pk-1" {
			words = append(words, "recipes_cleared", []string{"*"})
		}
		d.atOnce(d.say(own, "enrol-badge", words...))
	}
	for _, name := range d.names {
		d.atOnce(d.say(own, "join", "name", name))
	}
	for _, code := range slices.Sorted(maps.Keys(d.items)) {
		d.atOnce(&act{station: board, who: own, typ: "register-item", data: itemData(d.items[code])})
	}
	d.atOnce(d.say(own, "publish-rulebook", "source", string(rulesFile), "file", "rules.yaml"))
	d.atOnce(d.say(own, "sign-out"))
	own.here = own.home
	for _, p := range d.people {
		d.atOnce(d.say(p, "sign-in"))
	}
	d.atOnce(d.say(d.who("sup-1"), "check-scale", "scale", "SC-1", "ref_g", 5000, "read_g", 5001))
}

// itemData gives an item as a command says it.
func itemData(it prep.Item, more ...any) map[string]any {
	m := kv(more...)
	for _, f := range []struct {
		k string
		v any
	}{{"item", it.Item}, {"name", it.Name}, {"codes", it.Codes}, {"owner_scope", it.Owner}, {"attrs", it.Attrs}, {"trace", it.Trace},
		{"unit_g", it.UnitG}, {"unit_sd_g", it.UnitSD}, {"dims_mm", it.Dims}, {"value_minor", it.Value}, {"set_of", it.Set}} {
		m[f.k] = f.v
	}
	return m
}

// announce chooses what comes today, puts it on the truck, and plans cartons of it.
func (d *Day) announce() {
	own := d.who("own")
	kinds := slices.Sorted(maps.Keys(d.items))
	kinds = slices.DeleteFunc(kinds, func(k string) bool { return k == "DUO" })
	n := d.dice.Between(5, 9)
	comes := map[string]int{}
	for i := range n {
		it := d.items[pick(d.dice, kinds)]
		lot, qty := d.today(fmt.Sprintf("L-%02d", i+1)), d.dice.Between(4, 14)
		if it.Item == "LMP" {
			qty = d.dice.Between(1, 3)
		}
		d.lots = append(d.lots, lot)
		owner := it.Owner
		if d.slips > 0 && d.dice.Percent(5) {
			owner = "mill" // of goods that are the house's by rule
		}
		words := []any{"lot", lot, "item", it.Item, "owner", owner, "qty", qty, "unit_cost", int(it.Value) / 2}
		if d.dice.Percent(20) {
			words = append(words, "source_ref", fmt.Sprint("slip ", i), "kind", pick(d.dice, []string{"bought", "return"}))
		}
		d.atOnce(d.say(own, "announce", words...))
		really := qty
		if d.slips > 0 && d.dice.Percent(15) {
			really = max(1, qty+d.dice.Between(-2, 1))
		}
		for k := range really {
			d.truth.pieces = append(d.truth.pieces, d.newPiece(it, lot, fmt.Sprintf("%s-%d", lot, k)))
		}
		if it.Item != "LMP" {
			comes[it.Item] += qty
		}
	}
	d.plan(comes)
}

func (d *Day) newPiece(it prep.Item, lot, serial string) *piece {
	return &piece{item: it.Item, lot: lot, where: truck, serial: serial, grams: it.UnitG.Grams() + d.dice.Normal()*it.UnitSD.Grams()}
}

// plan fills cartons with what should come, now and then with a piece too many.
func (d *Day) plan(comes map[string]int) {
	if n := comes["CRD"]; n > 0 {
		comes["DUO"] = n / 2
		delete(comes, "CRD")
	}
	var lines []events.PlanLine
	carton, room, owner := 0, 0, ""
	dest, plans := "dest-default", 1
	if d.dice.Percent(15) {
		dest = "dest-mixed"
	}
	if d.dice.Percent(25) {
		plans = 2
	}
	for _, item := range slices.SortedFunc(maps.Keys(comes), func(a, b string) int {
		return cmp.Or(cmp.Compare(d.items[a].Owner, d.items[b].Owner), cmp.Compare(a, b))
	}) {
		for left := comes[item]; left > 0; {
			if room < 2 || owner != d.items[item].Owner && dest == "dest-default" {
				carton, room, owner = carton+1, d.dice.Between(3, 12), d.items[item].Owner
			}
			q := min(left, d.dice.Between(1, room))
			left, room = left-q, room-q
			if d.slips > 0 && left == 0 && d.dice.Percent(6) {
				q++
			}
			line := events.PlanLine{Carton: d.today(fmt.Sprintf("C-%02d", carton)), Item: item, Q: q, Owner: owner}
			if i := len(lines) - 1; i >= 0 && lines[i].Carton == line.Carton && lines[i].Item == item {
				lines[i].Q += q
				continue
			}
			lines = append(lines, line)
		}
	}
	for i := range plans {
		mine := slices.DeleteFunc(slices.Clone(lines), func(l events.PlanLine) bool { return int(l.Carton[3]-'0')%plans != i })
		if len(mine) > 0 {
			d.atOnce(d.say(d.who("own"), "release", "plan", d.today(fmt.Sprintf("P-%02d", i+1)), "destination_policy", dest, "lines", mine))
		}
	}
}

// evening signs everybody out, answers a claim or two, and closes what can be closed.
func (d *Day) evening() {
	for _, name := range d.names {
		d.stations[name].back = 0
	}
	for range 60 {
		d.now = d.now.Add(time.Second)
		d.deliver()
	}
	for _, name := range d.names {
		d.stations[name].outbox = nil
	}
	sup := d.who("sup-1")
	sup.here = workflow.Board
	d.atOnce(d.say(sup, "sign-in"))
	d.leave(sup)
	d.signHead()
	d.atOnce(d.say(sup, "close-day"))
	d.signHead()
	d.claims(sup)
	for _, p := range d.people {
		p.here = p.home
		d.atOnce(d.say(p, "sign-out"))
	}
}

// leave sends what is sealed, and closes the loads.
func (d *Day) leave(sup *person) {
	var todo []*act
	d.door.Look(func(f *workflow.Floor) {
		for _, load := range slices.Sorted(maps.Keys(f.Loads)) {
			todo = append(todo, d.say(sup, "close-load", "load", load))
		}
		for _, code := range slices.Sorted(maps.Keys(f.Cartons)) {
			if c := f.Cartons[code]; c.State == workflow.CartonSealed {
				todo = append(todo, d.leaves(f, code, d.say(sup, "dispatch", "carton", code, "load", d.today("LD-N"), "seal_no_seen", c.Seal)))
			}
		}
	})
	d.atOnce(d.say(sup, "open-load", "load", d.today("LD-N"), "due", d.at()))
	for _, a := range todo {
		d.atOnce(a)
	}
	d.atOnce(d.say(sup, "close-load", "load", d.today("LD-N")))
}

// claims come weeks later.
func (d *Day) claims(sup *person) {
	if d.dice.Percent(60) {
		return
	}
	d.now = d.now.AddDate(0, 0, 40)
	d.atOnce(d.say(sup, "sign-in"))
	head := events.Seq{}
	a := d.say(sup, "open-claim", "kind", "damaged", "given", kv("item", "CUP"), "qty", 1, "amount_minor", 900)
	d.atOnce(a.then(func(ans Answer) { head = ans.Seq }))
	claim := ""
	d.door.Look(func(f *workflow.Floor) { claim = strings.Join(slices.Sorted(maps.Keys(f.Claims)), " ") })
	for _, a := range []*act{
		d.say(sup, "close-claim", "claim", claim),
		d.say(sup, "trace-claim", "claim", claim, "size", 3, "query", "item CUP", "log_head", head, "log_root", "root"),
		d.say(sup, "note-claim", "claim", claim, "text", "the picture shows a dent"),
		d.say(sup, "check-siblings", "claim", claim, "axis", "item", "set", "CUP", "of", 3, "looked_at", 2, "bad", 0),
		d.say(sup, "decide-claim", "claim", claim, "finding", "carrier", "money_minor", 0, "statement_digest", "6a840baf5d8c3ff241688aeb14546e653774cd5387faf1cb982b0fbbf1fbb810"),
		d.say(sup, "close-claim", "claim", claim),
		d.say(sup, "open-claim", "kind", "damaged", "given", kv("item", "CUP"), "qty", 1, "amount_minor", 900), // the same, told again
	} {
		d.atOnce(a)
	}
	again := ""
	d.door.Look(func(f *workflow.Floor) {
		if all := slices.Sorted(maps.Keys(f.Claims)); len(all) > 0 {
			again = all[len(all)-1]
		}
	})
	d.atOnce(d.say(sup, "link-claim", "claim", again, "dup_of", claim))
}

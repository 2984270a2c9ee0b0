package floors

import (
	"encoding/json"
	"fmt"
	"slices"
	"time"

	"packwright/events"
	"packwright/workflow"
)

// person is a badge and whoever wears it.
type person struct {
	badge   string
	job     string // packer, supervisor, owner, client
	home    string // station
	here    string // station
	errands []errand
	sulks   map[string]int // what was refused → round until which it is left alone
	did     []events.Seq   // places of what was kept of this person, the last few
}

// errand is one step of something that takes several; nil from it ends the errand.
type errand func(f *workflow.Floor) *act

// station is a bench, the board or a phone, with its outbox.
type station struct {
	name   string
	epoch  int
	n      uint64
	outbox []*act
	back   int           // round in which it is in touch again; 0: it is
	skew   time.Duration // of its clock
	zone   *time.Location
	held   uint64 // highest frame it was told of
	missed int    // commands kept while away, for caught-up
	oldest time.Time
	newest time.Time
}

// act is one command, and what hands do about its answer.
type act struct {
	station *station
	who     *person // nil: the clockwork
	typ     string
	data    map[string]any
	matter  string
	basis   events.Basis
	at      time.Time // earlier than now: testimony
	key     string    // what is left alone for a while when it is refused
	back    func()    // refused: the hands undo what they did
	done    func(Answer)

	cmd  workflow.Command
	seen int // times sent
}

// kv makes the data of a command of key, value, key, value.
func kv(words ...any) map[string]any {
	m := map[string]any{}
	for i := 0; i+1 < len(words); i += 2 {
		m[words[i].(string)] = words[i+1]
	}
	return m
}

// say makes an act of a person where that person is.
func (d *Day) say(p *person, typ string, words ...any) *act {
	return &act{station: d.stations[p.here], who: p, typ: typ, data: kv(words...), key: key(typ, words...)}
}

// key names what an act is about: its type and the first thing it names.
func key(typ string, words ...any) string {
	if len(words) > 1 {
		return fmt.Sprint(typ, " ", words[1])
	}
	return typ
}

// of says which mismatch an act is done for.
func (a *act) of(matter string) *act {
	a.matter = matter
	return a
}

// hands says what the hands did, and what they do when it is refused.
func (a *act) hands(did, undo func()) *act {
	did()
	a.back = undo
	return a
}

// then says what happens when it is kept.
func (a *act) then(done func(Answer)) *act {
	a.done = done
	return a
}

// number gives an act its place in the outbox: before the first send, for ever.
func (d *Day) number(a *act) {
	s := a.station
	s.n++
	body, err := json.Marshal(a.data)
	if err != nil {
		panic(err)
	}
	at := a.at
	if at.IsZero() {
		at = d.now.Add(s.skew)
	}
	c := workflow.Command{ID: fmt.Sprintf("%s/%d/%d", s.name, s.epoch, s.n), Type: a.typ, At: events.At(at.In(s.zone)), Basis: a.basis,
		Matter: a.matter, Data: body, Offline: s.back > 0, Held: s.held}
	if a.who != nil {
		c.Badge = a.who.badge
	}
	if c.Offline {
		if s.missed++; s.missed == 1 {
			s.oldest = at
		}
		s.newest = at
	}
	a.cmd = c
	s.outbox = append(s.outbox, a)
}

// sulking says whether a person leaves something alone for now.
func (d *Day) sulking(p *person, what string) bool { return p.sulks[what] > d.round }

// free says whether a person may start something.
func (p *person) free() bool { return len(p.errands) == 0 }

// send puts a person on an errand.
func (p *person) send(steps ...errand) { p.errands = append(p.errands, steps...) }

// packers and the others, in their fixed order.
func (d *Day) ofJob(job string) []*person {
	return slices.DeleteFunc(slices.Clone(d.people), func(p *person) bool { return p.job != job })
}

package floors

import (
	_ "embed"
	"fmt"
	"time"

	"packwright/events"
	"packwright/prep"
	"packwright/testdata/floors/plain"
	"packwright/workflow"
)

// The goods and the rules of every day.
var (
	//go:embed goods.yaml
	goodsFile []byte
	//go:embed rules.yaml
	rulesFile []byte
)

// Floor is the name of every random floor.
const Floor = "random"

// Day is one day being made up. Policy and House are what the floor and the
// second opinion must be given to play it.
type Day struct {
	Seed   uint64
	Policy *workflow.Policy
	House  plain.House
	Tally  *Tally

	dice     *Dice
	mind     *Dice // for what people do; dice is for what happens to them
	now      time.Time
	round    int
	rounds   int // after so many nobody errs any more
	began    int // round in which the day began
	again    int // days played on this floor before
	last     int // round in which anything was kept
	truth    truth
	items    map[string]prep.Item
	people   []*person
	stations map[string]*station
	names    []string // of stations, in order
	lots     []string
	seals    int
	sscc     int64
	totes    int
	loads    int
	slips    int // per cent of acts that go wrong while anything may
	door     Door

	Left  int // cartons that left
	Wrong int // of those, with other pieces in them than the books have, unnoticed
}

// New sets the scene of a seed.
func New(seed uint64) *Day {
	d := &Day{Seed: seed, Tally: NewTally(), dice: NewDice(seed), mind: NewDice(seed ^ 0x5eed), items: map[string]prep.Item{},
		stations: map[string]*station{}}
	d.now = time.Date(2031, 3, 1+d.dice.Below(40), 5, 0, 0, 0, time.UTC)
	d.rounds, d.slips = d.dice.Between(120, 240), d.dice.Between(0, 14)
	if d.dice.Percent(5) {
		d.slips = 45 // nobody had any sleep
	}
	d.house()
	items, err := prep.ParseItems("goods.yaml", goodsFile)
	if err != nil {
		panic(err)
	}
	for _, it := range items {
		d.items[it.Item] = it
	}
	d.crew()
	return d
}

// house chooses the policy: most days the defaults, else one switch or two.
func (d *Day) house() {
	p := workflow.DefaultPolicy()
	switch d.dice.Below(12) {
	case 0:
		p.SecondHand = true
	case 1:
		p.HandCount = false
	case 2:
		p.PairCheck, p.Balance = false, false
	case 3:
		p.Totes, p.Runs, p.Persons = false, false, 1
	case 4:
		p.SecondOneIn, p.DivertLimit, p.WriteOff = 3, 2500, 6000
	case 5:
		p.Clearances = true
	case 6:
		p.Scale, p.Persons = false, 1
	case 7:
		p.Totes = false
	case 8:
		p.Runs, p.TakeBackLast, p.Overrides = false, 2, 1
	}
	p.Destinations["dest-mixed"] = workflow.Destination{} // anything goes
	p.Delegated = map[string]workflow.Delegation{"house": {Units: 1, Percent: 30}}
	d.Policy = p
	d.House = plain.House{NoTotes: !p.Totes, NoRuns: !p.Runs, Delegated: map[string]plain.Delegated{"house": {Units: 1, Percent: 30}}}
}

// crew says who works where.
func (d *Day) crew() {
	add := func(job, badge, home string) {
		d.people = append(d.people, &person{badge: badge, job: job, home: home, here: home, sulks: map[string]int{}})
		if d.stations[home] == nil {
			d.names = append(d.names, home)
			d.stations[home] = &station{name: home, epoch: 1, zone: time.UTC}
		}
	}
	add("owner", "own", "OFFICE")
	add("supervisor", "sup-1", workflow.Board)
	add("supervisor", "sup-2", workflow.Board)
	add("client", "cli", "PHONE")
	for i := range d.dice.Between(2, 4) {
		add("packer", fmt.Sprintf("pk-%d", i+1), fmt.Sprintf("ST-%d", i+1))
		s := d.stations[fmt.Sprintf("ST-%d", i+1)]
		if d.dice.Percent(30) {
			s.skew = time.Duration(d.dice.Between(-400, 400)) * time.Second
		}
		if d.dice.Percent(30) {
			s.zone = time.FixedZone("", d.dice.Between(-5, 9)*3600)
		}
	}
}

// Now is the writer's clock.
func (d *Day) Now() time.Time { return d.now }

// Play plays the whole day through a door.
func (d *Day) Play(door Door) {
	d.door = door
	d.morning()
	d.work()
}

// work is the day between its morning and the next one's.
func (d *Day) work() {
	d.announce()
	for d.round++; !d.over(); d.round++ {
		d.turn()
	}
	d.evening()
}

// over: the work is done, or nothing has moved for long, or the night has come.
func (d *Day) over() bool {
	if d.round < d.rounds {
		return false
	}
	if d.round > d.began+3*(d.rounds-d.began) || d.round-d.last > 40 {
		return true
	}
	left := false
	d.door.Look(func(f *workflow.Floor) {
		for _, c := range f.Cartons {
			left = left || c.State == workflow.CartonOpen || c.State == workflow.CartonCounting || c.State == workflow.CartonCounted ||
				c.State == workflow.CartonSealed
		}
	})
	return !left
}

// erring says whether a slip of so many per thousand happens now. In the last
// part of the day everyone is careful, so that what is open can be settled.
func (d *Day) erring(mille int) bool {
	return d.round < d.rounds && d.slips > 0 && d.mind.Below(1000*7) < mille*d.slips
}

// at is the moment by the writer's clock, as events write it.
func (d *Day) at() events.Time { return events.At(d.now) }

// turn lets some people act at one moment.
func (d *Day) turn() {
	d.now = d.now.Add(time.Duration(d.dice.Between(1, 40)) * time.Second)
	if d.dice.Mille(10) { // a lull
		d.now = d.now.Add(time.Duration(d.dice.Between(3, 25)) * time.Minute)
	}
	d.weather()
	d.door.Look(func(f *workflow.Floor) {
		first, n := d.dice.Below(len(d.people)), d.dice.Between(1, len(d.people))
		for i := range n {
			p := d.people[(first+i)%len(d.people)]
			if a := d.think(p, f); a != nil {
				d.number(a)
			}
		}
		if a := d.clockwork(f); a != nil {
			d.number(a)
		}
	})
	d.deliver()
}

// think gives what a person says next, or nil.
func (d *Day) think(p *person, f *workflow.Floor) *act {
	s := d.stations[p.here]
	if len(s.outbox) > 0 && (s.back == 0 || len(s.outbox) > 14) {
		return nil // it waits for its answer
	}
	for len(p.errands) > 0 {
		step := p.errands[0]
		p.errands = p.errands[1:]
		if a := step(f); a != nil {
			return a
		}
	}
	s = d.stations[p.here]
	if len(s.outbox) > 0 && s.back == 0 {
		return nil
	}
	if d.erring(12) {
		if a := d.noise(p, f); a != nil {
			return a
		}
	}
	if b := f.Badges[p.badge]; b == nil || b.Station != p.here {
		return d.come(p, f)
	}
	switch p.job {
	case "packer":
		return d.pack(p, f)
	case "supervisor":
		return d.supervise(p, f)
	case "owner":
		return d.own(p, f)
	}
	return d.answer(p, f)
}

// come signs a person in.
func (d *Day) come(p *person, f *workflow.Floor) *act {
	if b := f.Badges[p.badge]; b == nil || b.Retired {
		return nil
	}
	if b := f.Badges[p.badge]; b.Station != "" {
		p.here = b.Station
		return nil
	}
	p.here = p.home
	if d.sulking(p, "sign-in") {
		return nil
	}
	return d.say(p, "sign-in")
}

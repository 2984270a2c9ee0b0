package floors

import (
	"slices"
	"time"

	"packwright/events"
	"packwright/workflow"
)

// weather takes benches out of touch and brings them back.
func (d *Day) weather() {
	for _, name := range d.names {
		s := d.stations[name]
		switch {
		case s.back > 0 && d.round >= s.back:
			s.back = 0
			d.caughtUp(s)
		case s.back == 0 && name[:2] == "ST" && d.erring(5):
			s.back = d.round + d.dice.Between(4, 25)
		case s.back == 0 && d.erring(1): // the outbox is lost; a new epoch begins
			for _, a := range s.outbox {
				d.forget(a)
			}
			s.outbox, s.epoch, s.n = nil, s.epoch+1, 0
		}
	}
}

// forget gives up an act whose outcome nobody will hear.
func (d *Day) forget(a *act) {
	if a.who != nil {
		a.who.errands = nil
	}
}

// caughtUp lets a bench say what it kept, after all of it.
func (d *Day) caughtUp(s *station) {
	if s.missed == 0 {
		return
	}
	a := &act{station: s, typ: "caught-up", data: kv("n", s.missed, "oldest_at", events.At(s.oldest), "newest_at", events.At(s.newest))}
	s.missed = 0
	d.number(a)
}

// parcel is one sending of an act.
type parcel struct {
	a    *act
	deaf bool // its answer is lost
}

// deliver sends what the outboxes hold, in order for each station, and lets
// those who hear an answer act on it.
func (d *Day) deliver() {
	var sent []parcel
	order := slices.Clone(d.names)
	for i := range order { // who is first is chance
		j := i + d.dice.Below(len(order)-i)
		order[i], order[j] = order[j], order[i]
	}
	for _, name := range order {
		s := d.stations[name]
		if s.back > 0 {
			continue
		}
		burst := 1
		if len(s.outbox) > 1 {
			burst = d.dice.Between(1, 5)
		}
		for i, a := range s.outbox {
			if i == burst || d.lossy(25) { // the request is lost; so are those behind it
				break
			}
			deaf := d.lossy(25)
			sent = append(sent, parcel{a, deaf})
			if d.lossy(15) {
				sent = append(sent, parcel{a, d.dice.Percent(50)})
			}
			if deaf {
				break
			}
		}
	}
	d.give(sent)
}

// lossy says whether the network does something wrong, in so many of a thousand.
func (d *Day) lossy(mille int) bool { return d.slips > 0 && d.round > 0 && d.dice.Mille(mille) }

func (d *Day) give(sent []parcel) {
	if len(sent) == 0 {
		return
	}
	cmds := make([]workflow.Command, len(sent))
	for i, p := range sent {
		cmds[i] = p.a.cmd
	}
	for i, ans := range d.door.Do(d.now, cmds) {
		p := sent[i]
		p.a.seen++
		d.Tally.Add(p.a.cmd.Type, ans)
		if ans.kept() {
			d.last = d.round
		}
		if ans.Err == nil && !p.deaf {
			d.heard(p.a, ans)
		}
	}
}

// heard takes an act out of its outbox and lets the hands act on the answer.
func (d *Day) heard(a *act, ans Answer) {
	i := slices.Index(a.station.outbox, a)
	if i < 0 {
		return // heard before
	}
	a.station.outbox = slices.Delete(a.station.outbox, i, i+1)
	a.station.held = max(a.station.held, ans.Seq.Frame)
	switch {
	case ans.kept() || ans.Outcome == workflow.Already && a.seen > 1:
		if p := a.who; p != nil && !ans.Seq.IsZero() {
			p.did = append(p.did[max(0, len(p.did)-6):], ans.Seq)
		}
		if a.done != nil {
			a.done(ans)
		}
	case ans.Outcome == workflow.Already:
	default:
		if a.back != nil && !d.erring(60) {
			a.back()
		}
		if a.who != nil {
			a.who.sulks[a.key] = d.round + d.dice.Between(4, 12)
			d.reacts(a, ans.Code)
		}
	}
}

// clockwork is what the floor says by itself: silence, absence, clocks.
func (d *Day) clockwork(f *workflow.Floor) *act {
	if !d.dice.Percent(7) {
		return nil
	}
	s := d.stations[pick(d.dice, d.names)]
	board := d.stations[workflow.Board]
	switch d.dice.Below(3) {
	case 0:
		return &act{station: board, typ: "quiet", data: kv("name", s.name, "last_seen", d.at().Add(-time.Duration(d.dice.Below(1800))*time.Second))}
	case 1:
		return &act{station: board, typ: "idle", data: kv("name", s.name)}
	}
	if s.back > 0 || len(s.outbox) > 0 {
		return nil
	}
	return &act{station: s, typ: "clock-skew", data: kv("skew_ms", s.skew.Milliseconds())}
}

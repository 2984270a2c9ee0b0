package audit_test

import (
	"math"
	"testing"

	"packwright/audit"
	"packwright/prep"
)

// dice is a small generator of the tests' own (xorshift64*, Vigna 2016), so that
// a printed seed gives the same floors for ever.
type dice uint64

func (d *dice) next() float64 {
	*d ^= *d >> 12
	*d ^= *d << 25
	*d ^= *d >> 27
	return float64(uint64(*d)*2685821657736338717>>11) / (1 << 53)
}

func (d *dice) n(n int) int { return int(d.next() * float64(n)) }

// normal is one draw by Box and Muller.
func (d *dice) normal() float64 {
	return math.Sqrt(-2*math.Log(1-d.next())) * math.Cos(2*math.Pi*d.next())
}

// simulated is one carton of known cause: what is planned, and what lies in it.
type simulated struct {
	k     audit.Case
	truth audit.Cause
	item  string
	of    string
}

// scenario says how the floor that is simulated differs from what is assumed.
type scenario struct {
	name     string
	spread   float64 // true deviation over the assumed one
	miscount float64 // of the counts
	counted  float64 // of the cartons
}

// simulate packs a carton of one to three items and lets at most one accident
// happen, as often as the priors say.
func (d *dice) simulate(s scenario) simulated {
	var c simulated
	p := audit.DefaultPriors
	for i := range 1 + d.n(3) {
		mean := math.Exp(math.Log(60) + d.next()*math.Log(20)) // 60 g to 1.2 kg
		sd := max(1, mean*(0.004+0.02*d.next()))
		c.k.Units = append(c.k.Units, audit.MassLine{Item: string(rune('A' + i)), N: 2 + d.n(11), Mean: tenths(mean), SD: tenths(sd)})
	}
	if d.n(2) == 0 { // another variant was made at the same bench
		v := c.k.Units[0]
		v.Item, v.N, v.Mean = "Z", 0, tenths(v.Mean.Grams()*(0.7+0.6*d.next()))
		c.k.From = []audit.Exchange{{In: v, Out: "A"}}
	}
	grams, counted := d.accident(&c, p)
	variance := 4.0*4 + 5*5 + 2*2
	for _, u := range c.k.Units {
		grams += float64(u.N) * u.Mean.Grams()
		variance += float64(u.N) * u.SD.Grams() * u.SD.Grams()
		c.k.Scanned += u.N
		counted += u.N
	}
	grams += 520 + 60 + s.spread*math.Sqrt(variance)*d.normal()
	c.k.Weight = audit.DefaultScale.Expect(c.k.Units, 520*prep.Gram).Assess(tenths(grams))
	if d.next() < s.counted {
		if d.next() < s.miscount {
			counted += 1 - 2*d.n(2)
		}
		c.k.Counted = &counted
	}
	return c
}

// accident draws a cause by the priors; it gives the change of mass and number.
func (d *dice) accident(c *simulated, p audit.Priors) (grams float64, pieces int) {
	type cause struct {
		is       audit.Cause
		item, of string
		grams    float64
		pieces   int
		often    float64
	}
	list := []cause{{is: audit.AsPlanned, often: 1}}
	for _, u := range c.k.Units {
		g := u.Mean.Grams()
		list = append(list, cause{audit.OneMissing, u.Item, "", -g, -1, p.Missing.Float()}, cause{audit.OneTooMany, u.Item, "", g, 1, p.TooMany.Float()},
			cause{audit.TwoMissing, u.Item, "", -2 * g, -2, p.TwoMissing.Float()})
		for _, o := range c.k.Units {
			if o.Item != u.Item {
				list = append(list, cause{audit.Exchanged, o.Item, u.Item, o.Mean.Grams() - g, 0, p.Exchange.Float()})
			}
		}
	}
	for _, x := range c.k.From {
		list = append(list, cause{audit.Exchanged, x.In.Item, x.Out, x.In.Mean.Grams() - c.k.Units[0].Mean.Grams(), 0, p.Exchange.Float()})
	}
	sum := 0.0
	for _, x := range list {
		sum += x.often
	}
	at := d.next() * sum
	for _, x := range list {
		if at -= x.often; at < 0 {
			c.truth, c.item, c.of = x.is, x.item, x.of
			return x.grams, x.pieces
		}
	}
	return 0, 0
}

// TestCalibration: what is called at 0.95 or more is right in at least 93 of 100
// cases, over 5,000 accidents among cartons that are mostly as planned. Beside
// all calls, those that name an accident are judged of themselves: they are what
// somebody acts upon.
func TestCalibration(t *testing.T) {
	const seed, accidents = 20310304, 5000
	for _, s := range []scenario{
		{"weight alone", 1, 0, 0},
		{"half counted, one count in a hundred wrong", 1, .01, .5},
		{"units a tenth more uneven than assumed", 1.1, .01, .5},
	} {
		d := dice(seed)
		var met, cartons, called, right, named, hit int
		for met < accidents {
			c := d.simulate(s)
			cartons++
			if c.truth != audit.AsPlanned {
				met++
			}
			e := audit.DefaultPriors.Explain(c.k)
			top := e.Ranked[0]
			if top.Both < 950_000 || !e.Fits {
				continue
			}
			ok := top.Cause == c.truth && top.Item == c.item && top.Instead == c.of
			called++
			right += btoi(ok)
			if top.Cause != audit.AsPlanned {
				named++
				hit += btoi(ok)
			}
		}
		t.Logf("seed %d, %s: %d accidents in %d cartons; called at 0.95 or more: %d, right %.2f %%; naming an accident: %d, right %.2f %%",
			seed, s.name, met, cartons, called, 100*float64(right)/float64(called), named, 100*float64(hit)/float64(named))
		if float64(right) < .93*float64(called) || float64(hit) < .93*float64(named) || named < accidents/4 {
			t.Errorf("%s: %d of %d calls right, %d of %d that name an accident", s.name, right, called, hit, named)
		}
	}
}

func btoi(b bool) int {
	if b {
		return 1
	}
	return 0
}

package floors

import "math"

// Dice is splitmix64 (Steele, Lea, Flood 2014): one word of state, no period
// shorter than 2^64, every seed as good as any other.
type Dice struct{ state uint64 }

// NewDice gives the dice of a seed.
func NewDice(seed uint64) *Dice { return &Dice{seed} }

// Next gives 64 bits.
func (d *Dice) Next() uint64 {
	d.state += 0x9e3779b97f4a7c15
	z := d.state
	z = (z ^ z>>30) * 0xbf58476d1ce4e5b9
	z = (z ^ z>>27) * 0x94d049bb133111eb
	return z ^ z>>31
}

// Below gives a number from 0 to n-1; n must be over 0.
func (d *Dice) Below(n int) int { return int(d.Next() % uint64(n)) }

// Between gives a number from a to b, both included.
func (d *Dice) Between(a, b int) int { return a + d.Below(b-a+1) }

// Percent is true in p of a hundred cases.
func (d *Dice) Percent(p int) bool { return d.Below(100) < p }

// Mille is true in p of a thousand cases.
func (d *Dice) Mille(p int) bool { return d.Below(1000) < p }

// Normal gives a number of mean 0 and deviation 1 (Box and Muller's transform).
func (d *Dice) Normal() float64 {
	u := (float64(d.Next()>>11) + 1) / (1 << 53)
	v := float64(d.Next()>>11) / (1 << 53)
	return math.Sqrt(-2*math.Log(u)) * math.Cos(2*math.Pi*v)
}

// pick gives one of a list that is not empty.
func pick[T any](d *Dice, list []T) T { return list[d.Below(len(list))] }

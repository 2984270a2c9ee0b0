package prep

import (
	"math"
	"math/bits"
	"slices"
	"strconv"
)

// A condition is tested against facts: one entry for each attribute and then
// for what the item's measures and the recipe itself say. A word fact is a set of
// bits, one a word of its table with "unknown" as bit 0; a number fact has bit
// 0 when it is unknown and bit 1 when it is known.
const (
	factSetOf = len(attributes) + iota
	factMass
	factValue
	factLongest
	factUses // from here on: known only once the recipe's enclosures and methods are
	factBagOpening
	factBagFit
	factBoxFit
	factCount
)

type factKind uint8

const (
	asWords factKind = iota
	asCount
	asMass
	asMoney
	asLength
)

// fact is a name that a condition may read.
type fact struct {
	name  string
	kind  factKind
	words []string
}

var facts = func() (all [factCount]fact) {
	for i := range attributes {
		all[i] = fact{name: attributes[i].name, kind: asWords, words: attributes[i].words}
		if attributes[i].count != nil {
			all[i].kind = asCount
		}
	}
	all[factSetOf] = fact{name: "set_of", kind: asCount}
	all[factMass] = fact{name: "mass_g", kind: asMass}
	all[factValue] = fact{name: "value_minor", kind: asMoney}
	all[factLongest] = fact{name: "longest_side_mm", kind: asLength}
	all[factUses] = fact{name: "uses", kind: asWords, words: []string{unknownWord, string(UsesBag), string(UsesBox), string(Remover), string(WarmAir)}}
	all[factBagOpening] = fact{name: "bag_opening_mm", kind: asLength}
	all[factBagFit] = fact{name: "bag_fit", kind: asWords, words: []string{unknownWord, string(BagFits), string(BagReinforce)}}
	all[factBoxFit] = fact{name: "box_fit", kind: asWords, words: []string{unknownWord, string(Tight), string(Snug), string(Fill)}}
	return all
}()

// derived tells whether a fact is known only after the first rules have fired.
func derived(i int) bool { return i >= factUses }

func findFact(name string) int {
	for i := range facts {
		if facts[i].name == name {
			return i
		}
	}
	return -1
}

func factNames() []string {
	names := make([]string, factCount)
	for i := range facts {
		names[i] = facts[i].name
	}
	return names
}

const (
	bitUnknown uint16 = 1
	bitKnown   uint16 = 2
)

// knowledge is what conditions are tested against.
type knowledge struct {
	mask [factCount]uint16
	num  [factCount]int64
}

func (k *knowledge) setNumber(i int, v int64, isKnown bool) {
	k.num[i], k.mask[i] = v, bitUnknown
	if isKnown {
		k.mask[i] = bitKnown
	}
}

// knownOf gathers the facts of an item; the derived ones stay unknown.
func knownOf(it Item) *knowledge {
	k := &knowledge{}
	for i := range attributes {
		at := &attributes[i]
		if at.count == nil {
			k.mask[i] = at.mask(&it.Attrs)
			continue
		}
		k.setNumber(i, *at.count(&it.Attrs), at.known(&it.Attrs))
	}
	k.setNumber(factSetOf, int64(it.Pieces()), true)
	k.setNumber(factMass, int64(it.UnitG), it.UnitG > 0)
	k.setNumber(factValue, int64(it.Value), it.Value > 0)
	longest := it.Dims.Sorted()[0]
	k.setNumber(factLongest, int64(longest), longest > 0)
	for i := factUses; i < factCount; i++ {
		k.mask[i] = bitUnknown
	}
	return k
}

// readyTest is a Test made ready: the fact holds one of the wanted bits, or it is a
// known number from lo to hi.
type readyTest struct {
	fact   int
	want   uint16
	lo, hi int64
	number bool
}

func (t *readyTest) holds(k *knowledge) bool {
	if k.mask[t.fact]&t.want != 0 {
		return true
	}
	return t.number && k.mask[t.fact]&bitKnown != 0 && k.num[t.fact] >= t.lo && k.num[t.fact] <= t.hi
}

// readyWhen is a Condition made ready.
type readyWhen struct {
	always bool
	all    []readyTest
	any    []readyWhen
}

func (w *readyWhen) holds(k *knowledge) bool {
	if w.always {
		return true
	}
	for i := range w.all {
		if !w.all[i].holds(k) {
			return false
		}
	}
	for i := range w.any {
		if w.any[i].holds(k) {
			return true
		}
	}
	return len(w.any) == 0
}

// each visits every test of the condition.
func (w *readyWhen) each(visit func(*readyTest)) {
	for i := range w.all {
		visit(&w.all[i])
	}
	for i := range w.any {
		w.any[i].each(visit)
	}
}

// bounds is the range of a number test that has none yet.
func bounds() (lo, hi int64) { return math.MinInt64, math.MaxInt64 }

// factSurface and factSticker are the attributes that removal reads.
var factSurface, factSticker = findFact("surface_under_sticker"), findFact("sticker")

func (k *knowledge) surface() Surface {
	return Surface(bits.TrailingZeros16(k.mask[factSurface] | 1<<15))
}

// setWord makes a word fact known, when the word is one of its own.
func (k *knowledge) setWord(i int, word string) {
	if at := slices.Index(facts[i].words, word); at > 0 {
		k.mask[i] = k.mask[i]&^bitUnknown | 1<<at
	}
}

// said lists the words of the bits in mask.
func (f *fact) said(mask uint16) []string {
	var out []string
	for i, w := range f.words {
		if mask&(1<<i) != 0 {
			out = append(out, w)
		}
	}
	return out
}

// shown gives a number of the fact's kind as people write it.
func (f *fact) shown(v int64) string {
	switch f.kind {
	case asMass:
		return Mass(v).String()
	case asMoney:
		return Money(v).String()
	case asLength:
		return Length(v).String()
	}
	return strconv.FormatInt(v, 10)
}

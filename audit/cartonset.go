package audit

import (
	"iter"
	"math/bits"
)

// cartonSet is some of the cartons, a bit each.
type cartonSet []uint64

func (s *cartonSet) put(id cartonID, in bool) {
	for in && int(id)/64 >= len(*s) {
		*s = append(*s, 0)
	}
	switch i := int(id) / 64; {
	case in:
		(*s)[i] |= 1 << (id % 64)
	case i < len(*s):
		(*s)[i] &^= 1 << (id % 64)
	}
}

// each gives them in the order they came up.
func (s cartonSet) each() iter.Seq[cartonID] {
	return func(yield func(cartonID) bool) {
		for i, w := range s {
			for ; w != 0; w &= w - 1 {
				if !yield(cartonID(i*64 + bits.TrailingZeros64(w))) {
					return
				}
			}
		}
	}
}

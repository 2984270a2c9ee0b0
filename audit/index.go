package audit

import "hash/maphash"

// index finds a text in a list of texts, none of them twice: the numbers of the
// texts in a table by their hash, the next free place when one is taken. It costs
// five to eleven bytes a text. Number 0 means none.
type index struct {
	table []int32
	n     int
}

var indexSeed = maphash.MakeSeed()

// find gives the number of a text in the list, or 0.
func (x *index) find(list []string, text string) int32 {
	if len(x.table) == 0 {
		return 0
	}
	mask := uint64(len(x.table) - 1)
	for i := maphash.String(indexSeed, text) & mask; ; i = (i + 1) & mask {
		if no := x.table[i]; no == 0 || list[no] == text {
			return no
		}
	}
}

// add enters number no of the list, a text that is not there yet.
func (x *index) add(list []string, no int32) {
	if x.n++; x.n*4 > len(x.table)*3 {
		x.build(list[:no])
	}
	x.enter(list[no], no)
}

// build enters the whole list but number 0, from nothing.
func (x *index) build(list []string) {
	size := 16
	for size*3 < (len(list)+1)*4*3/2 {
		size *= 2
	}
	x.table = make([]int32, size)
	for no := 1; no < len(list); no++ {
		x.enter(list[no], int32(no))
	}
	x.n = len(list)
}

func (x *index) enter(text string, no int32) {
	mask := uint64(len(x.table) - 1)
	i := maphash.String(indexSeed, text) & mask
	for x.table[i] != 0 {
		i = (i + 1) & mask
	}
	x.table[i] = no
}

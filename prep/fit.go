package prep

// Box is an outer box of the material catalogue. Inner are its inside sides;
// nominal sizes of corrugated boxes are inside sizes.
type Box struct {
	ID    string `json:"box"`
	Inner Dims   `json:"inner_mm"`
	Price Money  `json:"price"`
}

// Bag is a bag of the material catalogue, named as the trade names bags: width
// (the opened side, laid flat) first, then the gusset, opened out (0 for a flat
// bag), then the length.
type Bag struct {
	ID                string `json:"bag"`
	Width             Length `json:"width_mm"`
	Length            Length `json:"length_mm"`
	Gusset            Length `json:"gusset_mm,omitempty"`
	Film              Length `json:"film_mm"`
	Price             Money  `json:"price"`
	PrintedWarning    bool   `json:"printed_warning,omitempty"`
	PrintedKeepClosed bool   `json:"printed_keep_closed,omitempty"`
}

// Volume is a volume in cubic millimetres. JSON: a whole number.
type Volume int64

// Volume is the product of the sides, rounded to the cubic millimetre.
func (d Dims) Volume() Volume { return Volume(mulDiv(int64(d[0])*int64(d[1]), int64(d[2]), 1e9)) }

// Units tells how many pieces of filling of a given volume the room takes,
// rounded up; 0 when per is not positive.
func (v Volume) Units(per Volume) int64 {
	if per <= 0 || v <= 0 {
		return 0
	}
	return int64((v + per - 1) / per)
}

// Wrapped gives the sides of an item under layers of wrap: every side grows by
// the wrap's thickness on both of its ends for each layer (common practice).
func Wrapped(d Dims, thickness Length, layers int) Dims {
	for i := range d {
		d[i] += 2 * thickness * Length(layers)
	}
	return d
}

package prep

// The attributes of an item are answers, and the zero value of each is "not
// answered yet". Unknown is never taken for no.
type (
	// YesNo answers a plain question.
	YesNo uint8
	// Outer is what the buyer would hold: the retail pack as it arrives.
	Outer uint8
	// Surface is what a sticker sits on, which decides how it may come off.
	Surface uint8
	// Sticker is the kind of sticker that has to come off.
	Sticker uint8
	// Fragile is what would break if it fell.
	Fragile uint8
	// Liquid says whether something can run out, and what keeps it in.
	Liquid uint8
	// Battery is what cell is inside or beside the item.
	Battery uint8
	// Magnet is whether and how strongly it attracts.
	Magnet uint8
	// Expiry is the kind of date printed on the pack.
	Expiry uint8
	// Grade is the state of the retail pack as graded at triage.
	Grade uint8
	// Arrival is the state in which the goods were met at triage.
	Arrival uint8
	// PrintedWarnings is a set of what the retail pack itself says: a sum of
	// the Printed… values. 0 is not looked at; PrintedNone is looked at, nothing there.
	PrintedWarnings uint8
)

// The answers. The first of each is "not answered".
const (
	YesNoUnknown YesNo = iota
	No
	Yes
)

const (
	OuterUnknown Outer = iota
	OuterClosed
	OuterWindow
	OuterOpen
	OuterBag
	OuterSoftCase
	OuterTin
	OuterNone
)

const (
	SurfaceUnknown Surface = iota
	SurfaceCard
	SurfaceRigidPlastic
	SurfaceSoftFilm
	SurfaceSoftCase
	SurfaceShrink
	SurfaceGlass
	SurfaceMetal
	SurfacePrintedMetal
	SurfaceFabric
	SurfaceFoilPrint
)

const (
	StickerUnknown Sticker = iota
	StickerNone
	StickerPaper
	StickerMultiLayer
	StickerSecurity
)

const (
	FragileUnknown Fragile = iota
	FragileNo
	FragileBrittle
	FragileGlass
)

const (
	LiquidUnknown Liquid = iota
	LiquidNo
	LiquidSealed
	LiquidClosure
)

const (
	BatteryUnknown Battery = iota
	BatteryNo
	BatteryAlkalineIn
	BatteryLithium
)

const (
	MagnetUnknown Magnet = iota
	MagnetNo
	MagnetWeak
	MagnetStrong
)

const (
	ExpiryUnknown Expiry = iota
	ExpiryNone
	ExpiryBestBefore
	ExpiryUseBy
)

const (
	GradeUnknown Grade = iota
	GradeA
	GradeB
	GradeC
)

const (
	ArrivalUnknown Arrival = iota
	ArrivalClean
	ArrivalDusty
	ArrivalOdour
	ArrivalPest
	ArrivalWet
)

const (
	PrintedNone PrintedWarnings = 1 << (iota + 1)
	PrintedSuffocation
	PrintedSmallParts
	PrintedThisWayUp
	PrintedFragile
	PrintedCare
	PrintedOther
)

// Attrs is what is known about an item, or about a lot of it, before anything
// is done to it. The zero Attrs knows nothing, and stops at triage.
type Attrs struct {
	Outer           Outer
	Surface         Surface
	Sticker         Sticker
	WindowNear      YesNo // a window or plastic part within 50 mm of the sticker
	Collectible     YesNo // the pack itself matters to the buyer
	Fragile         Fragile
	Liquid          Liquid
	VolumeML        int64 // nominal content in millilitres; 0 is not known
	Sharp           YesNo
	SoftGoods       YesNo
	PiecesLoose     YesNo
	SmallParts      YesNo
	AgeUnder3       YesNo
	Expiry          Expiry
	HeatSensitive   YesNo
	Battery         Battery
	HazardPictogram YesNo
	Aerosol         YesNo
	Magnet          Magnet
	BarcodesVisible YesNo
	PrintedWarnings PrintedWarnings

	// What triage sees, and what the destination wants.
	Grade     Grade
	Arrival   Arrival
	CasePack  YesNo // the maker's own full case, never opened
	Listed    YesNo // the destination has an item code for it
	ItemLabel YesNo // the destination wants its item label on it
}

// String gives the word of the surface, as the attribute has it.
func (s Surface) String() string {
	for i := range attributes {
		if attributes[i].name == "surface_under_sticker" {
			return wordAt(attributes[i].words, int(s))
		}
	}
	return unknownWord
}

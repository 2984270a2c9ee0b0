package prep

import "math"

// frequencyRow is a row of Table 5: lifts per minute, then the multiplier for
// each spell, for hands at the origin below and from 30 in (75 cm).
type frequencyRow struct {
	perMinute float64
	fm        [3][2]float64
}

// Manual, Table 5 (double transcription of the printed table).
var frequencyTable = []frequencyRow{
	{.2, [3][2]float64{{1.00, 1.00}, {.95, .95}, {.85, .85}}},
	{.5, [3][2]float64{{.97, .97}, {.92, .92}, {.81, .81}}},
	{1, [3][2]float64{{.94, .94}, {.88, .88}, {.75, .75}}},
	{2, [3][2]float64{{.91, .91}, {.84, .84}, {.65, .65}}},
	{3, [3][2]float64{{.88, .88}, {.79, .79}, {.55, .55}}},
	{4, [3][2]float64{{.84, .84}, {.72, .72}, {.45, .45}}},
	{5, [3][2]float64{{.80, .80}, {.60, .60}, {.35, .35}}},
	{6, [3][2]float64{{.75, .75}, {.50, .50}, {.27, .27}}},
	{7, [3][2]float64{{.70, .70}, {.42, .42}, {.22, .22}}},
	{8, [3][2]float64{{.60, .60}, {.35, .35}, {.18, .18}}},
	{9, [3][2]float64{{.52, .52}, {.30, .30}, {0, .15}}},
	{10, [3][2]float64{{.45, .45}, {.26, .26}, {0, .13}}},
	{11, [3][2]float64{{.41, .41}, {0, .23}, {0, 0}}},
	{12, [3][2]float64{{.37, .37}, {0, .21}, {0, 0}}},
	{13, [3][2]float64{{0, .34}, {0, 0}, {0, 0}}},
	{14, [3][2]float64{{0, .31}, {0, 0}, {0, 0}}},
	{15, [3][2]float64{{0, .28}, {0, 0}, {0, 0}}},
}

func spellColumn(s LiftSpell) int {
	switch s {
	case SpellShort:
		return 0
	case SpellModerate:
		return 1
	case SpellLong:
		return 2
	}
	return -1
}

// FrequencyMultiplier is FM: Table 5 with straight lines between its rows
// (manual, p. 7), below 0.2 a minute as at 0.2, above 15 nothing. high tells
// whether the hands are at 30 in (75 cm) or more at the origin. An unknown
// spell gives 0.
func FrequencyMultiplier(perMinute float64, spell LiftSpell, high bool) float64 {
	col, row := spellColumn(spell), 0
	if col < 0 || !(perMinute <= 15) {
		return 0
	}
	if high {
		row = 1
	}
	if perMinute <= frequencyTable[0].perMinute {
		return frequencyTable[0].fm[col][row]
	}
	for i := 1; i < len(frequencyTable); i++ {
		lo, hi := frequencyTable[i-1], frequencyTable[i]
		if perMinute <= hi.perMinute {
			along := (perMinute - lo.perMinute) / (hi.perMinute - lo.perMinute)
			return lo.fm[col][row] + along*(hi.fm[col][row]-lo.fm[col][row])
		}
	}
	return 0
}

// couplingMultiplier is CM, Table 7. The value 0.95 for fair below 30 in is
// borne out by the manual's example 4; the rest of the table is from memory.
func couplingMultiplier(c Coupling, high bool) float64 {
	switch {
	case c == CouplingGood, c == CouplingFair && high:
		return 1
	case c == CouplingFair:
		return .95
	case c == CouplingPoor:
		return .90
	}
	return 0
}

// LiftTask is one kind of lift among several done in turn, for CompositeIndex.
type LiftTask struct {
	FILI      float64 // load over the RWL without the frequency multiplier
	PerMinute float64
}

// CompositeIndex is the lifting index of several kinds of lift done in turn
// (manual, multi-task procedure). Tasks come in the order of their single-task
// index, the heaviest first; first is that index of the first task, and fm the
// frequency multiplier at a summed frequency. Each further task adds its FILI
// times the growth of 1/FM.
func CompositeIndex(first float64, tasks []LiftTask, fm func(perMinute float64) float64) float64 {
	if len(tasks) == 0 {
		return first
	}
	index, sum := first, tasks[0].PerMinute
	for _, t := range tasks[1:] {
		index += t.FILI * (1/fm(sum+t.PerMinute) - 1/fm(sum))
		sum += t.PerMinute
	}
	if math.IsNaN(index) {
		return math.Inf(1)
	}
	return index
}

// LiftLimits are the lifts about which the equation says nothing (manual,
// section 1.1): shown with every result.
var LiftLimits = []string{
	"with one hand",
	"seated, kneeling or in a tight space",
	"for more than 8 hours",
	"of a load that shifts",
	"at high speed (more than about 30 in/s)",
	"on a floor with poor grip (friction below 0.4)",
	"outside 19-26 °C or 35-50 % humidity",
}

// Plain practice for marks on cartons (common practice).
const (
	TeamLiftOver Mass = 22679619 // 50 lb, as ParseMass rounds it
	MechLiftOver Mass = 45359237 // 100 lb
)

// LiftCaution is what a packer or owner reads. There is no word for "allowed".
type LiftCaution struct {
	Band string `json:"band"` // by the index, in the manual's three bands
	Mark string `json:"mark"` // the carton mark of plain practice: "", "team lift", "mechanical lift"
}

// CautionFor words a lifting index and a carton's gross mass.
func CautionFor(li LiftIndex, gross Mass) LiftCaution {
	c := LiftCaution{Band: "index 1 or less: what the equation aims at; the person who lifts still decides"}
	switch {
	case !(li <= 3):
		c.Band = "index above 3: a raised risk of back injury for nearly all; change the task"
	case li > 1:
		c.Band = "index above 1: a raised risk of back injury for some; lighten, raise or share it"
	}
	switch {
	case gross > MechLiftOver:
		c.Mark = "mechanical lift"
	case gross > TeamLiftOver:
		c.Mark = "team lift"
	}
	return c
}

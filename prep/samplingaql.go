package prep

import (
	"strconv"
	"strings"
)

// Normal, single sampling by attributes of MIL-STD-105E (public domain; the
// central tables of its successors are the same).
//
// What is not here: switching between normal, tightened and reduced inspection,
// double and multiple plans, code letters above M and qualities above 10. These
// tables are made for a stream of lots of one maker and protect that stream; of
// a single lot they say little, which ZeroBad answers. Show both.

// InspectionLevel is a column of Table I.
type InspectionLevel string

// The levels; II is used unless something speaks for another.
const (
	LevelS1  InspectionLevel = "S-1"
	LevelS2  InspectionLevel = "S-2"
	LevelS3  InspectionLevel = "S-3"
	LevelS4  InspectionLevel = "S-4"
	LevelI   InspectionLevel = "I"
	LevelII  InspectionLevel = "II"
	LevelIII InspectionLevel = "III"
)

var inspectionLevels = []InspectionLevel{LevelS1, LevelS2, LevelS3, LevelS4, LevelI, LevelII, LevelIII}

// codeLetters is Table I: lots up to upTo (0: any larger), one letter a level.
var codeLetters = []struct {
	upTo    int
	letters string // S-1 S-2 S-3 S-4 I II III
}{
	{8, "AAAAAAB"}, {15, "AAAAABC"}, {25, "AABBBCD"}, {50, "ABBCCDE"}, {90, "BBCCCEF"},
	{150, "BBCDDFG"}, {280, "BCDEEGH"}, {500, "BCDEFHJ"}, {1200, "CCEFGJK"},
	{3200, "CDEGHKL"}, {10000, "CDFGJLM"}, {35000, "CDFHKMN"}, {150000, "DEGJLNP"},
	{500000, "DEGJMPQ"}, {0, "DEHKNQR"},
}

// aqlColumns are the acceptable quality levels tabled here, percent.
var aqlColumns = strings.Fields(".065 .10 .15 .25 .40 .65 1.0 1.5 2.5 4.0 6.5 10")

// normalSingle is Table II-A with its arrows followed: sample:Ac,Re for each of
// aqlColumns.
var normalSingle = map[byte]string{
	'A': "200:0,1 125:0,1 80:0,1 50:0,1 32:0,1 20:0,1 13:0,1 8:0,1 5:0,1 3:0,1 2:0,1 5:1,2",
	'B': "200:0,1 125:0,1 80:0,1 50:0,1 32:0,1 20:0,1 13:0,1 8:0,1 5:0,1 3:0,1 2:0,1 5:1,2",
	'C': "200:0,1 125:0,1 80:0,1 50:0,1 32:0,1 20:0,1 13:0,1 8:0,1 5:0,1 3:0,1 8:1,2 5:1,2",
	'D': "200:0,1 125:0,1 80:0,1 50:0,1 32:0,1 20:0,1 13:0,1 8:0,1 5:0,1 13:1,2 8:1,2 8:2,3",
	'E': "200:0,1 125:0,1 80:0,1 50:0,1 32:0,1 20:0,1 13:0,1 8:0,1 20:1,2 13:1,2 13:2,3 13:3,4",
	'F': "200:0,1 125:0,1 80:0,1 50:0,1 32:0,1 20:0,1 13:0,1 32:1,2 20:1,2 20:2,3 20:3,4 20:5,6",
	'G': "200:0,1 125:0,1 80:0,1 50:0,1 32:0,1 20:0,1 50:1,2 32:1,2 32:2,3 32:3,4 32:5,6 32:7,8",
	'H': "200:0,1 125:0,1 80:0,1 50:0,1 32:0,1 80:1,2 50:1,2 50:2,3 50:3,4 50:5,6 50:7,8 50:10,11",
	'J': "200:0,1 125:0,1 80:0,1 50:0,1 125:1,2 80:1,2 80:2,3 80:3,4 80:5,6 80:7,8 80:10,11 80:14,15",
	'K': "200:0,1 125:0,1 80:0,1 200:1,2 125:1,2 125:2,3 125:3,4 125:5,6 125:7,8 125:10,11 125:14,15 125:21,22",
	'L': "200:0,1 125:0,1 315:1,2 200:1,2 200:2,3 200:3,4 200:5,6 200:7,8 200:10,11 200:14,15 200:21,22 125:21,22",
	'M': "200:0,1 500:1,2 315:1,2 315:2,3 315:3,4 315:5,6 315:7,8 315:10,11 315:14,15 315:21,22 200:21,22 125:21,22",
}

// LotPlan is a normal single plan for a lot: look at Sample pieces, accept with
// up to Accept bad ones, reject from Reject.
type LotPlan struct {
	Lot    int             `json:"lot"`
	Level  InspectionLevel `json:"level"`
	AQL    Fixed           `json:"aql_percent"`
	Letter string          `json:"letter"`
	Sample int             `json:"sample"`
	Accept int             `json:"accept"`
	Reject int             `json:"reject"`
	Whole  bool            `json:"whole"` // the table's sample is the lot or more: look at all of it
}

// CodeLetter reads Table I. Lots of one piece have no letter.
func CodeLetter(lot int, level InspectionLevel) (string, error) {
	col := -1
	for i, l := range inspectionLevels {
		if l == level {
			col = i
		}
	}
	if col < 0 {
		return "", Input("inspection level "+strconv.Quote(string(level))+" is not known", "take S-1, S-2, S-3, S-4, I, II or III")
	}
	if lot < 2 {
		return "", Input("a lot of "+strconv.Itoa(lot)+" has no sampling plan", "look at every piece")
	}
	for _, row := range codeLetters {
		if lot <= row.upTo || row.upTo == 0 {
			return row.letters[col : col+1], nil
		}
	}
	panic("prep: the last row of the code letters has no end")
}

// NormalPlan gives the plan for a lot, an inspection level and an acceptable
// quality level in percent.
func NormalPlan(lot int, level InspectionLevel, aql Fixed) (LotPlan, error) {
	letter, err := CodeLetter(lot, level)
	if err != nil {
		return LotPlan{}, err
	}
	col := -1
	for i, s := range aqlColumns {
		if v, err := parseDecimal([]byte("0"+s), 6); err == nil && Fixed(v) == aql {
			col = i
		}
	}
	if col < 0 {
		return LotPlan{}, Input("quality level "+aql.String()+" is not tabled", "take one of "+strings.Join(aqlColumns, ", "))
	}
	row, ok := normalSingle[letter[0]]
	if !ok {
		return LotPlan{}, Input("code letter "+letter+" is not tabled here", "take a lower level or split the lot; the exact plan for no bad piece has no such limit")
	}
	p := LotPlan{Lot: lot, Level: level, AQL: aql, Letter: letter}
	p.Sample, p.Accept, p.Reject = parsePlan(strings.Fields(row)[col])
	if p.Sample >= lot {
		p.Sample, p.Whole = lot, true
	}
	return p, nil
}

func parsePlan(s string) (n, ac, re int) {
	size, limits, _ := strings.Cut(s, ":")
	a, r, _ := strings.Cut(limits, ",")
	n, _ = strconv.Atoi(size)
	ac, _ = strconv.Atoi(a)
	re, _ = strconv.Atoi(r)
	return n, ac, re
}

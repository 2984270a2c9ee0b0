package prep

import (
	"strconv"
	"strings"
	"time"
)

// aiRule says what the value of an application identifier may be, and what
// must or must not stand beside it on the same unit.
type aiRule struct {
	title      string
	min, max   int
	numeric    bool
	checked    bool       // mod-10 check digit
	date       bool       // YYMMDD, DD may be 00 where the month is meant
	predefined bool       // length fixed by the AI's first two digits: no separator after it
	needs      [][]string // at least one of the sets, all of its AIs
	excludes   []string
}

func anyOf(ais ...string) (sets [][]string) {
	for _, ai := range ais {
		sets = append(sets, []string{ai})
	}
	return sets
}

// aiTable: GS1 Syntax Dictionary (gs1/gs1-syntax-dictionary, Apache-2.0), the
// part a prep floor meets. 03, 235, 255, 8006 and 8026 are named by the
// association rules only and are not read here.
var aiTable = map[string]aiRule{
	"00":  {title: "SSCC", min: 18, max: 18, numeric: true, checked: true, predefined: true},
	"01":  {title: "GTIN", min: 14, max: 14, numeric: true, checked: true, predefined: true, excludes: []string{"02", "255", "37"}},
	"02":  {title: "CONTENT", min: 14, max: 14, numeric: true, checked: true, predefined: true, needs: anyOf("37"), excludes: []string{"01", "03"}},
	"10":  {title: "BATCH/LOT", min: 1, max: 20, needs: anyOf("01", "02", "03", "8006", "8026")},
	"11":  {title: "PROD DATE", min: 6, max: 6, numeric: true, date: true, predefined: true, needs: anyOf("01", "02", "03", "8006", "8026")},
	"13":  {title: "PACK DATE", min: 6, max: 6, numeric: true, date: true, predefined: true, needs: anyOf("01", "02", "03", "8006", "8026")},
	"15":  {title: "BEST BEFORE", min: 6, max: 6, numeric: true, date: true, predefined: true, needs: anyOf("01", "02", "03", "8006", "8026")},
	"17":  {title: "USE BY", min: 6, max: 6, numeric: true, date: true, predefined: true, needs: anyOf("01", "02", "03", "255", "8006", "8026")},
	"21":  {title: "SERIAL", min: 1, max: 20, needs: anyOf("01", "03", "8006"), excludes: []string{"235"}},
	"37":  {title: "COUNT", min: 1, max: 8, numeric: true, needs: [][]string{{"00", "02"}, {"00", "8026"}}},
	"240": {title: "ADDITIONAL ID", min: 1, max: 30, needs: anyOf("01", "02", "8006", "8026")},
	"254": {title: "GLN EXTENSION", min: 1, max: 20, needs: anyOf("414")},
	"400": {title: "ORDER NUMBER", min: 1, max: 30},
	"410": {title: "SHIP TO LOC", min: 13, max: 13, numeric: true, checked: true, predefined: true},
	"414": {title: "LOC No.", min: 13, max: 13, numeric: true, checked: true, predefined: true},
	"420": {title: "SHIP TO POST", min: 1, max: 20},
}

// cset82 is the character set of alphanumeric values (GS1 General
// Specifications, figure 7.11-1), a part of ISO/IEC 646.
const cset82 = `!"%&'()*+,-./0123456789:;<=>?ABCDEFGHIJKLMNOPQRSTUVWXYZ_abcdefghijklmnopqrstuvwxyz`

func (a aiRule) check(ai, v string) error {
	if len(v) < a.min || len(v) > a.max {
		return a.wrong(ai, v, "has the wrong length")
	}
	if a.numeric && !onlyDigits(v) {
		return a.wrong(ai, v, "must be digits")
	}
	for i := range len(v) {
		if strings.IndexByte(cset82, v[i]) < 0 {
			return a.wrong(ai, v, "holds a sign that is not allowed")
		}
	}
	if a.checked && !checked(v) {
		return a.wrong(ai, v, "has a check digit that does not fit")
	}
	if a.date && !validYYMMDD(v) {
		return a.wrong(ai, v, "is not a date YYMMDD")
	}
	return nil
}

func (a aiRule) wrong(ai, v, why string) *InputError {
	return Input("("+ai+") "+a.title+" "+strconv.Quote(v)+" "+why, "scan the symbol again")
}

// validYYMMDD takes DD = 00, which means the month as a whole. The century does
// not matter here except for leap days, where 2000 to 2099 is meant.
func validYYMMDD(v string) bool {
	if v[4:] == "00" {
		v = v[:4] + "01"
	}
	_, err := time.Parse("20060102", "20"+v)
	return err == nil
}

// Check holds the elements against the association rules of the GS1 Syntax
// Dictionary: no AI twice with two values, each AI with what it needs, none
// with what it excludes. A carton's contents (02)(37), for one, belong only
// beside its number (00).
func (e Elements) Check() error {
	for i, p := range e {
		for _, q := range e[:i] {
			if p.AI == q.AI && p.Value != q.Value {
				return Input("("+p.AI+") stands twice with two values", "scan one label only")
			}
		}
		rule := aiTable[p.AI]
		for _, x := range rule.excludes {
			if e.has(x) {
				return Input("("+p.AI+") and ("+x+") may not stand on one unit", "set the label aside; its maker has to correct it")
			}
		}
		if !e.satisfies(rule.needs) {
			return Input("("+p.AI+") "+rule.title+" needs "+orSets(rule.needs)+" beside it", "set the label aside; its maker has to correct it")
		}
	}
	return nil
}

func (e Elements) has(ai string) bool {
	for _, p := range e {
		if p.AI == ai {
			return true
		}
	}
	return false
}

func (e Elements) satisfies(sets [][]string) bool {
	if len(sets) == 0 {
		return true
	}
	for _, set := range sets {
		all := true
		for _, ai := range set {
			all = all && e.has(ai)
		}
		if all {
			return true
		}
	}
	return false
}

func orSets(sets [][]string) string {
	var out []string
	for _, set := range sets {
		out = append(out, "("+strings.Join(set, ")+(")+")")
	}
	return strings.Join(out, " or ")
}

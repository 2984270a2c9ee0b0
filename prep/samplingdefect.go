package prep

import "slices"

// DefectClass is how much a defect weighs.
type DefectClass string

// The classes of 7 CFR part 42.
const (
	DefectCritical DefectClass = "critical"
	DefectMajor    DefectClass = "major"
	DefectMinor    DefectClass = "minor"
)

// Defect is one word of the vocabulary for what is wrong with a label or a
// closure. Its numbers are those of the source, its wording is ours.
type Defect struct {
	ID    string      `json:"defect"`
	On    string      `json:"on"` // "label", "closure" or "outside"
	Class DefectClass `json:"class"`
	Words string      `json:"words"`
	Cite  string      `json:"cite"`
}

// Defects is the vocabulary, after the United States Standards for Condition of
// Food Containers (7 CFR part 42, public domain): §§ 42.112 and 42.113. Only
// the rows that concern a prep floor and have been read are here.
var Defects = []Defect{
	{"label-101", "label", DefectMajor, "put on by another method than asked for", "7 CFR 42.113, major 101"},
	{"label-102", "label", DefectMajor, "missing", "7 CFR 42.113, major 102"},
	{"label-103", "label", DefectMajor, "torn or scratched so that what it says is lost", "7 CFR 42.113, major 103"},
	{"label-104", "label", DefectMajor, "the wrong one, or wrong in what it says", "7 CFR 42.113, major 104"},
	{"label-201", "label", DefectMinor, "loose or badly stuck", "7 CFR 42.113, minor 201"},
	{"label-202", "label", DefectMinor, "torn or damaged, still readable", "7 CFR 42.113, minor 202"},
	{"label-203", "label", DefectMinor, "text hard to read or not complete", "7 CFR 42.113, minor 203"},
	{"label-204", "label", DefectMinor, "in the wrong place", "7 CFR 42.113, minor 204"},
	{"closure-101", "closure", DefectMajor, "not fully closed, on the primary container", "7 CFR 42.112, major 101"},
	{"closure-201", "closure", DefectMinor, "not fully closed, on another container than the primary", "7 CFR 42.112, minor 201"},
	{"outside-202", "outside", DefectMinor, "dirty, stained or smeared", "7 CFR 42.112, minor 202"},
}

// DefectByID finds a word of the vocabulary.
func DefectByID(id string) (Defect, error) {
	i := slices.IndexFunc(Defects, func(d Defect) bool { return d.ID == id })
	if i < 0 {
		return Defect{}, Input("defect "+id+" is not in the vocabulary", "take one of label-…, closure-… or outside-…")
	}
	return Defects[i], nil
}

package printing

import (
	"cmp"
	"fmt"
	"slices"

	"packwright/prep"
	"packwright/prep/label"
	"packwright/workflow"
)

// Places are the classes of the floor's own codes that stand on things, beside totes.
var Places = []workflow.Class{workflow.ScanStation, workflow.ScanAside, workflow.ScanCarton, workflow.ScanLot, workflow.ScanRun, workflow.ScanLoad}

// classWords say on a label what its code names.
var classWords = map[workflow.Class]string{workflow.ScanStation: "bench", workflow.ScanAside: "aside tote"}

// Own makes labels with codes of the floor's own, each with its check sign and of
// a class that is meant. Errors: *prep.InputError.
func Own(codes []string, like label.Own, classes ...workflow.Class) ([]label.Label, error) {
	var all []label.Label
	for _, code := range codes {
		s, err := workflow.ParseScan(workflow.Signed(code), nil)
		if err != nil {
			return nil, err
		}
		if !slices.Contains(classes, s.Class) {
			return nil, prep.Input(fmt.Sprintf("%s is no name of a %s", code, classes[0]), "see packwright label --help for the label it needs")
		}
		x := like
		x.Name, x.Code, x.Word = s.Code, workflow.Signed(code), cmp.Or(classWords[s.Class], string(s.Class))
		all = append(all, x)
	}
	return all, nil
}

package workflow

import (
	"github.com/goccy/go-yaml"

	"packwright/prep"
)

// ParsePolicy reads a policy file over the defaults. Unknown words are refused
// with their place. Errors: *prep.InputError.
func ParsePolicy(file string, src []byte) (*Policy, error) {
	p := DefaultPolicy()
	if err := yaml.UnmarshalWithOptions(src, p, yaml.Strict()); err != nil {
		return nil, &prep.InputError{File: file, What: err.Error(), Do: "compare with the default policy"}
	}
	return p, nil
}

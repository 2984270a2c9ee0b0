package prep

import _ "embed"

//go:embed default-rulebook.yaml
var defaultSource []byte

// DefaultRulebook is the shipped rulebook, revision 1. Each call reads it
// afresh, so that a caller may change its copy.
func DefaultRulebook() *Rulebook {
	b, err := ParseRulebook("default-rulebook.yaml", defaultSource)
	if err != nil {
		panic("prep: the shipped rulebook: " + err.Error())
	}
	return b
}

// DefaultSource is the YAML text of the shipped rulebook, to start one's own from.
func DefaultSource() []byte { return append([]byte(nil), defaultSource...) }

package audit

import (
	"packwright/events"
	"packwright/prep"
)

// oddities are the facts that an auditor asks for first: what was let pass, told
// late, refused or taken back.
type oddities struct {
	Overrides []override
	Testimony []told
	Late      []late
	Skews     []skew
	Scales    []badScale
	Refused   []refused
	TakenBack []takenBack
	Restored  []restored
}

type override struct {
	Fact         fact
	Key, Gate    string
	Scope        events.Scope
	Reason, Text string
	Expires      stamp
	Second       string
}

// told is a fact known only by somebody's word.
type told struct {
	Fact     fact
	Recorded stamp
	Type     events.Type
}

type late struct {
	Fact                         fact
	Recorded                     stamp
	Command, Error, Text, Carton string
}

type skew struct {
	Fact    fact
	Station string
	MS      int64
}

type badScale struct {
	Fact      fact
	Scale     string
	Ref, Read prep.Mass
}

type refused struct {
	Fact                 fact
	Error, Class, Carton string
}

type takenBack struct {
	Fact   fact
	Of     ref
	Reason string
}

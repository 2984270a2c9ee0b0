// Package events holds the floor's facts: the closed list of events, the
// envelope each travels in, the frame that makes a group of them durable, the
// listing of cells by which two independent readers compare notes, and the
// contract of the log that keeps it all.
//
// # Frame
//
// A frame is one durable commit: a header line and then one event a line, as
// JSON. All events of a frame are in the log, or none. An event is known by
// its place, [Seq]: the frame's sequence and the event's index in it. That
// place is also the order of the floor; clocks only annotate it.
//
// # The header proves itself
//
// Each header states the size and root of the Merkle tree over all event lines
// before it (RFC 6962 hashing, see package proof) and the [Digest] of all
// cells after its own events, as the decider saw them. A reader that folds the
// log on its own, and does not import the decider, recomputes both: a lost,
// changed, reordered or inserted frame is noticed at that frame, and so is a
// decider that moved goods otherwise than its events say.
//
// # Event
//
// Events are facts in the past tense, a closed list ([Types]). Every type has a
// version; older lines are lifted to the current shape by [Decode] and never
// rewritten. testdata/events keeps one line of each type and version for ever.
// A line stands alone: it needs no neighbour to be read, so that it can be
// shown as evidence. Only defaults are left out: version 1, basis scan, at when
// it equals recorded, station when the cause names it.
//
// # How events move cells
//
// Goods move by these events and no others; a place is a tote, a bench, an
// aside tote or a carton. Both readers follow this table, each in its own code.
//
//	LotReceived          +qty at received, tote
//	LotCorrected         +delta at stage, place
//	ToteSplit            stage, from → same stage, to
//	UnitsTriaged         received, tote → triaged, tote · held, to · diverted · written-off
//	UnitsHeld            stage, from → held, to
//	HoldReleased         held, from → stage, to
//	UnitsDiverted        stage, from → diverted
//	UnitsReturnedToFloor diverted → received, tote
//	UnitsWrittenOff      stage, from → written-off
//	UnitsUnaccounted     stage, from → unaccounted
//	UnitsPrepped         triaged, from → prepped, to; anonymous units take the marks, if any
//	UnitSpoiled          stage, from → held, to · diverted · written-off
//	BundleBuilt          each component stage, from → consumed; +q of the new lot at triaged, to
//	MarkVoided           stage, place, mark → unmarked, place, anonymous
//	UnitMarked           unmarked, from → prepped, to, with the mark
//	UnitPlaced           prepped, from → prepped, carton
//	UnitTakenOut         prepped, carton → prepped, to
//	CountAccepted        all prepped in the carton → contents-counted there
//	CountVoided          all contents-counted in the carton → prepped there
//	CartonSealed         all contents-counted in the carton → sealed there
//	CartonReopened       all sealed in the carton → prepped there
//	CartonDispatched     all sealed in the carton → dispatched
//	DispatchCancelled    those units dispatched → sealed in the carton
//
// Units that are Gone have no place and keep no marks: a cell of a number.
package events

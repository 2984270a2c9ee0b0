// Package workflow decides. It is pure: no clock, no files, no bus.
//
//	command → Decide(floor, command, now) → events → floor.Apply(event)
//
// [Floor] is the state: what is true now, and only as much of the past as a
// gate may still ask for. [Decide] never changes it. [Floor.Apply] never says
// no to what Decide gave; a fact it cannot place is [events.ErrCorrupt].
//
// # One gate table
//
// Every command is one [rule] in one table: who may give it, the states it
// moves things between, its gates in the order in which they speak, and what
// follows when all are open. A gate states in words what it needs, the code of
// its refusal, and whether an override may open it. The drawing of the state
// machine, the list of refusals and the tests that each gate is shown shut and
// open all read that table.
//
// # Four outcomes
//
// kept: it is in the log. already: it was before, nothing changed. no: a gate
// is shut; nothing changed, and the same id is judged anew when sent again.
// call: it is in the log, and a person is needed (a mismatch was raised).
//
// # Goods
//
// Units are quantities until a mark exists. The [Ledger] moves n units of a lot,
// or marked units, from one cell to another like double-entry books: per lot
// the sum over all cells is what was received, after every event.
package workflow

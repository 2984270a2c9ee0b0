// Package plain is a second opinion on where the goods are.
//
// It is one slice of single units, each with its lot, stage, place and mark,
// and linear searches over it: slow, and simple enough to be believed. It is
// told the commands that were kept, as a bench would tell them: the command and
// how it was answered, never the events that came of it. It works out for
// itself which units that moves, from the rules of the floor, and complains of
// a command that the floor should not have kept: a piece placed under seal, a
// carton sealed without a live certificate, a count that differs from the scans.
//
// It imports neither the decider nor the audit. [Model.Digest] is the same sum
// over cells that both of them state, so one comparison shows any difference.
package plain

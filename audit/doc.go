// Package audit reads a floor's events in code of its own and answers for them:
// what every carton holds, what differs from the plan, which unit it was, who its
// siblings are, and whether the log is one that a lawful floor could have written.
//
// It imports nothing of the decider. The auditor does not believe the decider:
// both fold the same events, each frame's header states the decider's digest of
// all cells, and package follow compares it with [Fold.Digest] at every frame.
// TestLeftOutOrDoubled leaves out, and doubles, each type of event that moves
// goods: the comparison fails at that very frame.
//
// # The fold
//
// [Fold.Apply] takes one event at a time through a table with one row a type
// (fold.go); the methods stand in files by noun: intake, runs, labels, materials,
// bundles, cartons, seals, plans, matters, benches, claims. It is total over lawful
// logs. An event that cannot be placed, such as units leaving a place where they are
// not, is an error that names the event and wraps events.ErrCorrupt; TestCannotBePlaced
// lists them.
//
// The books (book.go, marks.go) are cells: anonymous units are heaps, n of a lot at a
// stage in a place; a marked unit is a record of its own. Goods move by take and put,
// take and bury, and back by raise; every change passes Fold.enter, where the digest
// and the lot's sum follow, so that what goes out of one cell comes into another.
//
// Unlike the decider the fold forgets nothing: each noun keeps its past, and a trail of
// the frames that speak of it, one or two bytes a frame. What is done with (a carton
// that has left, a closed run, an empty tote, a page of marks whose units are gone)
// rests in a compact form and is unpacked for who asks (shelf.go, markpages.go,
// pack.go); a snapshot is those forms one after another. It grows with lots, runs and
// cartons, by some 420 bytes a carton and 240 a run, and by about 6 bytes for each mark;
// not with each scan of goods that have none but by a byte or two of trail.
//
// Sets of siblings are counted from sums that follow each event, complaints among
// them, and their members are listed by pages in the order of marks (kinset.go), so
// that it does not matter how many there are nor how long the log is; a window of time
// is the difference of two sums (kinshift.go). The sums stand outside the packed rows:
// 68 bytes a run (kin.go), 64 a batch of a run, 4 a carton, some 120 a thing that is
// shared, and there 8 a stretch of its marks. A change of what a run's units share
// (a roll that follows another, a late step) counts that run anew, and nothing else.
// A claim that names only a carton is looked at again when the carton's goods change.
//
// # What can be known
//
// A mark names one unit. Without a mark there are only sets: a heap names the runs
// that may have fed it, and two runs poured into one tote are from then on both named.
// Every trace is a set with its size and the reason why it is no smaller.
//
// A label that is cancelled leaves its unit bare. A new mark inherits the past of the
// goods, not of the label: when one unit of the lot (and run, if named) is bare, its
// run and its place in it; when several are, the set of them, and the record says so.
// What a label replaced on the box is another lineage, kept beside it ([LabelTrace]).
//
// # Laws
//
// [Laws] reads along and keeps a small memory of its own, so that a mistake in the
// fold does not hide one in the log. [LawBook] lists them; TestEachLawIsBroken breaks each
// with one event and nothing else.
//
// # How far the evidence goes
//
// A weight is explained by weighing causes against one another ([Priors.Explain]): prior
// times the normal density of the residual, then the blind count drops what would give
// another number. Every page says what the scale could have missed. TestCalibration
// keeps what is called at 0.95 right, on simulated cartons of known cause.
//
// Complaints about siblings get an exact chance against a background rate, adjusted for
// the number of axes that were tried ([Judge]); one complaint alone suggests nothing.
// [Fold.ShortEvidence] gives every piece of evidence its own strength and says what would
// defeat the whole. The statistics (stats.go) are held against published values, and are
// for things, never for people.
//
// # Answers
//
// [Fold.Contents], [Fold.Reconcile], [Fold.Board], [Fold.Why], [Fold.Options],
// [Fold.Where], [Fold.TraceMark], [Fold.TraceUnits], [Fold.SiblingsOf],
// [Fold.Irregular] and [Fold.Sample] read the fold and change nothing; each gives a
// struct with stable JSON names, and most a Text in plain sentences. Weights are judged
// by [Expected.Assess], with what the scale could have missed beside what it says.
package audit

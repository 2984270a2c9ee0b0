package workflow

import "slices"

// sentAgain are the commands that a bench may give once more, under their own ids,
// to a floor whose log was put back from an older copy: what hands did with goods
// and cartons, said with the codes that stand on them. Left out is what names
// something that the floor numbers itself (a run, a label, a matter), since after
// a loss the number may be another's; and counting, weighing, sealing and loading,
// which have to be done anew.
var sentAgain = []string{"receive", "triage", "hold", "divert", "split-tote", "clear-tote", "move-tote", "open-carton", "place", "take-out"}

// SentAgain says whether a command of this type may be given once more, as done
// while away, after its answer was lost with the log that held it.
func SentAgain(typ string) bool { return slices.Contains(sentAgain, typ) }

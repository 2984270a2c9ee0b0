// Package floors makes up days: plausible ones and hostile ones, each from one
// number. The same seed gives the same day, on any machine.
//
// # A day
//
// Things are what they are: [truth] holds every piece, where it lies, what it
// weighs and which label sticks on it. People see the screens (the floor, read
// only), put their hands on pieces, and say what they did as commands. Between
// hands and commands lie the slips: a scan missed, a scan of nothing, a scan
// heard twice, a neighbour's code, the wrong tote, a count that is one off, a
// label on the wrong box. Between commands and floor lies a network that loses
// requests and answers, repeats them, and lets a bench be away for a while: its
// outbox then comes late and in order, marked offline. Supervisors settle what
// does not match by lawful ways only, the owner and a client answer changes of
// the plan, and the floor's own clockwork speaks up in between.
//
// A day is played through a [Door]: whatever keeps a floor. The generator never
// writes an event and believes nothing but answers and screens.
//
// # A load
//
// [Feed] is the other thing this package makes: a stream of commands without a
// mistake, mostly placements, for measuring and for long logs; see feed.go.
//
// Package plain, below, is the second opinion on where the goods are.
package floors

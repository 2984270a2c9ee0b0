// Package door is where commands come in and answers go out. The same JSON
// goes through every door:
//
//	bus    floor.<f>.do.<station>   request and reply, from bench processes
//	HTTP   POST /do                 from browsers, scripts and the command line
//	Local  the engine in this process
//
// # Answers
//
// An [Answer] has an outcome, one of four, when the hub has answered; a command
// whose answer has none is still in the bench's outbox, and is sent again under
// the same id, as often as need be. Answers hold events only for a badge that is
// supervisor or above: what a blind count must not see does not leave the hub.
//
//	what happened                    outcome             HTTP, bus code
//	done, or done before             kept already call   200
//	a gate is shut                   no                  409
//	the command cannot be read       no, with error      400
//	busy, or the log is out of reach none, E-SYS-01      503
//	another writer has the log       none, E-SYS-01      503
//	the hub could not decide         no, E-SYS-06        500
//	the log is not believable        none, with error    500
//
// # Events
//
// After a frame is durable each of its events is published on
// floor.<f>.event.<type>, with the header Seq: frame.index. Publishing never
// holds the writer up: under pressure events are left out, a listener sees the
// gap in Seq and reads the frame.
package door

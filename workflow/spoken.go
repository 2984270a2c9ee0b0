package workflow

import (
	"fmt"
	"slices"

	json "github.com/goccy/go-json"
)

// The refusals below are spoken by the engine and the doors, not by a gate.

// TooLarge refuses a command whose events would not fit a frame.
func TooLarge(command string, size, limit int) *Refusal {
	return refuse("E-SYS-08", fmt.Sprintf("%s (%d of %d kB)", command, (size+1023)/1024, limit/1024))
}

// Undecided answers a command that the program could not judge.
func Undecided() *Refusal { return refuse("E-SYS-06") }

// Behind answers a bench that was told more than this log holds.
func Behind() *Refusal { return refuse("E-SYS-05") }

// Away answers when the log or its hub cannot be reached.
func Away() *Refusal { return refuse("E-SYS-01") }

// DiskFull answers when there is no room for new work.
func DiskFull() *Refusal { return refuse("E-SYS-03") }

// BeginsWork says whether a command begins something that will want more room later.
func BeginsWork(command string) bool {
	return slices.Contains([]string{"announce", "receive", "open-run", "open-carton", "open-load", "release"}, command)
}

// Knows says whether there is a command of that name.
func Knows(command string) bool { return rules[command] != nil }

// ReadFloor reads a floor from its JSON and puts it under a policy.
func ReadFloor(b []byte, p *Policy) (*Floor, error) {
	f := NewFloor(p)
	if err := json.Unmarshal(b, f); err != nil {
		return nil, err
	}
	return f.under(p), nil
}

//go:build !linux || (!amd64 && !arm64)

package powercut

// Record needs Linux.
func Record(string, []string, []string) (*Tape, error) { return nil, ErrNotAllowed }

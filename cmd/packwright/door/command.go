package door

import (
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"strings"
	"unicode/utf8"

	"packwright/prep"
	"packwright/workflow"
)

// MaxCommand is the largest command, in bytes, that a door takes.
const MaxCommand = 512 << 10

// ParseCommand reads one command from JSON. A name that no command has is
// refused, so that a slip is not taken for "left out". Errors: *prep.InputError;
// Col is the character in b, on its line.
func ParseCommand(b []byte) (workflow.Command, error) {
	var c workflow.Command
	if len(b) > MaxCommand {
		return c, prep.Input(fmt.Sprintf("a command of %d kB", len(b)>>10), fmt.Sprintf("split it; a command has at most %d kB", MaxCommand>>10))
	}
	dec := json.NewDecoder(bytes.NewReader(b))
	dec.DisallowUnknownFields()
	if err := dec.Decode(&c); err != nil {
		return c, unreadable(b, err, dec.InputOffset())
	}
	if rest := bytes.TrimSpace(b[dec.InputOffset():]); len(rest) > 0 {
		return c, unreadable(b, errors.New("something follows the command"), dec.InputOffset())
	}
	if _, err := workflow.ParseCommandID(c.ID); err != nil {
		return c, err
	}
	return c, nil
}

func unreadable(b []byte, err error, at int64) error {
	var syntax *json.SyntaxError
	var kind *json.UnmarshalTypeError
	what := strings.TrimPrefix(err.Error(), "json: ")
	switch {
	case errors.As(err, &syntax):
		at = syntax.Offset - 1
	case errors.As(err, &kind):
		at, what = kind.Offset-1, fmt.Sprintf("%s cannot be a %s", kind.Field, kind.Value)
	case errors.Is(err, io.EOF), errors.Is(err, io.ErrUnexpectedEOF):
		at, what = int64(len(b)), "it breaks off"
	}
	before := b[:min(max(at, 0), int64(len(b)))]
	line := before[bytes.LastIndexByte(before, '\n')+1:]
	return &prep.InputError{Line: bytes.Count(before, []byte{'\n'}) + 1, Col: utf8.RuneCount(line) + 1,
		What: "the command cannot be read: " + what,
		Do:   `write {"id":"ST-1/1/42","type":"place","badge":"…","data":{…}}`}
}

// IDOf finds the id of a command that could not be read, when it stands before
// the fault; "" otherwise.
func IDOf(b []byte) string {
	dec := json.NewDecoder(bytes.NewReader(b[:min(len(b), MaxCommand)]))
	if open, err := dec.Token(); err != nil || open != json.Delim('{') {
		return ""
	}
	for dec.More() {
		name, err := dec.Token()
		var value json.RawMessage
		if err != nil || dec.Decode(&value) != nil {
			return ""
		}
		var id string
		if name == "id" && json.Unmarshal(value, &id) == nil && len(id) <= 80 {
			return id
		}
	}
	return ""
}

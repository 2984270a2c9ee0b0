package prep

import (
	"bytes"
	"encoding/json"
	"errors"
	"strconv"
	"strings"
)

// MarshalJSON gives an object of the answered attributes in the order of the
// table, words as strings ("outer":"closed"), a set as an array, a count as a
// number. What is unknown is left out.
func (a Attrs) MarshalJSON() ([]byte, error) {
	b := []byte{'{'}
	for i := range attributes {
		at := &attributes[i]
		if !at.known(&a) {
			continue
		}
		if len(b) > 1 {
			b = append(b, ',')
		}
		b = append(b, '"')
		b = append(b, at.name...)
		b = append(b, '"', ':')
		b = at.appendJSON(b, &a)
	}
	return append(b, '}'), nil
}

func (at *attribute) appendJSON(b []byte, a *Attrs) []byte {
	switch {
	case at.count != nil:
		return strconv.AppendInt(b, *at.count(a), 10)
	case !at.many:
		return append(append(append(b, '"'), at.text(a)...), '"')
	}
	return append(append(append(b, `["`...), strings.Join(at.said(at.mask(a)), `","`)...), `"]`...)
}

// UnmarshalJSON is the inverse of MarshalJSON. An attribute or a word that is
// not in the table is an error; all of them are reported together.
func (a *Attrs) UnmarshalJSON(b []byte) error {
	var object map[string]json.RawMessage
	if err := json.Unmarshal(b, &object); err != nil {
		return err
	}
	var out Attrs
	var errs []error
	for _, name := range sortedKeys(object) {
		word, err := jsonWord(object[name])
		if err == nil {
			err = SetAttr(&out, name, word)
		}
		errs = append(errs, err)
	}
	*a = out
	return errors.Join(errs...)
}

// jsonWord turns "word", 12 or ["a","b"] into what SetAttr reads.
func jsonWord(raw json.RawMessage) (string, error) {
	raw = bytes.TrimSpace(raw)
	if len(raw) > 0 && raw[0] == '[' {
		var words []string
		err := json.Unmarshal(raw, &words)
		return strings.Join(words, ","), err
	}
	if len(raw) > 0 && raw[0] == '"' {
		var word string
		err := json.Unmarshal(raw, &word)
		return word, err
	}
	return string(raw), nil
}

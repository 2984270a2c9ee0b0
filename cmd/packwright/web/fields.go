package web

import (
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"fmt"
	"net/url"
	"slices"
	"strconv"
	"strings"
	"time"

	"packwright/events"
	"packwright/prep"
)

// fieldsOf makes a command's body of a form's fields. Errors: *prep.InputError.
func fieldsOf(form url.Values) (json.RawMessage, error) {
	body := map[string]any{}
	names := make([]string, 0, len(form))
	for name := range form {
		names = append(names, name)
	}
	slices.Sort(names) // "s.roles.0" before "s.roles.1"
	for _, name := range names {
		kind, path, ok := strings.Cut(name, ".")
		text := strings.TrimSpace(form.Get(name))
		if !ok || text == "" {
			continue
		}
		v, err := fieldOf(kind, text)
		if err != nil {
			return nil, prep.Input(path+": "+err.Error(), "correct it, and send it again")
		}
		if err := put(body, strings.Split(path, "."), v); err != nil {
			return nil, err
		}
	}
	return json.Marshal(body)
}

// put sets a value at a path; a number at its end adds to a list.
func put(into map[string]any, path []string, v any) error {
	for len(path) > 1 && !isNumber(path[1]) {
		next, ok := into[path[0]].(map[string]any)
		if !ok {
			if into[path[0]] != nil {
				return prep.Input("the form names "+path[0]+" in two ways", "load the page again")
			}
			next = map[string]any{}
			into[path[0]] = next
		}
		into, path = next, path[1:]
	}
	switch len(path) {
	case 1:
		into[path[0]] = v
	case 2:
		list, _ := into[path[0]].([]any)
		into[path[0]] = append(list, v)
	default:
		return prep.Input("the form names "+strings.Join(path, "."), "load the page again")
	}
	return nil
}

func isNumber(s string) bool {
	_, err := strconv.ParseUint(s, 10, 16)
	return err == nil
}

// fieldOf reads one field by the kind that its name begins with.
func fieldOf(kind, v string) (any, error) {
	switch kind {
	case "s":
		return v, nil
	case "n":
		n, err := strconv.ParseInt(v, 10, 64)
		if err != nil {
			return nil, fmt.Errorf("%q is no whole number", v)
		}
		return n, nil
	case "m":
		return prep.ParseMoney(v)
	case "t":
		return momentOf(v)
	case "l":
		return linesOf(v), nil
	case "x":
		h := sha256.Sum256([]byte(v))
		return hex.EncodeToString(h[:]), nil
	case "j":
		var raw json.RawMessage
		err := json.Unmarshal([]byte(v), &raw)
		return raw, err
	case "b":
		return true, nil
	}
	return nil, fmt.Errorf("the form has a field of kind %q", kind)
}

// momentOf reads what a browser's field for date and time gives; the floor's
// clock is UTC.
func momentOf(v string) (events.Time, error) {
	for _, layout := range []string{time.RFC3339, "2006-01-02T15:04:05", "2006-01-02T15:04", "2006-01-02"} {
		if t, err := time.Parse(layout, v); err == nil {
			return events.At(t), nil
		}
	}
	return events.Time{}, fmt.Errorf("%q is no moment", v)
}

func linesOf(v string) []string {
	var out []string
	for line := range strings.Lines(v) {
		if line = strings.TrimSpace(line); line != "" {
			out = append(out, line)
		}
	}
	return out
}

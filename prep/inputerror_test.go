package prep

import "testing"

func TestInputErrorShow(t *testing.T) {
	for _, c := range []struct {
		e           *InputError
		says, shows string
	}{
		{Input("the tote is unknown", "scan it again"), "the tote is unknown; scan it again", "the tote is unknown; scan it again"},
		{&InputError{What: "no unit"}, "no unit", "no unit"},
		{&InputError{File: "items.csv", What: "is empty", Do: "save it again"}, "items.csv: is empty; save it again", "items.csv: is empty; save it again"},
		{&InputError{Line: 7, Col: 2, What: "w", Do: "d"}, "7:2: w; d", "7:2: w; d"},
		{&InputError{File: "rules.yaml", Line: 12, Col: 9, What: `"wrpa" is not a step`, Do: `did you mean "wrap"?`, Snippet: "\t- do: [ wrpa ]"},
			`rules.yaml:12:9: "wrpa" is not a step; did you mean "wrap"?`,
			"rules.yaml:12:9: \"wrpa\" is not a step; did you mean \"wrap\"?\n  12 | \t- do: [ wrpa ]\n     | \t       ^"},
		{&InputError{File: "größe.csv", Line: 1, Col: 4, What: "w", Do: "d", Snippet: "ä½\""}, "größe.csv:1:4: w; d", "größe.csv:1:4: w; d\n   1 | ä½\"\n     |    ^"},
	} {
		if c.e.Error() != c.says {
			t.Errorf("Error: %q, want %q", c.e.Error(), c.says)
		}
		if c.e.Show() != c.shows {
			t.Errorf("Show:\n%s\nwant\n%s", c.e.Show(), c.shows)
		}
	}
}

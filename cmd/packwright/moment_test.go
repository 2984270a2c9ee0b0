package main

import (
	"testing"

	"packwright/events"
)

func TestParseMoment(t *testing.T) {
	placed, err := events.ParseTime("2031-03-04T17:46:00+01:00")
	if err != nil {
		t.Fatal(err)
	}
	for _, c := range []struct{ text, want string }{
		{"17:41", "2031-03-04T17:41:00+01:00"},
		{"07:05:09", "2031-03-04T07:05:09+01:00"},
		{"2031-03-05T08:00", "2031-03-05T08:00:00+01:00"},
		{"2031-03-05 08:00:30", "2031-03-05T08:00:30+01:00"},
		{"2031-03-04T13:52:53Z", "2031-03-04T13:52:53Z"},
		{"2031-03-04T13:52:53.250Z", "2031-03-04T13:52:53.250Z"},
	} {
		got, err := parseMoment(c.text, placed)
		if err != nil || got.String() != c.want {
			t.Errorf("%s: %s %v, want %s", c.text, got, err, c.want)
		}
	}
	for _, text := range []string{"25:00", "noon", "2031-02-30T10:00", "17", "-1:00"} {
		if got, err := parseMoment(text, placed); exitOf(err) != exitInput {
			t.Errorf("%s: %s %v", text, got, err)
		}
	}
	if _, err := parseMoment("17:41", events.Time{}); exitOf(err) != exitInput {
		t.Errorf("an hour without a day: %v", err)
	}
	if got, err := parseMoment("2031-03-04T17:41", events.Time{}); err != nil || got.String() != "2031-03-04T17:41:00Z" {
		t.Errorf("a day without placements: %s %v", got, err)
	}
}

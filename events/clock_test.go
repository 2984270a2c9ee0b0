package events_test

import (
	"encoding/json"
	"testing"
	"time"

	"packwright/events"
)

// TestTimeRoundTrip takes the long way (package time) as the judge of the
// short one, for every day of eight years and some odd hours.
func TestTimeRoundTrip(t *testing.T) {
	start := time.Date(2027, 1, 1, 0, 0, 0, 0, time.UTC)
	for d := range 8 * 366 {
		for _, in := range []time.Duration{0, 23*time.Hour + 59*time.Minute + 59*time.Second, 13*time.Hour + 7*time.Millisecond, 5*time.Hour + 999*time.Millisecond} {
			std := start.AddDate(0, 0, d).Add(in)
			s := events.At(std).String()
			layout := "2006-01-02T15:04:05Z07:00"
			if std.Nanosecond() != 0 {
				layout = "2006-01-02T15:04:05.000Z07:00"
			}
			if want := std.Format(layout); s != want {
				t.Fatalf("%s written as %s", want, s)
			}
			back, err := events.ParseTime(s)
			if err != nil || !back.Std().Equal(std) {
				t.Fatalf("%s read as %s, %v", s, back, err)
			}
		}
	}
}

func TestParseTime(t *testing.T) {
	for in, want := range map[string]string{
		"2031-03-04T13:51:24Z":           "2031-03-04T13:51:24Z",
		"2031-03-04T13:51:24.000Z":       "2031-03-04T13:51:24Z",
		"2031-03-04T13:51:24.5Z":         "2031-03-04T13:51:24.500Z",
		"2031-03-04T13:51:24.123999999Z": "2031-03-04T13:51:24.123Z", // cut, not rounded
		"2031-03-04T15:51:24+02:00":      "2031-03-04T15:51:24+02:00",
		"2031-03-04T08:21:24.250-05:30":  "2031-03-04T08:21:24.250-05:30",
		"2032-02-29T00:00:00Z":           "2032-02-29T00:00:00Z",
		"1999-12-31T23:59:59Z":           "1999-12-31T23:59:59Z",
		"1969-07-20T20:17:40.001Z":       "1969-07-20T20:17:40.001Z",
	} {
		got, err := events.ParseTime(in)
		if err != nil || got.String() != want {
			t.Errorf("%s read as %s, %v; want %s", in, got, err, want)
		}
	}
	for _, bad := range []string{"", "now", "2031-03-04", "2031-03-04T13:51:24", "2031-02-29T00:00:00Z", "2031-13-04T13:51:24Z", "2031-03-04T24:00:00Z", "2031-03-04T13:60:24Z", "2031-03-04T13:51:61Z", "2031-03-04T13:51:2 Z", "2031-03-04T1x:51:24Z"} {
		if got, err := events.ParseTime(bad); err == nil {
			t.Errorf("%q read as %s", bad, got)
		}
	}
}

// TestTimeOrder: moments compare by instant, whatever their offsets; the zero
// Time means that nothing was told.
func TestTimeOrder(t *testing.T) {
	noon, err := events.ParseTime("2031-03-04T12:00:00Z")
	if err != nil {
		t.Fatal(err)
	}
	same, err := events.ParseTime("2031-03-04T14:00:00+02:00")
	if err != nil {
		t.Fatal(err)
	}
	later := noon.Add(90 * time.Second)
	var none events.Time
	switch {
	case noon.Before(same) || noon.After(same) || noon.Sub(same) != 0:
		t.Error("the same instant with another offset is another moment")
	case !noon.Before(later) || !later.After(noon) || later.Sub(noon) != 90*time.Second:
		t.Error("90 s later")
	case events.Max(noon, later) != later || events.Max(later, noon) != later || events.Max(none, noon) != noon || events.Max(noon, none) != noon:
		t.Error("Max")
	case !none.IsZero() || noon.IsZero() || none.String() != "" || !none.Std().IsZero() || !events.At(time.Time{}).IsZero():
		t.Error("the zero Time")
	case noon.Clock() != "12:00:00" || same.Clock() != "14:00:00":
		t.Error("Clock reads as the floor's clock did")
	}
}

func TestTimeJSON(t *testing.T) {
	type holder struct {
		A events.Time `json:"a"`
		B events.Time `json:"b,omitzero"`
	}
	var h holder
	if err := json.Unmarshal([]byte(`{"a":"2031-03-04T13:51:24.007Z","b":null}`), &h); err != nil {
		t.Fatal(err)
	}
	out, err := json.Marshal(h)
	if err != nil || string(out) != `{"a":"2031-03-04T13:51:24.007Z"}` {
		t.Errorf("%s, %v", out, err)
	}
	if err := json.Unmarshal([]byte(`{"a":12}`), &h); err == nil {
		t.Error("a number was read as a moment")
	}
}

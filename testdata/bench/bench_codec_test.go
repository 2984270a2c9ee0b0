package bench

import (
	stdjson "encoding/json"
	"reflect"
	"testing"

	"github.com/bytedance/sonic"
	goccy "github.com/goccy/go-json"

	"packwright/events"
	"packwright/prep"
)

// envelope is an event's line as a plain struct, for codecs that know nothing of it.
type envelope struct {
	Type     events.Type        `json:"type"`
	Cause    string             `json:"cause,omitempty"`
	Sum      string             `json:"sum,omitempty"`
	At       events.Time        `json:"at,omitzero"`
	Recorded events.Time        `json:"recorded"`
	Basis    events.Basis       `json:"basis,omitempty"`
	Badge    string             `json:"badge,omitempty"`
	PlanRev  int                `json:"plan_rev,omitempty"`
	RulesRev int                `json:"rules_rev,omitempty"`
	Data     stdjson.RawMessage `json:"data"`
}

// common are the commonest events of a day.
func common(tb testing.TB) (list []events.Event) {
	tb.Helper()
	at, err := events.ParseTime("2031-03-04T13:51:24Z")
	if err != nil {
		tb.Fatal(err)
	}
	for _, d := range []events.Data{
		&events.UnitPlaced{Carton: "C-02", Item: "MG3", Lot: "L-02", Run: "R-07", From: "T-27", Q: 1, Marks: prep.Marks{19}},
		&events.UnitPlaced{Carton: "C-05", Item: "TRY", Lot: "L-03", Run: "R-04", From: "T-24", Q: 1},
		&events.UnitsPrepped{Run: "R-07", Lot: "L-02", Item: "MG3", From: "T-02", To: "T-27", Q: 1, Marks: prep.Marks{19}, Recipe: "window figure", Pair: true},
		&events.StepChecked{Run: "R-07", Step: "pair-check", Mark: 19, OK: true, Value: "MG3"},
		&events.CountEntered{Carton: "C-02", By: "ife", Method: "hand", Lines: []events.CountLine{{Item: "MG3", Q: 11}}, Total: 11, Attempt: 1},
		&events.CartonDispatched{Carton: "C-02", Load: "LD-1", Seal: "000412"},
	} {
		list = append(list, events.Event{Cause: "ST-2/1/123", Sum: "0a1b2c3d", At: at, Recorded: at.Add(120_000_000), Basis: events.Scan, Station: "ST-2",
			Badge: "ife", PlanRev: 2, RulesRev: 5, Data: d})
	}
	return list
}

// codec is a general JSON codec.
type codec struct {
	name      string
	marshal   func(any) ([]byte, error)
	unmarshal func([]byte, any) error
}

var codecs = []codec{
	{"encoding-json", stdjson.Marshal, stdjson.Unmarshal},
	{"goccy", goccy.Marshal, goccy.Unmarshal},
	{"sonic", sonic.ConfigStd.Marshal, sonic.ConfigStd.Unmarshal},
}

func (c codec) encode(e *events.Event) ([]byte, error) {
	body, err := c.marshal(e.Data)
	if err != nil {
		return nil, err
	}
	return c.marshal(&envelope{e.Type(), e.Cause, e.Sum, e.At, e.Recorded, "", e.Badge, e.PlanRev, e.RulesRev, body})
}

func (c codec) decode(line []byte) (events.Data, error) {
	var w envelope
	if err := c.unmarshal(line, &w); err != nil {
		return nil, err
	}
	d := events.Blank(w.Type)
	return d, c.unmarshal(w.Data, d)
}

// TestCodecsAgree: all read each other's lines, and write the same.
func TestCodecsAgree(t *testing.T) {
	for _, e := range common(t) {
		own, err := events.Encode(nil, &e)
		if err != nil {
			t.Fatal(err)
		}
		for _, c := range codecs {
			line, err := c.encode(&e)
			if err != nil || string(line) != string(own) {
				t.Errorf("%s writes %s, %v\nwhere ours is %s", c.name, line, err, own)
			}
			if d, err := c.decode(own); err != nil || !reflect.DeepEqual(d, e.Data) {
				t.Errorf("%s reads %+v, %v", c.name, d, err)
			}
		}
	}
}

// BenchmarkCodec sets the codecs side by side over the commonest events; one
// operation is one event.
func BenchmarkCodec(b *testing.B) {
	list := common(b)
	var lines [][]byte
	for i := range list {
		l, err := events.Encode(nil, &list[i])
		if err != nil {
			b.Fatal(err)
		}
		lines = append(lines, l)
	}
	each := func(name string, step func(i int) error) {
		b.Run(name, func(b *testing.B) {
			b.ReportAllocs()
			for i := 0; b.Loop(); i++ {
				if err := step(i % len(list)); err != nil {
					b.Fatal(err)
				}
			}
		})
	}
	buf := make([]byte, 0, 512)
	for _, c := range codecs {
		each("encode/"+c.name, func(i int) error { _, err := c.encode(&list[i]); return err })
	}
	each("encode/ours", func(i int) error { _, err := events.Encode(buf, &list[i]); return err })
	for _, c := range codecs {
		each("decode/"+c.name, func(i int) error { _, err := c.decode(lines[i]); return err })
	}
	each("decode/ours", func(i int) error { _, err := events.Decode(lines[i]); return err })
}

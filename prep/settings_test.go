package prep

import (
	"strings"
	"testing"
)

func TestReadSettings(t *testing.T) {
	type house struct {
		name   string
		open   bool
		n      int
		mass   Mass
		side   Length
		limits map[string]*Mass
	}
	read := func(src string) (house, error) {
		h := house{n: 7, limits: map[string]*Mass{}}
		err := ReadSettings("house.yaml", []byte(src), []Setting{
			{"name", &h.name},
			{"open", &h.open},
			{"n", &h.n},
			{"box", []Setting{{"mass", &h.mass}, {"side", &h.side}}},
			{"limits", func(name string) []Setting {
				h.limits[name] = new(Mass)
				return []Setting{{"most", h.limits[name]}}
			}},
		}, func(fail func(path, what, do string)) {
			for name, m := range h.limits {
				if *m == 0 {
					fail("limits/"+name+"/most", "a limit of nothing", "leave it out")
				}
			}
		})
		return h, err
	}
	h, err := read("name: yard\nopen: yes\nbox:\n  mass: 22.5 kg\n  side: 63 cm\nlimits:\n  north:\n    most: 2 kg\n")
	if err != nil || h.name != "yard" || !h.open || h.n != 7 || h.mass != 22_500*Gram || h.side != 630*MM || *h.limits["north"] != 2_000*Gram {
		t.Errorf("read %+v, %v", h, err)
	}
	for src, want := range map[string]string{
		"opne: yes\n":                            `house.yaml:1:1: "opne" is not something this file has; did you mean open?`,
		"open: true\n":                           `house.yaml:1:7: "true" is not yes or no; did you mean yes?`,
		"n: many\n":                              `house.yaml:1:4: "many" is not a whole number`,
		"box:\n  mass: 22.5\n":                   `house.yaml:2:9: "22.5" has no unit`,
		"box: 5\n":                               `house.yaml:1:6: names and values are wanted here`,
		"limits:\n  north:\n    most: 0 kg\n":    `house.yaml:3:11: a limit of nothing; leave it out`,
		"limits:\n  north:\n    moist: 1 kg\n":   `house.yaml:3:5: "moist" is not something limits has; did you mean most?`,
		"n: 1\nn: 2\n":                           `house.yaml:2:1: "n" is written twice`,
		"open: maybe\nname: yard\nbix: {a: 1}\n": `house.yaml:3:1: "bix" is not something this file has; did you mean box?`,
	} {
		_, err := read(src)
		if err == nil || !strings.Contains(err.Error(), want) {
			t.Errorf("%q: %v, want %s", src, err, want)
		}
	}
}

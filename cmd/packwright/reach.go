package main

import (
	"net/url"
	"os"
	"strings"

	"packwright/cmd/packwright/door"
	"packwright/prep"
)

// web gives the hub at --url.
func (d *desk) web() (*door.WebClient, error) {
	u, err := url.Parse(d.URL)
	if err != nil || u.Scheme != "http" && u.Scheme != "https" || u.Host == "" {
		return nil, prep.Input("--url "+d.URL+" is no address of a hub", "write it like http://127.0.0.1:8420")
	}
	return &door.WebClient{URL: d.URL, Patience: door.Patience}, nil
}

// bus gives the floor's bus at an address, or at the one that a file names.
func (d *desk) bus(address, floor string) (door.Floor, error) {
	if !strings.Contains(address, "://") {
		b, err := os.ReadFile(address)
		if err != nil {
			return nil, err
		}
		address = strings.TrimSpace(string(b))
	}
	if floor == "" {
		return nil, prep.Input("--bus does not say which floor", "name it with --floor")
	}
	return door.DialBus(address, floor, door.Patience)
}

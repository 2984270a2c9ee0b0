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
	address, err := addressOr(d.URL)
	if err != nil {
		return nil, err
	}
	u, err := url.Parse(address)
	if err != nil || u.Scheme != "http" && u.Scheme != "https" || u.Host == "" {
		return nil, prep.Input("--url "+d.URL+" is no address of a hub", "write it like http://127.0.0.1:8420")
	}
	return &door.WebClient{URL: address, Patience: door.Patience}, nil
}

// bus gives the floor's bus at an address, or at the one that a file names.
func (d *desk) bus(address, floor string) (door.Floor, error) {
	address, err := addressOr(address)
	if err != nil {
		return nil, err
	}
	if floor == "" {
		return nil, prep.Input("--bus does not say which floor", "name it with --floor")
	}
	client, err := door.DialBus(address, floor, door.Patience)
	if err != nil {
		return nil, err
	}
	return door.NewWitness(client), nil
}

// addressOr gives an address, or the one that the named file holds.
func addressOr(name string) (string, error) {
	if strings.Contains(name, "://") {
		return name, nil
	}
	b, err := os.ReadFile(name)
	return strings.TrimSpace(string(b)), err
}

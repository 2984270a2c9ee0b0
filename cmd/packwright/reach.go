package main

import (
	"net/http"
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
	trust, err := trusting(d.CA)
	if err != nil {
		return nil, err
	}
	client := &http.Client{Transport: &http.Transport{TLSClientConfig: trust, Proxy: http.ProxyFromEnvironment, MaxIdleConnsPerHost: 64}}
	return &door.WebClient{URL: address, Patience: door.Patience, Client: client}, nil
}

// bus gives the floor's bus at an address, or at the one that a file names.
func (d *desk) bus(address, floor string, key door.BusKey) (door.Floor, error) {
	address, err := addressOr(address)
	if err != nil {
		return nil, err
	}
	if floor == "" {
		return nil, prep.Input("--bus does not say which floor", "name it with --floor")
	}
	if key.Seed != "" && key.Station == "" {
		return nil, prep.Input("--key does not say whose it is", "name the bench with --station")
	}
	if key.Trust, err = trusting(d.CA); err != nil {
		return nil, err
	}
	client, err := door.DialBusAs(address, floor, key, door.Patience)
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

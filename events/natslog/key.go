package natslog

import (
	"bytes"

	"github.com/nats-io/nkeys"
)

// MakeKey makes a key for [Config.Keys]: the seed is the bench's secret, the
// public half the hub's to know.
func MakeKey() (seed []byte, public string, err error) {
	pair, err := nkeys.CreateUser()
	if err != nil {
		return nil, "", err
	}
	defer pair.Wipe() // the seed that it gives, too
	if seed, err = pair.Seed(); err != nil {
		return nil, "", err
	}
	seed = bytes.Clone(seed)
	public, err = pair.PublicKey()
	return seed, public, err
}

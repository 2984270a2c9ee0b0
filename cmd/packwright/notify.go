package main

import (
	"net"
	"os"
)

// notifySystemd tells whoever started this process that it is ready, or ends:
// one datagram to the socket that NOTIFY_SOCKET names (sd_notify(3)). Nobody
// listens when there is none; that it was not heard stops nothing.
func notifySystemd(state string) {
	to := os.Getenv("NOTIFY_SOCKET")
	if to == "" {
		return
	}
	if to[0] == '@' { // an abstract socket
		to = "\x00" + to[1:]
	}
	c, err := net.DialUnix("unixgram", nil, &net.UnixAddr{Name: to, Net: "unixgram"})
	if err != nil {
		return
	}
	defer c.Close()
	_, _ = c.Write([]byte(state))
}

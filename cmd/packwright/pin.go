package main

import (
	"context"
	"crypto/rand"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"math/big"
	"net/http"
	"strings"
	"time"

	"packwright/cmd/packwright/door"
	"packwright/cmd/packwright/entry"
	"packwright/prep"
	"packwright/workflow"
)

// pinCommand gives a badge the PIN with which it signs in at the pages first. It
// is asked to choose its own then. Who may run it is whoever may read the floor's
// directory.
type pinCommand struct {
	Badge string `arg:"" help:"Whose."`
	Stdin bool   `help:"Read the PIN from standard input instead of drawing one."`
}

// pinGiven is a PIN on its way to the hub.
type pinGiven struct {
	Badge string `json:"badge"`
	PIN   string `json:"pin"`
	Once  bool   `json:"once"`
}

func (c *pinCommand) Run(d *desk) error {
	digits, err := c.digits(d.in)
	if err != nil {
		return err
	}
	if err := givePIN(d, pinGiven{c.Badge, digits, true}); err != nil {
		return err
	}
	return d.show(map[string]string{"badge": c.Badge, "pin": digits}, func(w io.Writer) {
		fmt.Fprintf(w, "%s signs in with %s once, and chooses a PIN then. It is not shown again.\n", c.Badge, digits)
	})
}

func (c *pinCommand) digits(in io.Reader) (string, error) {
	if c.Stdin {
		b, err := io.ReadAll(io.LimitReader(in, 64))
		return strings.TrimSpace(string(b)), err
	}
	for {
		n, err := rand.Int(rand.Reader, big.NewInt(1_000_000))
		if err != nil {
			return "", err
		}
		if s := fmt.Sprintf("%06d", n); strings.Count(s, s[:1]) < len(s) {
			return s, nil
		}
	}
}

// givePIN asks the hub, which holds the book open; without one the book is
// written here.
func givePIN(d *desk, p pinGiven) error {
	if d.URL != "" {
		web, err := d.web()
		if err != nil {
			return err
		}
		return web.Post(d.ctx, "/pins", p)
	}
	h, err := d.open("packwright pin")
	if err != nil {
		return err
	}
	book, err := entry.Open(h.place.entry(), func(b []byte) error { return writeWhole(h.place.entry(), b) }, time.Now)
	if err == nil {
		err = h.setPIN(d.ctx, book, p)
	}
	return errors.Join(err, h.Close())
}

func (h *hub) setPIN(ctx context.Context, book *entry.Book, p pinGiven) error {
	known := false
	if err := h.writer.View(ctx, func(f *workflow.Floor) { b := f.Badges[p.Badge]; known = b != nil && !b.Retired }); err != nil {
		return err
	}
	if !known {
		return nothing("badge "+p.Badge+" is not enrolled", "enrol it first")
	}
	return book.SetPIN(p.Badge, p.PIN, p.Once)
}

// pinRoute takes a PIN from this machine's own commands.
func (h *hub) pinRoute() door.Route {
	return door.Route{Pattern: "POST /pins", About: "give a badge a PIN, as {badge, pin, once}", May: door.House, Handle: func(w http.ResponseWriter, r *http.Request) {
		var p pinGiven
		if err := json.NewDecoder(http.MaxBytesReader(w, r.Body, 4<<10)).Decode(&p); err != nil {
			door.WriteTrouble(w, prep.Input("the PIN cannot be read: "+err.Error(), `send {"badge":"…","pin":"…"}`))
			return
		}
		if err := h.setPIN(r.Context(), h.entry, p); err != nil {
			writeUnknown(w, err)
			return
		}
		door.WriteJSON(w, http.StatusOK, map[string]bool{"kept": true})
	}}
}

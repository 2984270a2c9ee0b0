package main

import (
	"bufio"
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"os"

	"packwright/cmd/packwright/door"
	"packwright/prep"
	"packwright/workflow"
)

// doCommand gives commands as JSON lines: each line is answered by one line
// before the next is given. A line that cannot be read and one that is refused
// are answered and passed over; when the floor is out of reach it stops there,
// and what follows was not given. The exit code is that of the worst answer.
type doCommand struct {
	File    string `arg:"" optional:"" default:"-" help:"The commands, a JSON object a line; - is standard input (${default})."`
	Bus     string `env:"PACKWRIGHT_BUS" placeholder:"URL" help:"Ask over the bus there; the name of a file that holds the URL will do."`
	Seed    string `name:"key" env:"PACKWRIGHT_BENCH_KEY" type:"path" placeholder:"FILE" help:"The bench's own key for --bus (bench-key); --station says whose."`
	Floor   string `env:"PACKWRIGHT_FLOOR" placeholder:"FLOOR" help:"Which floor, with --bus."`
	Station string `env:"PACKWRIGHT_STATION" placeholder:"STATION" help:"Number commands that come without an id, as this station's. They are new ones each time."`
}

func (c *doCommand) Run(d *desk) error {
	in := d.in
	if c.File != "-" {
		f, err := os.Open(c.File)
		if err != nil {
			return err
		}
		defer f.Close()
		in = f
	}
	floor, err := c.floor(d)
	if err != nil {
		return err
	}
	err = c.lines(d, in, floor)
	return worse(err, floor.Close())
}

func (c *doCommand) floor(d *desk) (door.Floor, error) {
	if c.Bus == "" {
		return d.reach()
	}
	if d.URL != "" {
		return nil, prep.Input("--bus and --url name two doors", "give one of them")
	}
	return d.bus(c.Bus, c.Floor, door.BusKey{Station: c.Station, Seed: c.Seed})
}

// lines answers every line.
func (c *doCommand) lines(d *desk, in io.Reader, floor door.Floor) (worst error) {
	scan := bufio.NewScanner(in)
	scan.Buffer(nil, door.MaxCommand+1)
	enc := json.NewEncoder(d.out)
	epoch := newEpoch("do")
	for n := 1; scan.Scan(); n++ {
		if len(bytes.TrimSpace(scan.Bytes())) == 0 {
			continue
		}
		a := c.line(d, scan.Bytes(), n, epoch, floor)
		if err := enc.Encode(&a); err != nil {
			return err
		}
		if err := a.Err(); err != nil {
			if !a.Answered() {
				return fmt.Errorf("line %d: %w", n, err)
			}
			worst = worse(worst, lineError(c.File, n, err))
		}
		if d.ctx.Err() != nil {
			return d.ctx.Err()
		}
	}
	if err := scan.Err(); err != nil {
		return worse(worst, err)
	}
	return worst
}

// lineError is what stays of a line's error when its answer has been written:
// the exit code.
func lineError(file string, n int, err error) error {
	var no *workflow.Refusal
	if errors.As(err, &no) && exitOf(err) == exitNo {
		return errTold
	}
	var in *prep.InputError
	if errors.As(err, &in) {
		return &prep.InputError{File: file, Line: n, Col: in.Col, What: in.What, Do: in.Do}
	}
	return err
}

func (c *doCommand) line(d *desk, line []byte, n int, epoch string, floor door.Floor) door.Answer {
	if c.Station != "" {
		line = numbered(line, fmt.Sprintf("%s/%s/%d", c.Station, epoch, n))
	}
	cmd, err := door.ParseCommand(line)
	if err != nil {
		return door.Troubled(door.IDOf(line), err)
	}
	return floor.Ask(d.ctx, cmd)
}

// numbered puts an id into a command that has none.
func numbered(line []byte, id string) []byte {
	var has struct {
		ID *string `json:"id"`
	}
	if json.Unmarshal(line, &has) != nil || has.ID != nil {
		return line
	}
	rest := bytes.TrimPrefix(bytes.TrimSpace(line), []byte{'{'})
	head, _ := json.Marshal(id)
	out := append([]byte(`{"id":`), head...)
	if len(bytes.TrimSpace(rest)) > 1 {
		out = append(out, ',')
	}
	return append(out, rest...)
}

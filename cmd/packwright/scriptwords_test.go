package main

import (
	"context"
	"os"
	"os/exec"
	"strconv"
	"time"

	"github.com/rogpeppe/go-internal/testscript"
)

// exits CODE COMMAND … runs a command of the script and wants that exit code.
func exits(ts *testscript.TestScript, neg bool, args []string) {
	if neg || len(args) < 2 {
		ts.Fatalf("usage: exits CODE COMMAND [ARGS…]")
	}
	want, err := strconv.Atoi(args[0])
	ts.Check(err)
	err = ts.Exec(args[1], args[2:]...)
	got := 0
	if exit, ok := err.(*exec.ExitError); ok {
		got = exit.ExitCode()
	} else if err != nil {
		ts.Fatalf("%v", err)
	}
	if got != want {
		ts.Fatalf("exit code %d, want %d", got, want)
	}
}

// waitfor FILE waits until a file is there, for a hub in the background to be open.
func waitFor(ts *testscript.TestScript, neg bool, args []string) {
	if neg || len(args) != 1 {
		ts.Fatalf("usage: waitfor FILE")
	}
	ctx, cancel := context.WithTimeout(context.Background(), 20*time.Second)
	defer cancel()
	for ctx.Err() == nil {
		if len(readable(ts.MkAbs(args[0]))) > 0 {
			return
		}
		time.Sleep(20 * time.Millisecond)
	}
	ts.Fatalf("%s did not appear", args[0])
}

// readable gives a file's bytes, none while it is not there.
func readable(name string) []byte {
	b, err := os.ReadFile(name)
	if err != nil {
		return nil
	}
	return b
}

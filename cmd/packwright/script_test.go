package main

import (
	"os"
	"path/filepath"
	"runtime"
	"testing"

	"github.com/rogpeppe/go-internal/testscript"
)

// asProgram makes the test binary be the program itself: tests start benches and
// hubs as processes of their own.
const asProgram = "PACKWRIGHT_TEST_AS_PROGRAM"

func TestMain(m *testing.M) {
	if os.Getenv(asProgram) != "" {
		main()
	}
	if dir := os.Getenv(cutOff); dir != "" {
		os.Exit(packUntilCut(dir))
	}
	testscript.Main(apartFromTheUser{m}, map[string]func(){"packwright": main})
}

// apartFromTheUser runs the tests with a configuration directory of their own:
// founding a floor makes a key there.
type apartFromTheUser struct{ *testing.M }

func (m apartFromTheUser) Run() int {
	dir, err := os.MkdirTemp("", "packwright-config-")
	if err != nil {
		panic(err)
	}
	defer os.RemoveAll(dir)
	name := "XDG_CONFIG_HOME"
	switch runtime.GOOS {
	case "windows":
		name = "AppData"
	case "darwin", "ios":
		name = "HOME"
	}
	if err := os.Setenv(name, dir); err != nil {
		panic(err)
	}
	return m.M.Run()
}

// TestScript plays the command-line sessions of testdata/script. In each,
// $DEMO holds the demo's files, $BOOKS rulebooks that an owner broke, and the
// floor's directory is $WORK/floor.
func TestScript(t *testing.T) {
	demo, err := filepath.Abs(filepath.Join(root, "testdata", "demo"))
	if err != nil {
		t.Fatal(err)
	}
	books, err := filepath.Abs(filepath.Join(root, "prep", "testdata", "rulebook"))
	if err != nil {
		t.Fatal(err)
	}
	testscript.Run(t, testscript.Params{
		Dir:           "testdata/script",
		UpdateScripts: os.Getenv("PACKWRIGHT_UPDATE_SCRIPTS") != "",
		Setup: func(env *testscript.Env) error {
			env.Setenv("PACKWRIGHT_DATA", filepath.Join(env.WorkDir, "floor"))
			env.Setenv("PACKWRIGHT_LOG", "warn")
			env.Setenv("XDG_CONFIG_HOME", filepath.Join(env.WorkDir, "config"))
			env.Setenv("DEMO", demo)
			env.Setenv("BOOKS", books)
			return nil
		},
		Cmds: map[string]func(*testscript.TestScript, bool, []string){"exits": exits, "waitfor": waitFor, "certificate": certificate, "lanes": lanes, "damage": damage, "heads": heads,
			"onebyte": oneByte, "cutoff": cutOffFrames, "paper": paper},
	})
}

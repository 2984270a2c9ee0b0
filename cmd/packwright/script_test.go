package main

import (
	"os"
	"path/filepath"
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
	testscript.Main(m, map[string]func(){"packwright": main})
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
			env.Setenv("DEMO", demo)
			env.Setenv("BOOKS", books)
			return nil
		},
		Cmds: map[string]func(*testscript.TestScript, bool, []string){"exits": exits, "waitfor": waitFor},
	})
}

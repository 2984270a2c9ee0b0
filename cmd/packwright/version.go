package main

import (
	"fmt"
	"io"
	"runtime"
	"runtime/debug"
)

// versionCommand says what the program was built from.
type versionCommand struct{}

type built struct {
	Module   string `json:"module"`
	Version  string `json:"version"`
	Revision string `json:"revision,omitempty"`
	Time     string `json:"time,omitempty"`
	Changed  bool   `json:"changed,omitempty"` // files differed from the revision
	Go       string `json:"go"`
	On       string `json:"on"`
}

func (versionCommand) Run(d *desk) error {
	b := built{Module: "packwright", Version: "unknown", Go: runtime.Version(), On: runtime.GOOS + "/" + runtime.GOARCH}
	if info, ok := debug.ReadBuildInfo(); ok {
		b.Module, b.Version = info.Main.Path, info.Main.Version
		for _, s := range info.Settings {
			switch s.Key {
			case "vcs.revision":
				b.Revision = s.Value
			case "vcs.time":
				b.Time = s.Value
			case "vcs.modified":
				b.Changed = s.Value == "true"
			}
		}
	}
	return d.show(b, func(w io.Writer) {
		fmt.Fprintf(w, "%s %s, %s, %s\n", b.Module, b.Version, b.Go, b.On)
		if b.Revision != "" {
			fmt.Fprintf(w, "from %s of %s, changed since: %t\n", b.Revision, b.Time, b.Changed)
		}
	})
}

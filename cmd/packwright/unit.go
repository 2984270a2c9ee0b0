package main

import (
	_ "embed"
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"text/template"
)

//go:embed packwright.service
var unitText string

// unit prints a systemd unit that runs this hub with these settings. What it
// refuses the hub is explained in its own comments.
//
//	packwright serve --data /srv/floor --systemd > /etc/systemd/system/packwright.service
func (c *serveCommand) unit(d *desk) error {
	program, err := os.Executable()
	if err != nil {
		return err
	}
	data, err := filepath.Abs(d.Data)
	if err != nil {
		return err
	}
	about, err := place(data).founded()
	if err != nil {
		return err
	}
	t, err := template.New("unit").Funcs(template.FuncMap{"word": unitWord, "path": unitPath}).Parse(unitText)
	if err != nil {
		return err
	}
	args := []string{program, "serve", "--data", data, "--listen", c.Listen}
	for _, x := range []struct{ flag, value string }{{"--bus", c.Bus}, {"--tls-cert", c.Cert}, {"--tls-key", c.certified.Key}, {"--pprof", c.Pprof}} {
		if x.value != "" {
			args = append(args, x.flag, x.value)
		}
	}
	if c.Printer != "" {
		args = append(args, "--printer", c.Printer)
	}
	if c.LAN {
		args = append(args, "--lan")
	}
	for _, name := range c.Name {
		args = append(args, "--name", name)
	}
	for i := range args {
		args[i] = unitWord(args[i])
	}
	return t.Execute(d.out, map[string]any{"Floor": about.Floor, "Data": data, "Key": about.KeyFile, "Start": strings.Join(args, " "), "Stop": int(grace.Seconds()) * 2})
}

// unitWord writes a word of a command line as systemd reads it.
func unitWord(s string) string {
	s = strings.NewReplacer("%", "%%", "$", "$$").Replace(s)
	if strings.ContainsAny(s, " \t\"'\\") {
		return strconv.Quote(s)
	}
	return s
}

// unitPath writes a path of a setting.
func unitPath(s string) string {
	return strings.ReplaceAll(strings.ReplaceAll(s, "%", "%%"), " ", `\x20`)
}

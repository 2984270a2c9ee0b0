package main

import "packwright/cmd/packwright/printing"

// withPrinter is the printer of a hub's pages.
type withPrinter struct {
	Printer string `env:"PACKWRIGHT_HUB_PRINTER" placeholder:"NAME" help:"Let pages print on this printer by the system's lp; - is the system's own choice. Without it pages only show PDFs."`
}

func (w withPrinter) printer() *printing.Printer {
	switch w.Printer {
	case "":
		return nil
	case "-":
		return &printing.Printer{}
	}
	return &printing.Printer{Name: w.Printer}
}

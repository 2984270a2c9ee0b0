package labeltest

import (
	"path/filepath"
	"testing"
)

// PDF gives what readers find on the first page of a PDF at a printer's dots, as
// "KIND:text", sorted.
func PDF(t testing.TB, pdf []byte, dpi int) []string {
	t.Helper()
	dir := t.TempDir()
	file := filepath.Join(dir, "page.png")
	write(t, file, rendered(t, dir, Page{Name: "page", DPI: dpi, PDF: pdf, Number: 1}, 1))
	return readAll(t, []sight{{file, []string{"DM:"}}})[file]
}

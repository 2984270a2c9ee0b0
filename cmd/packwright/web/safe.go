package web

import (
	"io/fs"
	"mime"
	"net/http"
	"path"
)

// policy lets a page load only what this hub serves; nothing inline, no frame
// around it, no form to elsewhere.
const policy = "default-src 'none'; style-src 'self'; script-src 'self'; worker-src 'self'; connect-src 'self'; img-src 'self'; form-action 'self'; base-uri 'none'; frame-ancestors 'none'"

// safe sets what every answer of a page carries.
func safe(h http.HandlerFunc) http.HandlerFunc {
	return func(w http.ResponseWriter, r *http.Request) {
		head := w.Header()
		head.Set("Content-Security-Policy", policy)
		head.Set("X-Content-Type-Options", "nosniff")
		head.Set("Referrer-Policy", "same-origin")
		head.Set("Cross-Origin-Opener-Policy", "same-origin")
		head.Set("Cross-Origin-Resource-Policy", "same-origin")
		head.Set("Cache-Control", "no-store")
		h(w, r)
	}
}

// static gives a file that is part of the program.
func (p *Pages) static(w http.ResponseWriter, r *http.Request) {
	name := r.PathValue("file")
	b, err := fs.ReadFile(files, path.Join("static", path.Base(name)))
	if err != nil {
		http.NotFound(w, r)
		return
	}
	w.Header().Set("Content-Type", mime.TypeByExtension(path.Ext(name)))
	w.Header().Set("Cache-Control", "no-cache")
	_, _ = w.Write(b) // the asker may have gone
}

package desk

import (
	"crypto/subtle"
	"net/http"
	"path"
	"strings"
)

// Content-Security-Policy (W3C, CSP Level 3) of the page and of reports shown in
// it. A report stands in a frame of its own origin, runs the script that it
// carries, and reaches nothing.
const (
	pagePolicy = "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self' data: blob:; connect-src 'self'; " +
		"frame-src 'self'; base-uri 'none'; form-action 'none'; frame-ancestors 'none'"
	reportPolicy = "sandbox allow-scripts allow-downloads; default-src 'none'; script-src 'unsafe-inline' data:; style-src 'unsafe-inline'; " +
		"img-src data: blob:; base-uri 'none'; form-action 'none'; frame-ancestors 'self'"
)

// kinds are the media types of what is served.
var kinds = map[string]string{
	".html": "text/html; charset=utf-8", ".js": "text/javascript; charset=utf-8", ".css": "text/css; charset=utf-8",
	".svg": "image/svg+xml", ".png": "image/png", ".pdf": "application/pdf", ".txt": "text/plain; charset=utf-8",
	".json": "application/json", ".geojson": "application/geo+json", ".csv": "text/csv; charset=utf-8",
	".kml": "application/octet-stream", ".kmz": "application/octet-stream", ".tif": "image/tiff", // to be saved, whatever the computer would open them with
}

func extension(name string) string { return strings.ToLower(path.Ext(name)) }

// guard refuses what does not come from the page itself. A name that somebody
// had point to this computer (DNS rebinding) does not pass as its host, and a
// page of another site that sends something here has another origin, as
// browsers tell (Fetch standard, "Origin" header; W3C, Fetch Metadata).
func guard(host string, next http.Handler) http.Handler {
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		h := w.Header()
		h.Set("Content-Security-Policy", "default-src 'none'; frame-ancestors 'none'")
		h.Set("X-Content-Type-Options", "nosniff")
		h.Set("Referrer-Policy", "no-referrer")
		h.Set("Cross-Origin-Opener-Policy", "same-origin")
		h.Set("Cross-Origin-Resource-Policy", "same-origin")
		h.Set("Cache-Control", "no-store")
		site := r.Header.Get("Sec-Fetch-Site")
		switch {
		case r.Host != host:
			http.Error(w, "This is not the address of the desk.", http.StatusMisdirectedRequest)
		case r.Method != http.MethodGet && r.Method != http.MethodPost:
			http.Error(w, "The desk reads and posts.", http.StatusMethodNotAllowed)
		case r.Method == http.MethodPost && r.Header.Get("Origin") != "http://"+host,
			site != "" && site != "same-origin" && (site != "none" || r.Method == http.MethodPost):
			http.Error(w, "This comes from another page.", http.StatusForbidden)
		default:
			next.ServeHTTP(w, r)
		}
	})
}

func equal(a, b string) bool { return subtle.ConstantTimeCompare([]byte(a), []byte(b)) == 1 }

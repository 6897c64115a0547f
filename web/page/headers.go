package page

import (
	"fmt"
	"net/http"
	"regexp"
)

// contentPolicy lets pages use only what the program itself serves, and no inline script or style. Its gap is for
// socketOrigins.
const contentPolicy = "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self' data: blob:; " +
	"font-src 'self'; connect-src 'self'%s; media-src 'self' blob:; worker-src 'self'; manifest-src 'self'; " +
	"object-src 'none'; form-action 'self'; base-uri 'none'; frame-ancestors 'none'"

// SecureHeaders sets what every answer carries, pages and errors alike. With strict set browsers are told to accept
// nothing but TLS from this name for a year (RFC 6797).
func SecureHeaders(strict bool) func(http.Handler) http.Handler {
	return func(next http.Handler) http.Handler { return withHeaders(next, strict) }
}

func withHeaders(next http.Handler, strict bool) http.Handler {
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		h := w.Header()
		h.Set("Content-Security-Policy", fmt.Sprintf(contentPolicy, SocketOrigins(r.Host)))
		h.Set("X-Content-Type-Options", "nosniff")
		h.Set("Referrer-Policy", "same-origin")
		h.Set("Cross-Origin-Opener-Policy", "same-origin")
		h.Set("Cross-Origin-Resource-Policy", "same-origin")
		h.Set("Permissions-Policy", "camera=(self), microphone=(self), geolocation=(), payment=()")
		if strict && r.TLS != nil {
			h.Set("Strict-Transport-Security", "max-age=31536000")
		}
		next.ServeHTTP(w, r)
	})
}

// Private keeps pages of the record out of every cache.
func Private(next http.Handler) http.Handler {
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		w.Header().Set("Cache-Control", "no-store")
		next.ServeHTTP(w, r)
	})
}

// plainHost is a name or address with or without a port, and nothing that could end a directive.
var plainHost = regexp.MustCompile(`^([a-zA-Z0-9.-]+|\[[0-9a-fA-F:.]+\])(:[0-9]{1,5})?$`)

// SocketOrigins names the program's own sockets for connect-src. By CSP Level 3 'self' covers them; Safari before 15.4
// held to Level 2, where it does not.
func SocketOrigins(host string) string {
	if !plainHost.MatchString(host) {
		return ""
	}
	return " ws://" + host + " wss://" + host
}

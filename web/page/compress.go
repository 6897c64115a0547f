package page

import (
	"bytes"
	"net/http"

	"github.com/klauspost/compress/gzhttp"
)

// Compress sends pages and tables compressed to browsers that take it. Photographs, sounds and papers are compressed
// already; the live line takes over its connection before a byte is written.
//
// The size of a compressed page tells a little of what stands on it beside what the address put there. A page that
// holds a private link is therefore sent as it is (see [Render]), and the size of every other is blurred.
func Compress() (func(http.Handler) http.Handler, error) {
	const smallest, blur = 1024, 32 // bytes
	wrap, err := gzhttp.NewWrapper(gzhttp.MinSize(smallest), gzhttp.RandomJitter(blur, 0, false),
		gzhttp.ContentTypes([]string{"text/html", "text/csv", "text/plain", "application/json", "image/svg+xml"}))
	if err != nil {
		return nil, err
	}
	return func(next http.Handler) http.Handler { return wrap(next) }, nil
}

// privateLinks begin the addresses that let in whoever has them.
var privateLinks = [][]byte{[]byte("/c/"), []byte("/join/")}

// keepPlain asks that a page with a private link on it is not compressed.
func keepPlain(h http.Header, body []byte) {
	for _, link := range privateLinks {
		if bytes.Contains(body, link) {
			h.Set(gzhttp.HeaderNoCompression, "a private link")
			return
		}
	}
}

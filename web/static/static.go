// Package static serves the program's own stylesheets, scripts, fonts and icons under addresses that carry
// a hash of the content, so that a browser may keep them for ever and still never shows a stale one.
package static

import (
	"bytes"
	"compress/gzip"
	"crypto/sha256"
	"embed"
	"encoding/hex"
	"fmt"
	"io/fs"
	"net/http"
	"path"
	"regexp"
	"strings"
	"sync"
)

// Prefix is where Handler expects to be mounted.
const Prefix = "/static/"

//go:embed css fonts icons js licences
var files embed.FS

// contentTypes is our own table because the system's own may lack or misname web fonts and modules.
var contentTypes = map[string]string{
	".css":   "text/css; charset=utf-8",
	".js":    "text/javascript; charset=utf-8",
	".svg":   "image/svg+xml; charset=utf-8",
	".woff2": "font/woff2",
	".txt":   "text/plain; charset=utf-8",
}

// styleOrder is the cascade: what comes later overrides what came before.
var styleOrder = []string{"css/tokens.css", "css/fonts.css", "css/base.css", "css/form.css", "css/parts.css",
	"css/outline.css", "css/dockets.css", "css/chart.css", "css/regulation.css", "css/listen.css", "css/trial.css",
	"css/advice.css", "css/heard.css", "css/intake.css", "css/work.css", "css/leaving.css", "css/bench.css",
	"css/calibres.css", "css/atbench.css", "css/print.css"}

// outsideOrder is the cascade of what people outside the shop see, who need little of it.
var outsideOrder = []string{"css/tokens.css", "css/fonts.css", "css/base.css", "css/form.css", "css/parts.css", "css/chart.css",
	"css/print.css", "css/customer.css"}

type asset struct {
	name        string // "css/app.css"
	hashed      string // "css/app.3f9c0d2e41.css"
	contentType string
	body        []byte
	gzipped     []byte // nil where that saves nothing
}

// bundle finds an asset by its plain name and by its hashed one.
type bundle struct {
	byName, byHashed map[string]*asset
}

var load = sync.OnceValue(func() bundle {
	b, err := newBundle(files)
	if err != nil {
		panic("static: " + err.Error()) // the assets are compiled in: only a wrong build gets here
	}
	return b
})

// Path returns the address of an asset, such as "/static/css/base.3f9c0d2e41.css" for "css/base.css".
// It panics on a name that is not embedded, which is a programmer's mistake.
func Path(name string) string {
	a, ok := load().byName[name]
	if !ok {
		panic("static: no asset " + name)
	}
	return Prefix + a.hashed
}

// Text returns an asset itself, for what must stand within a page. Like [Path] it panics on a name that is not embedded.
func Text(name string) string {
	a, ok := load().byName[name]
	if !ok {
		panic("static: no asset " + name)
	}
	return string(a.body)
}

// The stylesheets that pages link, each joined in the order of its cascade.
const (
	shopStyles    = "css/all.css"
	outsideStyles = "css/outside.css"
)

// Styles returns the address of the one stylesheet of a page: of the shop's own, or of one for people outside it.
func Styles(outside bool) string {
	if outside {
		return Path(outsideStyles)
	}
	return Path(shopStyles)
}

// Handler serves the assets below Prefix. A hashed address may be kept for a year without asking again;
// a plain one must be asked for each time and answers 304 while nothing changed.
func Handler() http.Handler {
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		if r.Method != http.MethodGet && r.Method != http.MethodHead {
			w.Header().Set("Allow", "GET, HEAD")
			http.Error(w, "only GET and HEAD here", http.StatusMethodNotAllowed)
			return
		}
		name := strings.TrimPrefix(r.URL.Path, Prefix)
		h := w.Header()
		a, ok := load().byHashed[name]
		if ok {
			h.Set("Cache-Control", "public, max-age=31536000, immutable")
		} else if a, ok = load().byName[name]; ok {
			h.Set("Cache-Control", "no-cache")
		} else {
			http.NotFound(w, r)
			return
		}
		etag := `"` + a.hashed + `"`
		h.Set("ETag", etag)
		h.Set("X-Content-Type-Options", "nosniff")
		if r.Header.Get("If-None-Match") == etag {
			w.WriteHeader(http.StatusNotModified)
			return
		}
		h.Set("Content-Type", a.contentType)
		body := a.body
		if a.gzipped != nil {
			h.Set("Vary", "Accept-Encoding")
			if acceptsGzip(r.Header.Get("Accept-Encoding")) {
				h.Set("Content-Encoding", "gzip")
				body = a.gzipped
			}
		}
		h.Set("Content-Length", fmt.Sprint(len(body)))
		if r.Method == http.MethodGet {
			_, _ = w.Write(body) // a reader that went away is no fault of ours
		}
	})
}

// acceptsGzip reports whether a browser takes gzip (RFC 9110, section 12.5.3). One that says so in any other way than
// browsers do is sent the file as it is.
func acceptsGzip(header string) bool {
	for _, coding := range strings.Split(header, ",") {
		name, weight, _ := strings.Cut(strings.TrimSpace(coding), ";")
		if strings.TrimSpace(name) == "gzip" {
			q, weighed := strings.CutPrefix(strings.TrimSpace(weight), "q=")
			return !weighed || strings.Trim(q, "0.") != ""
		}
	}
	return false
}

// newBundle hashes every file of fsys. Stylesheets and scripts are hashed after what they refer to, with the
// references rewritten to hashed names, so a changed font changes the stylesheet's address too.
func newBundle(fsys fs.FS) (bundle, error) {
	b := bundle{byName: map[string]*asset{}, byHashed: map[string]*asset{}}
	err := fs.WalkDir(fsys, ".", func(name string, d fs.DirEntry, err error) error {
		if err != nil || d.IsDir() {
			return err
		}
		_, err = b.add(fsys, name, nil)
		return err
	})
	if err != nil {
		return b, err
	}
	if err := b.joinStyles(shopStyles, styleOrder); err != nil {
		return b, err
	}
	return b, b.joinStyles(outsideStyles, outsideOrder)
}

// joinStyles makes one stylesheet of others. They lie in one folder, so what they refer to is found.
func (b bundle) joinStyles(name string, order []string) error {
	var all []byte
	for _, part := range order {
		if a, ok := b.byName[part]; ok {
			all = append(append(all, a.body...), '\n')
		}
	}
	return b.keep(name, contentTypes[".css"], all)
}

// keep hashes a finished body and files it under both its names.
func (b bundle) keep(name, contentType string, body []byte) error {
	sum := sha256.Sum256(body)
	ext := path.Ext(name)
	a := &asset{name: name, contentType: contentType, body: body,
		hashed: strings.TrimSuffix(name, ext) + "." + hex.EncodeToString(sum[:5]) + ext}
	var zipped bytes.Buffer
	z, err := gzip.NewWriterLevel(&zipped, gzip.BestCompression)
	if err == nil {
		_, err = z.Write(body)
	}
	if err == nil {
		err = z.Close()
	}
	if err != nil {
		return fmt.Errorf("%s: %w", name, err)
	}
	if zipped.Len() < len(body)*9/10 {
		a.gzipped = zipped.Bytes()
	}
	b.byName[name], b.byHashed[a.hashed] = a, a
	return nil
}

// reference matches url(../fonts/x.woff2) in a stylesheet and "./x.js" in a script.
var reference = regexp.MustCompile(`url\((\.\.?/[^)]+)\)|"(\./[a-z-]+\.js)"`)

func (b bundle) add(fsys fs.FS, name string, above []string) (*asset, error) {
	if a, ok := b.byName[name]; ok {
		return a, nil
	}
	for _, n := range above {
		if n == name {
			return nil, fmt.Errorf("%s refers to itself by way of %s", name, strings.Join(above, ", "))
		}
	}
	body, err := fs.ReadFile(fsys, name)
	if err != nil {
		return nil, err
	}
	ext := path.Ext(name)
	kind, ok := contentTypes[ext]
	if !ok {
		return nil, fmt.Errorf("%s: no content type known for %q", name, ext)
	}
	if ext == ".css" || ext == ".js" {
		if body, err = b.rewrite(fsys, name, body, append(above, name)); err != nil {
			return nil, err
		}
	}
	if err := b.keep(name, kind, body); err != nil {
		return nil, err
	}
	return b.byName[name], nil
}

// rewrite replaces the relative references in body by hashed ones.
func (b bundle) rewrite(fsys fs.FS, name string, body []byte, above []string) ([]byte, error) {
	var failed error
	out := reference.ReplaceAllFunc(body, func(match []byte) []byte {
		parts := reference.FindSubmatch(match)
		ref := string(parts[1]) + string(parts[2])
		target, err := b.add(fsys, path.Join(path.Dir(name), ref), above)
		if err != nil {
			failed = fmt.Errorf("%s: %w", name, err)
			return match
		}
		hashedRef := path.Join(path.Dir(ref), path.Base(target.hashed))
		if !strings.HasPrefix(hashedRef, ".") {
			hashedRef = "./" + hashedRef
		}
		return []byte(strings.Replace(string(match), ref, hashedRef, 1))
	})
	return out, failed
}

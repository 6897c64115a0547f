package static

import (
	"io/fs"
	"net/http"
	"net/http/httptest"
	"path"
	"regexp"
	"slices"
	"strings"
	"testing"
	"testing/fstest"
)

func get(t *testing.T, method, target string, header http.Header) *httptest.ResponseRecorder {
	t.Helper()
	r := httptest.NewRequest(method, target, nil)
	for k, v := range header {
		r.Header[k] = v
	}
	w := httptest.NewRecorder()
	Handler().ServeHTTP(w, r)
	return w
}

func TestHandlerServesEveryAssetUnderItsHashForAYear(t *testing.T) {
	t.Parallel()
	for name, a := range load().byName {
		w := get(t, http.MethodGet, Path(name), nil)
		if w.Code != http.StatusOK || w.Body.Len() != len(a.body) {
			t.Errorf("%s: status %d, %d bytes", name, w.Code, w.Body.Len())
		}
		if got := w.Header().Get("Cache-Control"); got != "public, max-age=31536000, immutable" {
			t.Errorf("%s: Cache-Control %q", name, got)
		}
		if got, want := w.Header().Get("Content-Type"), contentTypes[path.Ext(name)]; got != want {
			t.Errorf("%s: Content-Type %q, want %q", name, got, want)
		}
	}
}

func TestHandlerAsksAgainForPlainNames(t *testing.T) {
	t.Parallel()
	w := get(t, http.MethodGet, Prefix+"css/base.css", nil)
	if w.Code != http.StatusOK || w.Header().Get("Cache-Control") != "no-cache" {
		t.Fatalf("status %d, Cache-Control %q", w.Code, w.Header().Get("Cache-Control"))
	}
	again := get(t, http.MethodGet, Prefix+"css/base.css", http.Header{"If-None-Match": {w.Header().Get("ETag")}})
	if again.Code != http.StatusNotModified || again.Body.Len() != 0 {
		t.Errorf("second time: status %d, %d bytes", again.Code, again.Body.Len())
	}
}

func TestHandlerRefuses(t *testing.T) {
	t.Parallel()
	for _, c := range []struct {
		method, target string
		want           int
	}{
		{http.MethodGet, Prefix + "css/none.css", http.StatusNotFound},
		{http.MethodGet, Prefix + "css", http.StatusNotFound},
		{http.MethodGet, Prefix + "static.go", http.StatusNotFound},
		{http.MethodGet, Prefix + "css/../static.go", http.StatusNotFound},
		{http.MethodPost, Path("css/base.css"), http.StatusMethodNotAllowed},
	} {
		if got := get(t, c.method, c.target, nil).Code; got != c.want {
			t.Errorf("%s %s: %d, want %d", c.method, c.target, got, c.want)
		}
	}
	if w := get(t, http.MethodHead, Path("css/base.css"), nil); w.Code != http.StatusOK || w.Body.Len() != 0 {
		t.Errorf("HEAD: status %d, %d bytes", w.Code, w.Body.Len())
	}
}

func TestReferencesFollowTheHash(t *testing.T) {
	t.Parallel()
	with := func(font string) bundle {
		b, err := newBundle(fstest.MapFS{
			"css/a.css":     {Data: []byte("@font-face { src: url(../fonts/f.woff2) }")},
			"fonts/f.woff2": {Data: []byte(font)},
			"js/app.js":     {Data: []byte(`import { x } from "./x.js";`)},
			"js/x.js":       {Data: []byte("export const x = 1;")},
		})
		if err != nil {
			t.Fatal(err)
		}
		return b
	}
	one, two := with("one"), with("two")
	if one.byName["css/a.css"].hashed == two.byName["css/a.css"].hashed {
		t.Error("a changed font left the stylesheet's address as it was")
	}
	for _, name := range []string{"css/a.css", "js/app.js"} {
		a := one.byName[name]
		for _, m := range regexp.MustCompile(`\((\.[^)]+)\)|"(\.[^"]+)"`).FindAllStringSubmatch(string(a.body), -1) {
			if ref := path.Join(path.Dir(name), m[1]+m[2]); one.byHashed[ref] == nil {
				t.Errorf("%s refers to %s, which is not there", name, ref)
			}
		}
	}
	if _, err := newBundle(fstest.MapFS{"css/a.css": {Data: []byte("a { background: url(./none.svg) }")}}); err == nil {
		t.Error("a reference to nothing was accepted")
	}
	if _, err := newBundle(fstest.MapFS{"js/a.js": {Data: []byte(`import "./b.js"`)},
		"js/b.js": {Data: []byte(`import "./a.js"`)}}); err == nil {
		t.Error("scripts that import each other were accepted")
	}
}

func TestEveryStylesheetIsLinked(t *testing.T) {
	t.Parallel()
	names, err := fs.Glob(files, "css/*.css")
	if err != nil {
		t.Fatal(err)
	}
	for _, name := range names {
		if !slices.Contains(styleOrder, name) && !slices.Contains(outsideOrder, name) {
			t.Errorf("%s is in no page: add it to styleOrder or outsideOrder", name)
		}
	}
}

// The fonts and their licences travel together, and a page must not cost a phone much: 1.5 MB in all.
func TestFonts(t *testing.T) {
	t.Parallel()
	total := 0
	for name, a := range load().byName {
		if !strings.HasPrefix(name, "fonts/") {
			continue
		}
		total += len(a.body)
		if string(a.body[:4]) != "wOF2" { // W3C WOFF 2.0, section 4.1: the signature
			t.Errorf("%s is not WOFF 2.0", name)
		}
	}
	if total == 0 || total > 1_500_000 {
		t.Errorf("fonts are %d bytes, want some and at most 1500000", total)
	}
	for _, name := range []string{"licences/vollkorn-OFL.txt", "licences/plex-sans-OFL.txt"} {
		if a := load().byName[name]; a == nil || !strings.Contains(string(a.body), "SIL OPEN FONT LICENSE") {
			t.Errorf("%s is missing or not the licence", name)
		}
	}
}

package e2e

import (
	"go/ast"
	"go/parser"
	"go/token"
	"io/fs"
	"os"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"testing"
)

const module = "ledgerwheel"

// room says what one package may import besides the standard library.
type room struct {
	path string // below the module; the row holds for this package alone
	// allow lists import paths, ours below the module. One that ends in "/..." also allows what lies under it.
	allow []string
	// deny lists exceptions from the standard library, each with what lies under it.
	deny []string
}

// impure is what the rules and the arithmetic must do without: databases, networks, files, processes, and what is for
// tests.
var impure = []string{"database/sql", "embed", "io/ioutil", "log", "net", "os", "plugin", "syscall", "testing",
	"unsafe"}

// pure lists what lies under those and still only reads and writes text.
var pure = []string{"net/mail", "net/netip", "net/url"}

const (
	pgxPath     = "github.com/jackc/pgx/v5/..."
	riverPath   = "github.com/riverqueue/river/..."
	goosePath   = "github.com/pressly/goose/v3/..."
	gonumPath   = "gonum.org/v1/gonum/..."
	flacPath    = "github.com/mewkiz/flac/..."
	i18nPath    = "github.com/nicksnyder/go-i18n/v2/i18n"
	textPath    = "golang.org/x/text/..."
	imagePath   = "golang.org/x/image/..."
	templPath   = "github.com/a-h/templ/..."
	chiPath     = "github.com/go-chi/chi/v5/..."
	scsPath     = "github.com/alexedwards/scs/v2/..."
	cdpPath     = "github.com/chromedp/..."
	publishedAt = "domain/published" // holds tests to published figures; no program imports it
)

// rules is the row of a package of rules and arithmetic.
func rules(path string, allow ...string) room { return room{path, allow, impure} }

// drawn is the row of a package that draws what it is given: no store, no network, no files.
func drawn(path string, allow ...string) room {
	return room{path, append(allow, templPath), []string{"database/sql", "net", "os", "log", "testing"}}
}

// answering is the row of a package that answers requests, over the floors that it names.
func answering(path string, allow ...string) room {
	return room{path, append(allow, "domain/...", "store", "store/files", "web/page", "web/view", templPath, chiPath),
		[]string{"database/sql", "os", "testing"}}
}

// ofDocket is the row of a room whose pages stand in a docket's frame.
func ofDocket(path string, allow ...string) room {
	return answering(path, append(allow, "web/sheet")...)
}

// house is the table of who may import whom, a row for every package; DEVELOPERS.md explains it.
var house = []room{
	rules("domain"),
	rules("domain/acoustic", "domain/metrology", gonumPath),
	rules("domain/acoustic/simulate", gonumPath),
	rules("domain/backup", "domain/text"),
	rules("domain/chronometer", "domain/figure", "domain/metrology", "domain/timing"),
	rules("domain/comeback", "domain/docket", "domain/staff", "domain/text"),
	rules("domain/customer", "domain/taxnumber", "domain/text", "domain/tongue", textPath, "github.com/nyaruka/phonenumbers"),
	rules("domain/diagnosis", "domain/merge", "domain/oscillator", "domain/text", "domain/watch"),
	rules("domain/docket", "domain", "domain/figure", "domain/money", "domain/staff", "domain/text",
		"domain/timing", "domain/tongue", "domain/watch"),
	rules("domain/estimate", "domain/diagnosis", "domain/figure", "domain/money", "domain/stock", "domain/text"),
	rules("domain/figure"),
	rules("domain/figure/figuretest"),
	rules("domain/finaltest", "domain/figure", "domain/text", "domain/tongue", "domain/watch"),
	rules("domain/figures", "domain/docket", "domain/estimate", "domain/share", "domain/timing"),
	rules("domain/fit", "domain/metrology"),
	rules("domain/health", "domain"),
	rules("domain/heard", "domain/acoustic", "domain/figure", "domain/metrology", "domain/timing"),
	rules("domain/link", "domain/text"),
	rules("domain/listening", "domain/acoustic", "domain/heard", "domain/metrology", "domain/timing"),
	rules("domain/logo", imagePath, "github.com/fyne-io/oksvg", "github.com/srwiley/rasterx"),
	rules("domain/merge"),
	rules("domain/message", "domain/customer", "domain/figure", "domain/text", "domain/tongue"),
	rules("domain/metrology", "domain/figure", gonumPath),
	rules("domain/money", "domain/figure", textPath, "github.com/bojanz/currency", "github.com/divan/num2words"),
	rules("domain/morning", "domain/docket"),
	rules("domain/oscillator", "domain/figure", "domain/metrology", "domain/text", "domain/timing", gonumPath),
	rules("domain/oscillator/madeup", "domain/timing"),
	rules("domain/photo", "domain/text", imagePath),
	{publishedAt, nil, []string{"net", "database/sql"}},
	rules("domain/poising", "domain/oscillator", "domain/timing"),
	rules("domain/recorder", "domain/acoustic", "domain/figure", "domain/metrology", "domain/timing", gonumPath),
	// Sound is unpacked by decoders that read from an io.Reader and nothing else.
	rules("domain/recording", "domain/acoustic", flacPath, "github.com/hajimehoshi/go-mp3", "github.com/pion/opus/..."),
	rules("domain/share", gonumPath),
	rules("domain/service", "domain/figure", "domain/oscillator", "domain/text"),
	rules("domain/record", "domain/text", "golang.org/x/mod/sumdb/..."),
	rules("domain/shop", "domain/figure", "domain/logo", "domain/staff", "domain/taxnumber", "domain/text", "domain/till", "domain/tongue", "domain/warranty", textPath, "github.com/bojanz/currency"),
	rules("domain/staff", "domain/text", textPath, "github.com/pquerna/otp/...", "github.com/trustelem/zxcvbn/..."),
	rules("domain/stock", "domain/figure", "domain/merge", "domain/text"),
	rules("domain/taxnumber", "domain/text"),
	rules("domain/text", textPath),
	rules("domain/token", "domain/text"),
	rules("domain/timing", "domain/figure", "domain/metrology", "domain/text"),
	{"domain/tongue", []string{textPath, i18nPath}, slices.DeleteFunc(slices.Clone(impure), func(p string) bool { return p == "embed" })}, // its sentences
	rules("domain/train", "domain/figure", "domain/text", gonumPath),
	rules("domain/trial", "domain/chronometer", "domain/docket", "domain/figure", "domain/metrology", "domain/text",
		"domain/timing"),
	rules("domain/invoice", "domain/estimate", "domain/money", "domain/taxnumber", "domain/text", "domain/tongue", textPath),
	rules("domain/ledger", "domain/estimate", "domain/money", "domain/stock", "domain/text"),
	rules("domain/insured", "domain/docket", "domain/money"),
	rules("domain/loan", "domain/money", "domain/text"),
	rules("domain/pricelist", "domain/estimate", "domain/figure", "domain/ledger", "domain/money", "domain/text", "domain/watch"),
	rules("domain/promise", "domain/docket", "domain/share", "domain/shop"),
	rules("domain/purchase", "domain/money", "domain/stock", "domain/text"),
	rules("domain/till", "domain/money", "domain/text"),
	rules("domain/books", "domain/estimate", "domain/invoice", "domain/money", "domain/till"),
	rules("domain/parcel", "domain/money", "domain/text", textPath),
	rules("domain/visit", "domain/docket"),
	rules("domain/uncollected", "domain/text"),
	rules("domain/warranty", "domain", "domain/docket", "domain/metrology", "domain/text", "domain/timing", "domain/tongue"),
	rules("domain/watch", "domain/figure", "domain/merge", "domain/metrology", "domain/oscillator", "domain/text",
		"domain/timing", "domain/train", textPath),

	{"migrations", []string{goosePath}, []string{"net", "os", "testing"}},
	{"store", []string{"domain/...", "migrations", "store/keyring", pgxPath, goosePath, riverPath, "golang.org/x/mod/sumdb/..."}, []string{"net/http", "os", "testing"}},
	{"store/backup", []string{"domain/record", "domain", "domain/docket", "store", "store/pgserver", pgxPath, "filippo.io/age", "github.com/klauspost/compress/zstd"},
		[]string{"net/http", "database/sql", "testing"}},
	{"store/files", []string{"domain", "domain/health", "domain/heard", "domain/photo", "domain/record"}, []string{"net", "database/sql", "testing"}},
	{"store/keyring", nil, []string{"net", "database/sql", "testing"}},
	{"store/post", []string{"domain/link", "domain/message", "domain/shop", "domain/text", "domain/tongue", "store", "store/keyring",
		"github.com/wneessen/go-mail/...", "golang.org/x/net/idna"}, []string{"net/http", "database/sql", "testing"}},
	{"store/post/letterbox", []string{"domain/message", "github.com/emersion/go-smtp"}, []string{"net/http", "database/sql", "os", "testing"}},
	{"store/pgserver", []string{pgxPath}, []string{"net/http", "testing"}},
	{"store/storetest", []string{"domain/record", "store", "store/keyring", "store/pgserver", "migrations", pgxPath}, nil},

	drawn("web/chart", "domain/acoustic", "domain/figure", "domain/metrology", "domain/text", "domain/timing"),
	drawn("web/paper", "domain/figure", "domain/logo", "domain/text", "domain/tongue", "web/paper/drawing", "web/paper/script", "web/paper/typeface"),
	drawn("web/paper/drawing", "web/paper/script", "web/paper/typeface", "codeberg.org/go-pdf/fpdf",
		"github.com/boombuler/barcode/...", "github.com/piglig/go-qr"),
	drawn("web/paper/script", textPath),
	drawn("web/paper/typeface", "web/paper/script", imagePath, "github.com/go-fonts/dejavu/..."),
	drawn("web/notices"),
	{"web/static", nil, []string{"database/sql", "os", "testing"}},
	drawn("web/view", "domain/...", "web/static"),
	drawn("web/view/gallery", "domain/...", "web/view", "web/chart", "web/runs", "web/priced"),
	drawn("web/bench/tools/balance", "domain/...", "web/bench/tools/toolset", "web/chart"),
	drawn("web/bench/tools/toolset", "domain/...", "web/chart"),
	{"web/bench/hearing/listening", []string{"domain/...", "github.com/coder/websocket"}, []string{"database/sql", "os",
		"testing"}},

	{"web/page/refill", []string{"golang.org/x/net/html/..."}, []string{"database/sql", "net/http", "os", "testing"}},
	{"web/page", []string{"domain/...", "store", "store/files", "web/page/refill", "web/view", "web/paper", "web/paper/script", templPath,
		chiPath, scsPath, "github.com/go-chi/httprate", "github.com/klauspost/compress/gzhttp"},
		[]string{"database/sql", "testing"}},
	answering("web/sheet", "web/paper"),
	answering("web/runs", "web/sheet", "web/chart", "web/paper"),
	answering("web/priced"),

	ofDocket("web/today"),
	ofDocket("web/counter", "web/paper"),
	ofDocket("web/counter/estimates", "web/paper", "web/priced"),
	ofDocket("web/counter/parcels", "web/paper"),
	ofDocket("web/counter/loans", "web/paper"),
	ofDocket("web/counter/handover", "web/paper", "web/priced"),
	ofDocket("web/counter/invoices", "web/paper", "web/priced"),
	ofDocket("web/counter/persons"),
	ofDocket("web/counter/told", "web/paper"),
	ofDocket("web/counter/uncollected", "web/paper"),
	ofDocket("web/bench"),
	ofDocket("web/bench/calibres"),
	ofDocket("web/bench/comebacks"),
	ofDocket("web/bench/hearing", "web/chart", "web/bench/hearing/listening", "web/runs", "github.com/coder/websocket"),
	ofDocket("web/bench/poising", "web/chart", "web/runs"),
	ofDocket("web/bench/positions", "web/paper", "web/runs"),
	ofDocket("web/bench/recorders", "web/runs"),
	ofDocket("web/bench/regulation", "web/chart", "web/paper", "web/runs"),
	ofDocket("web/bench/tools", "web/bench/tools/balance", "web/bench/tools/toolset"),
	ofDocket("web/bench/trials", "web/chart", "web/paper", "web/runs"),
	answering("web/office/words"),
	answering("web/office/prices"),
	answering("web/office/stock", "web/paper"),
	answering("web/office/orders", "web/paper", "web/sheet"),
	answering("web/office/atrisk"),
	answering("web/office/promises", "web/chart"),
	answering("web/office/takeaway"),
	answering("web/office/tokens", "github.com/arran4/golang-ical"),
	answering("web/api", "github.com/danielgtaylor/huma/...", "github.com/go-chi/httprate"),
	{"web/api/client", []string{"github.com/oapi-codegen/runtime/..."}, []string{"database/sql", "os", "testing"}}, // generated
	answering("web/office/till", "web/paper", "github.com/bojanz/currency"),
	answering("web/office/books", "github.com/bojanz/currency"),
	answering("web/office/figures", "web/chart"),
	answering("web/office", "web/paper", "web/paper/typeface", "web/sheet", "github.com/alexedwards/argon2id",
		"github.com/go-webauthn/webauthn/..."),
	answering("web/office/post", "store/keyring", "store/post/letterbox"),
	answering("web/outside", "web/chart", "web/notices", "web/paper", "web/priced", "web/static"),

	{"web", append(roomsOfWeb(), "web/api", "domain", "domain/health", "domain/staff", "store", "web/page", "web/sheet", "web/static", chiPath, scsPath),
		[]string{"database/sql", "os", "testing"}},
	{"web/webtest", []string{"domain/...", "store", "store/files", "store/storetest", "web/...", "golang.org/x/net/html",
		"github.com/alexedwards/scs/..."}, nil},

	{"cmd/verify", nil, []string{"testing"}},
	{"cmd/ledgerwheel/certs", nil, []string{"database/sql", "testing"}},
	{"cmd/ledgerwheel/demoshop", []string{"domain/...", "store", "store/files", "web/office", "web/office/orders",
		"github.com/jackc/pgx/v5/pgxpool",
		imagePath}, []string{"net/http", "testing"}},
	{"cmd/ledgerwheel", []string{"cmd/ledgerwheel/...", "domain/...", "store", "store/backup", "store/files", "store/keyring", "store/pgserver", "store/post/...", "web",
		"web/notices", "web/paper/typeface", "web/outside", "github.com/alecthomas/kong", "github.com/alexedwards/scs/pgxstore",
		"github.com/schollz/progressbar/v3", "golang.org/x/term"}, []string{"database/sql", "testing"}},

	{"e2e", []string{"..."}, nil},
	{"e2e/browser", []string{cdpPath, "github.com/coder/websocket/..."}, nil},
	{"e2e/channels", []string{"domain/acoustic/...", "domain/figure"}, nil},
	{"e2e/lighthouse", []string{"cmd/ledgerwheel/demoshop", "e2e/browser"}, nil},
	{"e2e/pictures", []string{"cmd/ledgerwheel/demoshop", "e2e/browser"}, nil},
}

// roomsOfWeb are the rooms behind the doors. None imports another.
func roomsOfWeb() []string {
	return []string{"web/today", "web/counter", "web/counter/estimates", "web/counter/handover", "web/counter/invoices", "web/counter/loans", "web/counter/parcels", "web/counter/persons", "web/counter/told", "web/counter/uncollected", "web/bench",
		"web/bench/calibres", "web/bench/comebacks", "web/bench/hearing", "web/bench/poising", "web/bench/positions", "web/bench/recorders", "web/bench/regulation",
		"web/bench/tools",
		"web/bench/trials", "web/office", "web/office/atrisk", "web/office/books", "web/office/figures", "web/office/orders", "web/office/post", "web/office/prices", "web/office/promises", "web/office/stock", "web/office/takeaway", "web/office/till", "web/office/tokens", "web/office/words", "web/outside"}
}

// viewFile reports whether a file holds view models or what templates became: such files are functions of what they are
// given, and import neither the store nor what answers requests.
func viewFile(name string) bool {
	return strings.HasSuffix(name, "_view.go") || strings.HasSuffix(name, "_templ.go")
}

// unviewed is what a file of view models must do without.
var unviewed = []string{module + "/store", module + "/web/page", module + "/web/sheet", "net/http", "database/sql",
	"os", "log"}

// lies reports whether the import path is one of the roots or lies below one.
func lies(path string, roots []string) bool {
	return slices.ContainsFunc(roots, func(root string) bool { return path == root || strings.HasPrefix(path, root+"/") })
}

// allowed reports whether an import path is one of the list's; our own stand there without the module.
func allowed(path string, list []string) bool {
	path = strings.TrimPrefix(path, module+"/")
	return slices.ContainsFunc(list, func(a string) bool {
		root, below := strings.CutSuffix(a, "...")
		if !below {
			return path == a
		}
		return path == strings.TrimSuffix(root, "/") || strings.HasPrefix(path, root)
	})
}

func own(path string) bool { return path == module || strings.HasPrefix(path, module+"/") }

// standard reports whether the path belongs to the standard library: its first element holds no dot.
func standard(path string) bool {
	first, _, _ := strings.Cut(path, "/")
	return !own(path) && !strings.Contains(first, ".")
}

// problem says what is wrong with one import, or "".
func problem(pkg, imported string) string {
	name := strings.TrimPrefix(pkg, module+"/")
	i := slices.IndexFunc(house, func(r room) bool { return r.path == name })
	if i < 0 {
		return "the package has no row in the table of the house"
	}
	r := house[i]
	switch {
	case standard(imported):
		if lies(imported, r.deny) && !slices.Contains(pure, imported) {
			return "not allowed in " + r.path
		}
		return ""
	case imported == module+"/"+publishedAt:
		return "for tests only"
	case allowed(imported, r.allow):
		return ""
	}
	return "not in the list of " + r.path
}

type source struct {
	pkg, file string
	test      bool
	syntax    *ast.File
}

// sources parses every Go file of the module.
func sources(t *testing.T) []source {
	t.Helper()
	return sourcesUnder(t, root(t))
}

// sourcesUnder parses every Go file below a folder.
func sourcesUnder(t *testing.T, top string) []source {
	t.Helper()
	fset := token.NewFileSet()
	var list []source
	err := filepath.WalkDir(top, func(path string, d fs.DirEntry, err error) error {
		if err != nil {
			return err
		}
		name := d.Name()
		if d.IsDir() {
			if path != top && (strings.HasPrefix(name, ".") || name == "vendor" || name == "testdata") {
				return filepath.SkipDir
			}
			return nil
		}
		if filepath.Ext(name) != ".go" {
			return nil
		}
		rel, err := filepath.Rel(top, path)
		if err != nil {
			return err
		}
		syntax, err := parser.ParseFile(fset, path, nil, parser.SkipObjectResolution)
		if err != nil {
			return err
		}
		pkg := module
		if dir := filepath.ToSlash(filepath.Dir(rel)); dir != "." {
			pkg += "/" + dir
		}
		list = append(list, source{pkg: pkg, file: filepath.ToSlash(rel), test: strings.HasSuffix(name, "_test.go"),
			syntax: syntax})
		return nil
	})
	if err != nil {
		t.Fatal(err)
	}
	if len(list) == 0 {
		t.Fatal("no Go files found")
	}
	return list
}

// breaches says, by file, what the program's own imports break; tests may import what they need.
func breaches(list []source) map[string][]string {
	found := map[string][]string{}
	for _, s := range list {
		if s.test {
			continue
		}
		for _, spec := range s.syntax.Imports {
			imported, _ := strconv.Unquote(spec.Path.Value) // the parser has checked it
			says := problem(s.pkg, imported)
			if says == "" && strings.HasPrefix(s.file, "web/") && viewFile(s.file) && lies(imported, unviewed) {
				says = "not in a file of view models"
			}
			if says != "" {
				found[s.file] = append(found[s.file], imported+": "+says)
			}
		}
	}
	return found
}

// TestHouseImports holds the import rules of the program itself.
func TestHouseImports(t *testing.T) {
	t.Parallel()
	for file, says := range breaches(sources(t)) {
		t.Errorf("%s imports %s", file, strings.Join(says, "; "))
	}
}

// TestEveryPackageHasItsRow: a package without a row, and a row without a package, would say nothing.
func TestEveryPackageHasItsRow(t *testing.T) {
	t.Parallel()
	there := map[string]bool{}
	for _, s := range sources(t) {
		there[strings.TrimPrefix(s.pkg, module+"/")] = true
	}
	rows := map[string]bool{}
	for _, r := range house {
		if rows[r.path] {
			t.Errorf("%s has two rows", r.path)
		}
		if rows[r.path] = true; !there[r.path] {
			t.Errorf("the row of %s has no package", r.path)
		}
	}
	for pkg := range there {
		if !rows[pkg] {
			t.Errorf("%s has no row", pkg)
		}
	}
}

// clock is what asks for the time, or waits for it.
var clock = []string{"Now", "Since", "Until", "Sleep", "After", "AfterFunc", "Tick", "NewTicker", "NewTimer", "Local"}

// clockUses lists what a file uses of it.
func clockUses(f *ast.File) (names []string) {
	ast.Inspect(f, func(n ast.Node) bool {
		if sel, ok := n.(*ast.SelectorExpr); ok {
			if x, ok := sel.X.(*ast.Ident); ok && x.Name == "time" && slices.Contains(clock, sel.Sel.Name) {
				names = append(names, sel.Sel.Name)
			}
		}
		return true
	})
	return names
}

// TestDomainHasNoClock: times are handed to the domain, which never asks for the time itself.
func TestDomainHasNoClock(t *testing.T) {
	t.Parallel()
	for _, s := range sources(t) {
		if s.test || !lies(s.pkg, []string{module + "/domain"}) {
			continue
		}
		for _, name := range clockUses(s.syntax) {
			t.Errorf("%s uses time.%s", s.file, name)
		}
	}
}

// forbidden lists, apart from the table, imports that a package must not have: each is planted and must be found.
func forbidden(pkg string) []string {
	ours := func(list ...string) []string {
		for i, p := range list {
			list[i] = module + "/" + p
		}
		return list
	}
	pgx, http := strings.TrimSuffix(pgxPath, "/..."), "net/http"
	switch {
	case pkg == publishedAt:
		return append(ours("domain/timing", "store"), http)
	case strings.HasPrefix(pkg, "domain"):
		return append(ours("store", "web/view", publishedAt, "cmd/ledgerwheel"), http, "os", "testing", pgx,
			"github.com/a-h/templ")
	case pkg == "store/storetest":
		return ours("web", "web/page", publishedAt)
	case strings.HasPrefix(pkg, "store"), pkg == "migrations":
		return append(ours("web", "web/page", "store/storetest", publishedAt), http)
	case pkg == "web/webtest", pkg == "e2e/browser", pkg == "e2e/pictures", pkg == "e2e/lighthouse", pkg == "e2e/channels":
		return ours("migrations", "store/pgserver", publishedAt)
	case pkg == "e2e":
		return nil // the whole program's tests may look at all of it
	case strings.HasPrefix(pkg, "cmd"):
		return append(ours("store/storetest", "e2e", "web/webtest", publishedAt), "testing")
	case slices.Contains([]string{"web/chart", "web/paper", "web/paper/drawing", "web/paper/script", "web/paper/typeface",
		"web/view", "web/notices", "web/static", "web/bench/tools/balance", "web/bench/tools/toolset",
		"web/view/gallery"}, pkg):
		return append(ours("store", "web/page", "web/counter", "web/webtest", publishedAt), "database/sql", pgx)
	}
	never := append(ours("store/pgserver", "store/storetest", "migrations", "web/webtest", "cmd/ledgerwheel", publishedAt),
		pgx)
	if pkg != "web" {
		for _, other := range roomsOfWeb() {
			if other != pkg {
				never = append(never, module+"/"+other)
			}
		}
		never = append(never, module+"/web")
	}
	return never
}

// plant writes a file with one import into a package's folder of a scratch copy of the house.
func plant(t *testing.T, top, pkg, name, imported string) {
	t.Helper()
	dir := filepath.Join(top, filepath.FromSlash(pkg))
	if err := os.MkdirAll(dir, 0o755); err != nil {
		t.Fatal(err)
	}
	text := "package planted\n\nimport _ " + strconv.Quote(imported) + "\n"
	if err := os.WriteFile(filepath.Join(dir, name), []byte(text), 0o600); err != nil {
		t.Fatal(err)
	}
}

// TestHouseRulesBite plants every forbidden import in a scratch copy of each package, and each must be found; what is
// not planted must not be. A table that allowed everything would fail here, row by row.
func TestHouseRulesBite(t *testing.T) {
	t.Parallel()
	top := t.TempDir()
	planted := map[string]string{}
	for _, r := range house {
		for i, imported := range forbidden(r.path) {
			name := "planted" + strconv.Itoa(i) + ".go"
			plant(t, top, r.path, name, imported)
			planted[r.path+"/"+name] = imported
		}
		plant(t, top, r.path, "innocent.go", "strings")
	}
	for _, imported := range unviewed { // which the room's handlers may import, and its view models may not
		for _, name := range []string{"bench_view.go", "bench_templ.go"} {
			name = strings.ReplaceAll(imported, "/", "-") + "-" + name
			plant(t, top, "web/bench", name, imported)
			planted["web/bench/"+name] = imported
		}
	}
	found := breaches(sourcesUnder(t, top))
	for file, imported := range planted {
		if len(found[file]) == 0 {
			t.Errorf("%s may import %s", file, imported)
		}
	}
	for file := range found {
		if planted[file] == "" {
			t.Errorf("%s breaks a rule: %v", file, found[file])
		}
	}
	if len(planted) < 300 {
		t.Errorf("only %d imports were planted", len(planted))
	}
}

// TestViewsHaveNoClock: the time is handed to whatever draws.
func TestViewsHaveNoClock(t *testing.T) {
	t.Parallel()
	for _, s := range sources(t) {
		drawn := slices.Contains([]string{"web/view", "web/chart", "web/paper"}, strings.TrimPrefix(s.pkg, module+"/"))
		if s.test || !strings.HasPrefix(s.file, "web/") || !drawn && !viewFile(s.file) {
			continue
		}
		for _, name := range clockUses(s.syntax) {
			t.Errorf("%s uses time.%s", s.file, name)
		}
	}
}

// TestTopFolders keeps the top of the house as it is drawn: code lies in these folders and nowhere else.
func TestTopFolders(t *testing.T) {
	t.Parallel()
	rooms := []string{"cmd", "web", "store", "migrations", "domain", "e2e"}
	for _, s := range sources(t) {
		first, _, inside := strings.Cut(filepath.ToSlash(s.file), "/")
		if !inside || !slices.Contains(rooms, first) {
			t.Errorf("%s lies outside %v", s.file, rooms)
		}
	}
}

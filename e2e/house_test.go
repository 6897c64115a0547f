package e2e

import (
	"go/ast"
	"go/parser"
	"go/token"
	"io/fs"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"testing"
)

const module = "ledgerwheel"

// room says what the packages under one path may import besides the standard library. The first room whose path
// holds a package decides.
type room struct {
	path string
	// allow lists import paths; each also allows what lies under it.
	allow []string
	// deny lists exceptions from allow and from the standard library.
	deny []string
}

// impure is what the rules and the arithmetic must do without: databases, networks, files, processes, and what is for
// tests.
var impure = []string{"database/sql", "embed", "io/ioutil", "log", "net", "os", "plugin", "syscall", "testing",
	"unsafe", publishedPath}

// pure lists what lies under those and still only reads and writes text.
var pure = []string{"net/mail", "net/netip", "net/url"}

// values are the small libraries of values that the domain may build on.
var values = []string{"github.com/bojanz/currency", "github.com/nyaruka/phonenumbers", "golang.org/x/image", "golang.org/x/text",
	"gonum.org/v1/gonum"}

const (
	pgxPath    = "github.com/jackc/pgx"
	goosePath  = "github.com/pressly/goose"
	gonumPath  = "gonum.org/v1/gonum"
	flacPath   = "github.com/mewkiz/flac"
	domainPath = module + "/domain"
	// publishedPath holds tests to published figures: it reads files and no program may import it.
	publishedPath = domainPath + "/published"
)

// house is the table of who may import whom; DEVELOPERS.md explains it.
var house = []room{
	{path: publishedPath, deny: []string{"net", "database/sql"}},
	{path: domainPath + "/metrology", allow: []string{gonumPath}, deny: impure},
	{path: domainPath + "/timing", allow: []string{domainPath + "/metrology"}, deny: impure},
	{path: domainPath + "/chronometer", allow: []string{domainPath + "/timing", domainPath + "/metrology"}, deny: impure},
	{path: domainPath + "/acoustic", allow: []string{domainPath + "/metrology", gonumPath}, deny: impure},
	{path: domainPath + "/recording", allow: []string{domainPath + "/acoustic", domainPath + "/metrology", gonumPath, flacPath}, deny: impure},
	{path: domainPath + "/oscillator", allow: []string{domainPath + "/timing", domainPath + "/metrology", gonumPath}, deny: impure},
	{path: domainPath + "/fit", allow: []string{domainPath + "/metrology"}, deny: impure},
	{path: domainPath + "/train", allow: []string{gonumPath}, deny: impure},
	{path: domainPath, allow: append([]string{domainPath}, values...), deny: impure},
	{path: module + "/migrations", allow: []string{goosePath}},
	{path: module + "/store/pgserver", allow: []string{pgxPath}},
	{path: module + "/store/storetest", allow: []string{module + "/store", module + "/migrations", domainPath,
		pgxPath}, deny: []string{publishedPath}},
	{path: module + "/store", allow: []string{domainPath, module + "/migrations", pgxPath, goosePath},
		deny: []string{"net/http", module + "/store/storetest", publishedPath}},
	{path: module + "/web/view", allow: []string{module + "/web", domainPath, "*"},
		deny: []string{module + "/store", pgxPath, goosePath, "database/sql", "net/http", "os", publishedPath}},
	{path: module + "/web", allow: []string{module + "/web", module + "/store", domainPath, "*"},
		deny: []string{module + "/store/pgserver", module + "/store/storetest", module + "/migrations", module + "/cmd",
			pgxPath, goosePath, "database/sql", publishedPath}},
	{path: module + "/cmd/verify"},
	{path: module + "/cmd", allow: []string{module, "*"}, deny: []string{module + "/store/storetest", module + "/e2e",
		publishedPath, "testing"}},
	{path: module + "/e2e", allow: []string{module, "*"}},
}

// under reports whether the import path is one of the roots or lies below one.
func under(path string, roots []string) bool {
	return slices.ContainsFunc(roots, func(root string) bool {
		return path == root || strings.HasPrefix(path, root+"/") || root == "*" && !own(path)
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
	i := slices.IndexFunc(house, func(r room) bool { return under(pkg, []string{r.path}) })
	if i < 0 {
		return "the package lies in none of the house's rooms"
	}
	r := house[i]
	switch {
	case under(imported, r.deny) && !under(imported, pure):
		return "not allowed under " + r.path
	case standard(imported) || under(imported, r.allow) || pkg == imported:
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
	top := root(t)
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
		list = append(list, source{pkg: pkg, file: rel, test: strings.HasSuffix(name, "_test.go"), syntax: syntax})
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

// TestHouseImports holds the import rules of the program itself; tests may import what they need.
func TestHouseImports(t *testing.T) {
	t.Parallel()
	for _, s := range sources(t) {
		if s.test {
			continue
		}
		for _, spec := range s.syntax.Imports {
			imported, err := strconv.Unquote(spec.Path.Value)
			if err != nil {
				t.Fatal(err)
			}
			if says := problem(s.pkg, imported); says != "" {
				t.Errorf("%s imports %s: %s", s.file, imported, says)
			}
		}
	}
}

// TestDomainHasNoClock: times are handed to the domain, which never asks for the time itself.
func TestDomainHasNoClock(t *testing.T) {
	t.Parallel()
	clock := []string{"Now", "Since", "Until", "Sleep", "After", "AfterFunc", "Tick", "NewTicker", "NewTimer", "Local"}
	for _, s := range sources(t) {
		if s.test || !under(s.pkg, []string{domainPath}) {
			continue
		}
		ast.Inspect(s.syntax, func(n ast.Node) bool {
			if sel, ok := n.(*ast.SelectorExpr); ok {
				if x, ok := sel.X.(*ast.Ident); ok && x.Name == "time" && slices.Contains(clock, sel.Sel.Name) {
					t.Errorf("%s uses time.%s", s.file, sel.Sel.Name)
				}
			}
			return true
		})
	}
}

// TestHouseRules shows that the table refuses what it should: a rule that allows everything would pass silently.
func TestHouseRules(t *testing.T) {
	t.Parallel()
	for _, tt := range []struct {
		pkg, imported string
		allowed       bool
	}{
		{"domain/docket", module + "/domain/text", true},
		{"domain/docket", module + "/store", false},
		{"domain/docket", pgxPath + "/v5", false},
		{"domain/docket", "net/http", false},
		{"domain/docket", "net/mail", true},
		{"domain/docket", "os", false},
		{"domain/docket", "golang.org/x/text/unicode/norm", true},
		{"domain/docket", "github.com/a-h/templ", false},
		{"domain/published", "testing", true},
		{"domain/published", module + "/domain/timing", false},
		{"domain/published", "net/http", false},
		{"domain/metrology", publishedPath, false},
		{"domain/docket", publishedPath, false},
		{"store", publishedPath, false},
		{"web", publishedPath, false},
		{"web/view", publishedPath, false},
		{"cmd/ledgerwheel", publishedPath, false},
		{"domain/metrology", module + "/domain/timing", false},
		{"domain/metrology", gonumPath + "/stat", true},
		{"domain/timing", module + "/domain/metrology", true},
		{"domain/timing", module + "/domain/docket", false},
		{"domain/timing", gonumPath + "/stat", false},
		{"domain/chronometer", module + "/domain/timing", true},
		{"domain/recording", flacPath + "/frame", true},
		{"domain/recording", "os", false},
		{"domain/acoustic", flacPath, false},
		{"domain/train", module + "/domain/metrology", false},
		{"domain/fit", module + "/domain/metrology", true},
		{"domain/fit", module + "/domain/watch", false},
		{"store", pgxPath + "/v5/pgxpool", true},
		{"store", module + "/web", false},
		{"store", "net/http", false},
		{"store", module + "/store/storetest", false},
		{"store/pgserver", module + "/store", false},
		{"migrations", "embed", true},
		{"migrations", module + "/store", false},
		{"web", module + "/store", true},
		{"web", "github.com/go-chi/chi/v5", true},
		{"web", pgxPath + "/v5", false},
		{"web", module + "/store/pgserver", false},
		{"web", module + "/migrations", false},
		{"web/view", module + "/store", false},
		{"web/view", "github.com/a-h/templ", true},
		{"cmd/ledgerwheel", module + "/web", true},
		{"cmd/ledgerwheel", module + "/store/storetest", false},
		{"cmd/verify", "os/exec", true},
		{"cmd/verify", module + "/store/pgserver", false},
		{"cmd/verify", "golang.org/x/text/width", false},
		{"e2e", module + "/store/storetest", true},
		{"helpers", "fmt", false},
	} {
		if got := problem(module+"/"+tt.pkg, tt.imported) == ""; got != tt.allowed {
			t.Errorf("%s importing %s: allowed is %t, want %t", tt.pkg, tt.imported, got, tt.allowed)
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

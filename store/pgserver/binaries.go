package pgserver

import (
	"cmp"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"runtime"
	"slices"
	"strconv"
	"strings"
)

// Binaries is one installation of PostgreSQL's server programs.
type Binaries struct {
	Dir   string // folder that holds postgres, initdb and the others
	Major int    // major release: 15, 16, 17 ...
}

// Program is the path of one program: "postgres", "initdb", "pg_dump" ...
func (b Binaries) Program(name string) string { return filepath.Join(b.Dir, exeName(name)) }

// usualFolders are where distributions keep the server programs, which are seldom on PATH.
var usualFolders = []string{
	"/usr/lib/postgresql/*/bin",                               // Debian, Ubuntu
	"/usr/pgsql-*/bin",                                        // Fedora and Red Hat, the project's own packages
	"/usr/libexec/postgresql*",                                // Alpine
	"/usr/lib/postgresql*/bin",                                // openSUSE
	"/usr/local/pgsql/bin",                                    // built from source
	"/opt/homebrew/opt/postgresql@*/bin",                      // macOS, Homebrew
	"/usr/local/opt/postgresql@*/bin",                         // macOS on Intel, Homebrew
	"/Applications/Postgres.app/Contents/Versions/[0-9]*/bin", // macOS, application
	"/opt/local/lib/postgresql*/bin",                          // macOS, MacPorts
}

// Find looks for the server programs: in the folder PGBIN names and there alone if it is set, else in the usual
// folders and on PATH. It prefers the release that made the cluster in dir, as no other can run it, and otherwise
// takes the newest. The error wraps ErrNoBinaries, ErrBadPGBIN or ErrVersion.
func Find(dir string) (Binaries, error) {
	f := finder{pgbin: os.Getenv("PGBIN"), globs: usualFolders, lookPath: exec.LookPath, major: majorOf}
	return f.find(clusterMajor(dir))
}

type finder struct {
	pgbin    string
	globs    []string
	lookPath func(string) (string, error)
	major    func(bin string) (int, error)
}

func (f finder) find(cluster int) (Binaries, error) {
	found := f.all()
	if len(found) == 0 && f.pgbin != "" {
		return Binaries{}, fail(ErrBadPGBIN, nil,
			"PGBIN is %s, but no postgres and initdb that run are there: correct it or unset it", f.pgbin)
	}
	if len(found) == 0 {
		return Binaries{}, fail(ErrNoBinaries, nil,
			"no PostgreSQL server programs found in the usual folders or on PATH (PGBIN may name their folder)")
	}
	if cluster == 0 {
		if found[0].Major < oldestMajor {
			return Binaries{}, fail(ErrVersion, nil, "PostgreSQL %d in %s is too old: install release %d or newer",
				found[0].Major, found[0].Dir, oldestMajor)
		}
		return found[0], nil
	}
	for _, b := range found {
		if b.Major == cluster {
			return b, nil
		}
	}
	return Binaries{}, fail(ErrVersion, nil,
		"the data was written by PostgreSQL %d, and only release %s is installed: install PostgreSQL %d beside it, or "+
			"point PGBIN at its programs",
		cluster, majors(found), cluster)
}

// all lists the installations found, newest first.
func (f finder) all() []Binaries {
	var found []Binaries
	add := func(dir string) {
		if dir == "" || !isProgram(dir, "postgres") || !isProgram(dir, "initdb") {
			return
		}
		if real, err := filepath.EvalSymlinks(filepath.Join(dir, exeName("postgres"))); err == nil {
			dir = filepath.Dir(real)
		}
		if slices.ContainsFunc(found, func(b Binaries) bool { return b.Dir == dir }) {
			return
		}
		if major, err := f.major(filepath.Join(dir, exeName("postgres"))); err == nil {
			found = append(found, Binaries{Dir: dir, Major: major})
		}
	}
	if f.pgbin != "" {
		add(f.pgbin)
		return found
	}
	for _, glob := range f.globs {
		dirs, _ := filepath.Glob(glob) // the patterns above are well formed
		for _, dir := range dirs {
			add(dir)
		}
	}
	if path, err := f.lookPath("postgres"); err == nil {
		add(filepath.Dir(path))
	}
	slices.SortStableFunc(found, func(a, b Binaries) int { return cmp.Compare(b.Major, a.Major) })
	return found
}

func majors(found []Binaries) string {
	var list []string
	for _, b := range found {
		list = append(list, strconv.Itoa(b.Major))
	}
	return strings.Join(list, ", ")
}

func exeName(name string) string {
	if runtime.GOOS == "windows" {
		return name + ".exe"
	}
	return name
}

func isProgram(dir, name string) bool {
	info, err := os.Stat(filepath.Join(dir, exeName(name)))
	if err != nil || info.IsDir() {
		return false
	}
	return runtime.GOOS == "windows" || info.Mode()&0o111 != 0
}

var versionLine = regexp.MustCompile(`\(PostgreSQL\) (\d+)`)

// majorOf asks a postgres program for its major release.
func majorOf(bin string) (int, error) {
	out, err := exec.Command(bin, "--version").Output()
	if err != nil {
		return 0, fmt.Errorf("%s --version: %w", bin, err)
	}
	m := versionLine.FindSubmatch(out)
	if m == nil {
		return 0, fmt.Errorf("%s --version says %q", bin, out)
	}
	return strconv.Atoi(string(m[1]))
}

// clusterMajor is the major release that made the cluster in the server folder dir, or 0 if there is none yet.
func clusterMajor(dir string) int {
	text, err := os.ReadFile(filepath.Join(dir, "data", "PG_VERSION"))
	if err != nil {
		return 0
	}
	major, err := strconv.Atoi(strings.TrimSpace(string(text)))
	if err != nil {
		return 0
	}
	return major
}

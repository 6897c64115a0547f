package pgserver

import (
	"errors"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"
)

// fakeInstall makes a folder with programs that look like PostgreSQL's.
func fakeInstall(t *testing.T, dir string, programs ...string) string {
	t.Helper()
	if err := os.MkdirAll(dir, 0o755); err != nil {
		t.Fatal(err)
	}
	for _, p := range programs {
		if err := os.WriteFile(filepath.Join(dir, p), []byte("#!/bin/sh\n"), 0o755); err != nil {
			t.Fatal(err)
		}
	}
	return dir
}

// folderMajor reads the release from a path such as .../16/bin/postgres.
func folderMajor(bin string) (int, error) {
	major := 0
	for _, r := range filepath.Base(filepath.Dir(filepath.Dir(bin))) {
		major = 10*major + int(r-'0')
	}
	return major, nil
}

func TestFind(t *testing.T) {
	t.Parallel()
	root, err := filepath.EvalSymlinks(t.TempDir())
	if err != nil {
		t.Fatal(err)
	}
	for _, major := range []string{"9", "13", "15", "17"} {
		fakeInstall(t, filepath.Join(root, "usual", major, "bin"), "postgres", "initdb")
	}
	fakeInstall(t, filepath.Join(root, "usual", "18", "bin"), "psql") // the client alone
	onPath := fakeInstall(t, filepath.Join(root, "path", "16", "bin"), "postgres", "initdb")
	empty := fakeInstall(t, filepath.Join(root, "empty"))
	usual := filepath.Join(root, "usual", "*", "bin")
	old := filepath.Join(root, "usual", "13", "bin")

	for _, tt := range []struct {
		name    string
		pgbin   string
		glob    string
		path    string
		cluster int
		want    string // ends of the folder
		kind    error
		says    string
	}{
		{name: "newest in the usual folders, not the client alone", glob: usual, want: "usual/17/bin"},
		{name: "by number, not by letter", glob: filepath.Join(root, "usual", "[19]*", "bin"), want: "usual/17/bin"},
		{name: "release of the cluster", glob: usual, cluster: 15, want: "usual/15/bin"},
		{name: "old cluster still runs", glob: usual, cluster: 13, want: "usual/13/bin"},
		{name: "release of the cluster missing", glob: usual, cluster: 12, kind: ErrVersion, says: "install PostgreSQL 12"},
		{name: "on PATH only", path: onPath, want: "path/16/bin"},
		{name: "newest wins over PATH", glob: usual, path: onPath, want: "usual/17/bin"},
		{name: "PGBIN wins over all", pgbin: onPath, glob: usual, want: "path/16/bin"},
		{name: "PGBIN wrong", pgbin: empty, glob: usual, kind: ErrBadPGBIN, says: empty},
		{name: "too old for new data", glob: old, kind: ErrVersion, says: "too old"},
		{name: "none", kind: ErrNoBinaries, says: "no PostgreSQL"},
	} {
		t.Run(tt.name, func(t *testing.T) {
			t.Parallel()
			f := finder{pgbin: tt.pgbin, major: folderMajor, lookPath: func(name string) (string, error) {
				if tt.path == "" {
					return "", exec.ErrNotFound
				}
				return filepath.Join(tt.path, name), nil
			}}
			if tt.glob != "" {
				f.globs = []string{tt.glob}
			}
			got, err := f.find(tt.cluster)
			if !errors.Is(err, tt.kind) {
				t.Fatalf("error %v, want kind %v", err, tt.kind)
			}
			if err != nil {
				oneLine(t, err, tt.says)
				return
			}
			if !strings.HasSuffix(filepath.ToSlash(got.Dir), tt.want) {
				t.Errorf("folder %s, want one that ends in %s", got.Dir, tt.want)
			}
		})
	}
}

// oneLine checks that err is one clear line that says what it should.
func oneLine(t *testing.T, err error, says string) {
	t.Helper()
	if err == nil {
		t.Fatalf("no error, want one that says %q", says)
	}
	if line := err.Error(); strings.Contains(line, "\n") || !strings.Contains(line, says) {
		t.Errorf("error %q, want one line that says %q", line, says)
	}
}

func TestMajorOfInstalledPostgres(t *testing.T) {
	t.Parallel()
	b, err := Find(t.TempDir())
	if err != nil {
		t.Fatal(err)
	}
	if got, err := majorOf(b.Program("postgres")); err != nil || got != b.Major || got < oldestMajor {
		t.Errorf("release %d (%v), want %d, at least %d", got, err, b.Major, oldestMajor)
	}
}

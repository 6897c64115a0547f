package main

import (
	"os"
	"path/filepath"
	"testing"
)

func TestPaperTypeIsFound(t *testing.T) {
	t.Parallel()
	dir := t.TempDir()
	if got := findPaperTypes([]string{dir, filepath.Join(dir, "none")}); len(got) != 0 {
		t.Errorf("found %q where there is none", got)
	}
	for _, name := range []string{"a/DroidSansFallback.ttf", "b/c/DroidSansFallbackFull.ttf", "other.ttf"} {
		path := filepath.Join(dir, name)
		if err := os.MkdirAll(filepath.Dir(path), 0o700); err != nil {
			t.Fatal(err)
		}
		if err := os.WriteFile(path, nil, 0o600); err != nil {
			t.Fatal(err)
		}
	}
	if got := findPaperTypes([]string{dir}); len(got) != 1 || got[0] != filepath.Join(dir, "b/c/DroidSansFallbackFull.ttf") {
		t.Errorf("found %q, want the fuller one", got)
	}
}

package notices

import (
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"
)

// TestEveryLinkedModuleHasItsNotice asks the go command what the program is linked from.
func TestEveryLinkedModuleHasItsNotice(t *testing.T) {
	t.Parallel()
	cmd := exec.Command("go", "list", "-deps", "-f",
		"{{with .Module}}{{if not .Main}}{{.Path}} {{.Version}}{{end}}{{end}}", "ledgerwheel/cmd/ledgerwheel")
	cmd.Stderr = os.Stderr
	out, err := cmd.Output()
	if err != nil {
		t.Fatal(err)
	}
	linked := map[string]string{}
	for line := range strings.Lines(string(out)) {
		if path, version, ok := strings.Cut(strings.TrimSpace(line), " "); ok {
			linked[path] = version
		}
	}
	if linked["github.com/jackc/pgx/v5"] == "" {
		t.Fatalf("the go command names %d modules and no database driver", len(linked))
	}
	for path, version := range linked {
		n, err := Find(path)
		if err != nil || n.Name != path {
			t.Errorf("%s: notice %q, %v", path, n.Name, err)
		} else if n.Version != version || len(n.Text) < 200 || n.Licences == "" {
			t.Errorf("%s %s: the notice is of %q, under %q, %d bytes long", path, version, n.Version, n.Licences, len(n.Text))
		}
	}
	for _, n := range All() {
		if n.Version != "" && linked[n.Name] == "" {
			t.Errorf("%s has a notice and is not linked", n.Name)
		}
	}
}

// The words each licence is known by, as its published text has them.
func TestTextsAreTheLicencesTheyAreCalled(t *testing.T) {
	t.Parallel()
	words := map[string]string{"MIT": "Permission is hereby granted, free of charge",
		"BSD-3-Clause": "Redistribution and use",
		"BSD-2-Clause": "Redistribution and use", "ISC": "Permission to use, copy, modify, and",
		"Apache-2.0": "Apache License",
		"MPL-2.0":    "Mozilla Public License Version 2.0",
		"OFL-1.1":    "SIL OPEN FONT LICENSE Version 1.1", "Unlicense": "free and unencumbered software",
		"Bitstream-Vera": "Bitstream Vera", "Unicode-3.0": "UNICODE LICENSE V3"}
	seen := map[string]bool{}
	for _, n := range All() {
		if seen[n.Slug()] {
			t.Errorf("two notices at %s", n.Slug())
		}
		seen[n.Slug()] = true
		text := strings.Join(strings.Fields(n.Text), " ")
		for _, kind := range strings.Split(n.Licences, ", ") {
			if w := words[kind]; w == "" || !strings.Contains(text, w) {
				t.Errorf("%s is said to be under %q, but its text lacks %q", n.Name, kind, w)
			}
		}
	}
}

func TestFontsStandardLibraryAndDataHaveNotices(t *testing.T) {
	t.Parallel()
	for name, want := range map[string]string{
		"dejavu": "Bitstream Vera Fonts Copyright", "vollkorn": "Vollkorn Project Authors", "ibm plex sans": "IBM Corp.",
		"go standard library": "The Go Authors", "unicode data": "Unicode, Inc.",
		"libphonenumber-metadata": "Libphonenumber Authors",
		"ledgerwheel":             "Apache License", "gonum": "Cephes",
	} {
		if n, err := Find(name); err != nil || !strings.Contains(n.Text, want) {
			t.Errorf("%s: %q, %v: want %q in it", name, n.Name, err, want)
		}
	}
	// Distributions keep Go's licence elsewhere; where it lies with Go, ours must be the same.
	goroot, err := exec.Command("go", "env", "GOROOT").Output()
	if err != nil {
		t.Fatal(err)
	}
	licence, err := os.ReadFile(filepath.Join(strings.TrimSpace(string(goroot)), "LICENSE"))
	if n, _ := Find("Go standard library"); err == nil && !strings.HasPrefix(n.Text, strings.TrimSpace(string(licence))) {
		t.Error("the notice of the standard library is not the licence that came with Go")
	}
}

func TestFind(t *testing.T) {
	t.Parallel()
	for _, name := range []string{"github.com/jackc/pgx/v5", "GitHub.com-jackc-pgx-v5", " pgx/ "} {
		if n, err := Find(name); err != nil || n.Name != "github.com/jackc/pgx/v5" {
			t.Errorf("%q finds %q, %v", name, n.Name, err)
		}
	}
	for name, want := range map[string]string{"": "no part", "hairspring": "no part",
		"golang.org/x": "golang.org/x/sys, golang.org/x/term",
	} {
		if n, err := Find(name); err == nil || !strings.Contains(err.Error(), want) {
			t.Errorf("%q finds %q, %v; want an error with %q", name, n.Name, err, want)
		}
	}
}

func TestParseRefusesAPartWithoutItsHead(t *testing.T) {
	t.Parallel()
	rule := "\n" + strings.Repeat("=", 80) + "\n"
	if list, err := parse("intro\n" + rule + "a name\ntext without a head\n"); err == nil {
		t.Errorf("got %v", list)
	}
}

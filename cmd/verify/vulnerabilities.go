package main

import (
	"bytes"
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"go/version"
	"io"
	"maps"
	"os"
	"path/filepath"
	"slices"
	"strings"
)

// vulnerabilityDatabase is the module that the Go project keeps known vulnerabilities in (data under CC BY 4.0). Raise it
// with the dependencies: what it does not know is not found.
const vulnerabilityDatabase = "golang.org/x/vulndb@v0.0.0-20261105234957-e22db6528018"

// vulnerabilities holds what the program is built from against the database, which the module cache keeps by its version.
// Out of reach of the module proxy it says so.
func (r *run) vulnerabilities(ctx context.Context) error {
	db, err := r.downloadDatabase(ctx)
	if err != nil || db == "" {
		return err
	}
	found, err := r.scan(ctx, r.root, db, "./...")
	if err != nil {
		return err
	}
	toolchain, err := r.output(ctx, "go", "env", "GOTOOLCHAIN", "GOVERSION")
	if err != nil {
		return err
	}
	words := strings.Fields(toolchain)
	if len(words) != 2 {
		return fmt.Errorf("go env GOTOOLCHAIN GOVERSION: %q", toolchain)
	}
	faults, notes := judge(found, words[1], words[0] != "local")
	for _, n := range notes {
		fmt.Println(n)
	}
	if len(faults) > 0 {
		return errors.New(strings.Join(faults, "\n"))
	}
	return nil
}

// downloadDatabase is the folder of the database's entries; "" where it can't be had.
func (r *run) downloadDatabase(ctx context.Context) (string, error) {
	cmd := r.command(ctx, "go", "mod", "download", "-json", vulnerabilityDatabase)
	cmd.Dir = r.scratch // no part of the module
	out, err := cmd.Output()
	var m struct{ Dir, Error string }
	if jsonErr := json.Unmarshal(out, &m); jsonErr != nil {
		return "", errors.Join(fmt.Errorf("go mod download %s: %s", vulnerabilityDatabase, out), err)
	}
	switch {
	case unreachable.MatchString(m.Error):
		fmt.Printf("NOT CHECKED: the module proxy is out of reach\n%s\n", m.Error)
		return "", nil
	case m.Error != "":
		return "", errors.New(m.Error)
	}
	return filepath.Join(m.Dir, "data", "osv"), err
}

// finding is one vulnerability as it touches a module, by govulncheck's protocol 1.0: Trace begins with where it lies. A
// function there is called, a package alone is imported, a module alone only required.
type finding struct {
	OSV   string `json:"osv"`
	Fixed string `json:"fixed_version"`
	Trace []struct {
		Module, Version, Package, Function string
	} `json:"trace"`
}

// scan holds the packages of a module in dir against a folder of entries.
func (r *run) scan(ctx context.Context, dir, db, packages string) ([]finding, error) {
	ask := r.command(ctx, "go", "tool", "-n", "govulncheck") // its path; it is built once
	ask.Stderr = os.Stderr
	program, err := ask.Output()
	if err != nil {
		return nil, fmt.Errorf("go tool -n govulncheck: %w", err)
	}
	cmd := r.command(ctx, strings.TrimSpace(string(program)), "-db", "file://"+filepath.ToSlash(db), "-format", "json", packages)
	cmd.Dir = dir
	var complaints bytes.Buffer
	cmd.Stderr = &complaints
	out, err := cmd.Output()
	if err != nil {
		return nil, fmt.Errorf("govulncheck: %w\n%s", err, &complaints)
	}
	return findings(bytes.NewReader(out))
}

// findings reads what govulncheck writes. An empty answer is no clean one.
func findings(in io.Reader) ([]finding, error) {
	var list []finding
	known := 0
	for dec := json.NewDecoder(in); ; {
		var m struct {
			Finding *finding
			OSV     json.RawMessage `json:"osv"`
		}
		switch err := dec.Decode(&m); {
		case errors.Is(err, io.EOF) && known == 0:
			return nil, errors.New("govulncheck names no vulnerability that could touch this program: is the database empty?")
		case errors.Is(err, io.EOF):
			return list, nil
		case err != nil:
			return nil, fmt.Errorf("govulncheck: %w", err)
		}
		if len(m.OSV) > 0 {
			known++
		}
		if m.Finding != nil && len(m.Finding.Trace) > 0 {
			list = append(list, *m.Finding)
		}
	}
}

// judge tells what fails the run from what is only said. A dependency's vulnerability fails it where the package is built
// in; the standard library's where it is called and a newer patch of the running release puts it right. The latter is
// only said where the toolchain can't be changed from here.
func judge(found []finding, running string, changeable bool) (faults, notes []string) {
	dependencies, required, called := map[string]bool{}, map[string]bool{}, map[string]string{}
	for _, f := range found {
		at := f.Trace[0]
		switch {
		case at.Module == "stdlib" && at.Function != "":
			called[f.OSV] = f.Fixed
		case at.Module == "stdlib" || at.Module == "toolchain":
		case at.Package == "":
			required[fmt.Sprintf("%s touches %s %s", f.OSV, at.Module, at.Version)] = true
		default:
			line := fmt.Sprintf("%s touches %s %s, package %s", f.OSV, at.Module, at.Version, at.Package)
			if f.Fixed != "" {
				line += ": take " + f.Fixed
			}
			dependencies[line] = true
		}
	}
	faults = slices.Sorted(maps.Keys(dependencies))
	for _, line := range slices.Sorted(maps.Keys(required)) {
		if !slices.ContainsFunc(faults, func(f string) bool { return strings.HasPrefix(f, line+",") }) {
			notes = append(notes, "note: "+line+", in no package that is built in")
		}
	}
	patch, mended := "", []string{}
	for _, id := range slices.Sorted(maps.Keys(called)) {
		fixed := "go" + strings.TrimPrefix(called[id], "v")
		switch {
		case called[id] == "" || version.Lang(fixed) != version.Lang(running):
			notes = append(notes, fmt.Sprintf("note: %s in the standard library is called, and no patch of %s puts it right", id,
				version.Lang(running)))
			continue
		case patch == "" || version.Compare(fixed, patch) > 0:
			patch = fixed
		}
		mended = append(mended, id)
	}
	if patch == "" {
		return faults, notes
	}
	line := fmt.Sprintf("%d vulnerabilities in the standard library of %s are called (%s): %s puts them right", len(mended), running,
		strings.Join(mended, ", "), patch)
	if !changeable {
		return faults, append(notes, "WARNING: "+line+"; GOTOOLCHAIN is local, so this machine's Go can't be changed from here")
	}
	return append(faults, line+": raise the toolchain in go.mod"), notes
}

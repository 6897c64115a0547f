package main

import (
	"context"
	"fmt"
	"os"
	"os/exec"
	"slices"
	"strings"
)

// tool is something outside Go that tests run.
type tool struct {
	what     string
	programs []string // all are needed, unless anyOf
	anyOf    bool
	debian   string
	fedora   string
	macOS    string
}

var tools = []tool{
	{what: "a browser", programs: []string{"chromium", "chromium-browser", "google-chrome", "google-chrome-stable"},
		anyOf:  true,
		debian: "chromium", fedora: "chromium", macOS: "--cask chromium"},
	{what: "a reader of bar codes", programs: []string{"zbarimg"}, debian: "zbar-tools", fedora: "zbar", macOS: "zbar"},
	{what: "PDF tools", programs: []string{"pdftotext", "pdftoppm", "pdfinfo"}, debian: "poppler-utils",
		fedora: "poppler-utils", macOS: "poppler"},
}

func (t tool) installed() bool {
	missing := func(p string) bool { _, err := exec.LookPath(p); return err != nil }
	if t.anyOf {
		return slices.ContainsFunc(t.programs, func(p string) bool { return !missing(p) })
	}
	return !slices.ContainsFunc(t.programs, missing)
}

// tools installs what is missing, by apt as root on Debian and its relatives, and says what to install elsewhere.
// PostgreSQL is not among it: the program installs that itself.
func (r *run) tools(ctx context.Context) error {
	var missing []tool
	for _, t := range tools {
		if !t.installed() {
			missing = append(missing, t)
		}
	}
	if len(missing) == 0 {
		return nil
	}
	debian := packages(missing, func(t tool) string { return t.debian })
	if _, err := exec.LookPath("apt-get"); err != nil || os.Geteuid() != 0 {
		return fmt.Errorf("tests need %s:\n  Debian, Ubuntu:  apt-get install %s\n  Fedora:          dnf install %s\n  "+
			"macOS:           brew install %s",
			packages(missing, func(t tool) string { return t.what + " (" + strings.Join(t.programs, ", ") + ")," }),
			debian, packages(missing, func(t tool) string { return t.fedora }),
			packages(missing, func(t tool) string { return t.macOS }))
	}
	fmt.Printf("installing by apt: %s\n", debian)
	apt := []string{"DEBIAN_FRONTEND=noninteractive", "apt-get", "-q", "-o", "DPkg::Lock::Timeout=120"}
	if _, err := r.output(ctx, "env", append(slices.Clone(apt), "update")...); err != nil {
		fmt.Printf("%v\ntrying with the package list at hand\n", err)
	}
	install := append(slices.Clone(apt), "install", "-y", "--no-install-recommends")
	if _, err := r.output(ctx, "env", append(install, strings.Fields(debian)...)...); err != nil {
		return err
	}
	for _, t := range missing {
		if !t.installed() {
			return fmt.Errorf("%s was installed, but not every one of %s is on PATH", t.debian, strings.Join(t.programs, ", "))
		}
	}
	return nil
}

func packages(list []tool, name func(tool) string) string {
	var names []string
	for _, t := range list {
		names = append(names, name(t))
	}
	return strings.TrimSuffix(strings.Join(names, " "), ",")
}

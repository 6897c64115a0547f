package main

import (
	"context"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strings"
)

// tool is something outside Go that tests run.
type tool struct {
	what     string
	programs []string // all are needed, unless anyOf
	anyOf    bool
	files    []string // patterns, of which one must be there, in place of programs
	debian   string
	fedora   string
	macOS    string
}

var tools = []tool{
	{what: "a browser", programs: []string{"chromium", "chromium-browser", "google-chrome", "google-chrome-stable"},
		anyOf:  true,
		debian: "chromium", fedora: "chromium", macOS: "--cask chromium"},
	{what: "a second browser", programs: []string{"firefox-esr", "firefox"}, anyOf: true, debian: "firefox-esr",
		fedora: "firefox", macOS: "--cask firefox"},
	{what: "a reader of bar codes", programs: []string{"zbarimg"}, debian: "zbar-tools", fedora: "zbar", macOS: "zbar"},
	{what: "a coder of sound", programs: []string{"ffmpeg"}, debian: "ffmpeg", fedora: "ffmpeg-free", macOS: "ffmpeg"},
	{what: "PDF tools", programs: []string{"pdftotext", "pdftoppm", "pdfinfo"}, debian: "poppler-utils",
		fedora: "poppler-utils", macOS: "poppler"},
	{what: "type for Chinese and Japanese", debian: "fonts-droid-fallback", fedora: "google-droid-sans-fonts",
		macOS: "--cask font-droid-sans-fallback", files: []string{"/usr/share/fonts/*/DroidSansFallback*.ttf",
			"/usr/share/fonts/*/*/DroidSansFallback*.ttf", "/Library/Fonts/DroidSansFallback*.ttf"}},
}

func (t tool) installed() bool {
	if len(t.files) > 0 {
		return slices.ContainsFunc(t.files, func(pattern string) bool {
			found, err := filepath.Glob(pattern)
			return err == nil && len(found) > 0
		})
	}
	missing := func(p string) bool { _, err := exec.LookPath(p); return err != nil }
	if t.anyOf {
		return slices.ContainsFunc(t.programs, func(p string) bool { return !missing(p) })
	}
	return !slices.ContainsFunc(t.programs, missing)
}

// names are the programs, or the files, that make it up.
func (t tool) names() string { return strings.Join(append(slices.Clone(t.programs), t.files...), ", ") }

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
			packages(missing, func(t tool) string { return t.what + " (" + t.names() + ")," }),
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
			return fmt.Errorf("%s was installed, but %s is not to be found", t.debian, t.names())
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

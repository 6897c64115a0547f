package main

import (
	"io"
	"maps"
	"os"
	"regexp"
	"slices"
	"strings"
	"testing"

	"github.com/alecthomas/kong"
)

var (
	readmeRow     = regexp.MustCompile("(?m)^\\| `[^\n]*\\|$") // of a table whose first cell begins with code
	readmeCode    = regexp.MustCompile("`([^`]+)`")
	readmeOption  = regexp.MustCompile(`--[a-z0-9-]+`)
	readmeCommand = regexp.MustCompile(`^([a-z]+\b ?)+`) // before its arguments, which stand in capitals
)

// readmePromises are the commands of the README's tables, each with the options that stand in its row; "" has those
// of the table of options.
func readmePromises(t *testing.T) map[string][]string {
	t.Helper()
	text, err := os.ReadFile("../../README.md")
	if err != nil {
		t.Fatal(err)
	}
	promises := map[string][]string{}
	for _, row := range readmeRow.FindAllString(string(text), -1) {
		cells := strings.Split(strings.Trim(row, "|"), "|")
		for _, code := range readmeCode.FindAllStringSubmatch(cells[0], -1) {
			if option := readmeOption.FindString(code[1]); option != "" {
				promises[""] = append(promises[""], option)
				continue
			}
			promises[strings.TrimSpace(readmeCommand.FindString(code[1]))] = readmeOption.FindAllString(cells[len(cells)-1], -1)
		}
	}
	return promises
}

// visibleFlags are the options of one command of the program's own, --help apart.
func visibleFlags(n *kong.Node) []string {
	var names []string
	for _, f := range n.Flags {
		if !f.Hidden && f.Name != "help" {
			names = append(names, "--"+f.Name)
		}
	}
	return names
}

// TestReadmeNamesEveryCommandAndOption compares the README's tables with what the program takes: nothing is missing,
// and nothing stands there that does not exist.
func TestReadmeNamesEveryCommandAndOption(t *testing.T) {
	t.Parallel()
	var c commands
	parser, err := newParser(&c, io.Discard, io.Discard)
	if err != nil {
		t.Fatal(err)
	}
	got := readmePromises(t)
	shop := map[string]bool{}
	for _, name := range visibleFlags(parser.Model.Node) {
		shop[name] = true
	}
	want := map[string][]string{}
	for _, leaf := range parser.Model.Leaves(true) {
		flags := visibleFlags(leaf)
		if name := leaf.Name; name == "serve" || name == "demo" {
			for _, f := range flags {
				shop[f] = true
			}
			flags = nil
		}
		want[strings.TrimPrefix(leaf.FullPath(), "ledgerwheel ")] = flags
	}
	want[""] = slices.Collect(maps.Keys(shop))
	for name := range want {
		if _, ok := got[name]; !ok {
			t.Errorf("the README has no row for %q", name)
		}
	}
	for name, options := range got {
		if _, ok := want[name]; !ok {
			t.Errorf("the README names %q, which the program does not have", name)
			continue
		}
		slices.Sort(options)
		slices.Sort(want[name])
		if !slices.Equal(slices.Compact(options), want[name]) {
			t.Errorf("%q: the README names %v, the program takes %v", name, options, want[name])
		}
	}
}

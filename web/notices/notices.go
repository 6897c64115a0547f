// Package notices holds what the program is made of (modules, the standard library, fonts, data) and the licences that
// must travel with it. NOTICES.txt is written by: go run ./cmd/verify -notices
package notices

import (
	_ "embed" // NOTICES.txt
	"fmt"
	"strings"
	"sync"
)

//go:embed NOTICES.txt
var file string

// Notice is one part of the program with its licences.
type Notice struct {
	Name     string // a module's path, or the name of what is none
	Version  string // "" of what is no module
	Licences string // short names by SPDX, such as "BSD-3-Clause, Bitstream-Vera"
	Text     string
}

// Slug is the name as one part of an address: "github.com-jackc-pgx-v5".
func (n Notice) Slug() string {
	return strings.ToLower(strings.NewReplacer("/", "-", " ", "-").Replace(n.Name))
}

// Full is the whole file, for people: every notice with its text.
func Full() string { return file }

// All lists the program itself, then what is no module, then the modules by their paths.
var All = sync.OnceValue(func() []Notice {
	list, err := parse(file)
	if err != nil {
		panic("notices: " + err.Error()) // the file is compiled in: only a wrong build gets here
	}
	return list
})

// Find returns the notice of that name or slug, in whatever case, or else the only one whose name holds it.
func Find(name string) (Notice, error) {
	name = strings.ToLower(strings.TrimSpace(name))
	var near []Notice
	for _, n := range All() {
		if strings.ToLower(n.Name) == name || n.Slug() == name {
			return n, nil
		}
		if name != "" && strings.Contains(strings.ToLower(n.Name), name) {
			near = append(near, n)
		}
	}
	switch len(near) {
	case 0:
		return Notice{}, fmt.Errorf("no part of the program is called %q", name)
	case 1:
		return near[0], nil
	}
	var names []string
	for _, n := range near {
		names = append(names, n.Name)
	}
	return Notice{}, fmt.Errorf("%q could be %s", name, strings.Join(names, ", "))
}

// parse takes the file apart: a line of equals signs, name, version, licences, a line of hyphens, the text.
func parse(file string) ([]Notice, error) {
	var list []Notice
	parts := strings.Split(file, "\n"+strings.Repeat("=", 80)+"\n")
	for i, part := range parts[1:] {
		head, text, ok := strings.Cut(part, "\n"+strings.Repeat("-", 80)+"\n")
		lines := strings.Split(head, "\n")
		if !ok || len(lines) != 3 {
			return nil, fmt.Errorf("part %d has no head of three lines", i+1)
		}
		list = append(list, Notice{Name: lines[0], Version: lines[1], Licences: lines[2],
			Text: strings.TrimSpace(text) + "\n"})
	}
	return list, nil
}

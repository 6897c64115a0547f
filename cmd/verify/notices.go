package main

import (
	"bytes"
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
)

// noticesFile holds the notices of everything that the program is made of, as package notices reads it.
const noticesFile = "web/notices/NOTICES.txt"

// keptNotices are those of what is no module: the file of each lies in the repository.
var keptNotices = []struct{ name, file string }{
	{"Ledgerwheel", "LICENSE"},
	{"Go standard library", "web/notices/kept/go.txt"},
	{"IBM Plex Sans", "web/static/licences/plex-sans-OFL.txt"},
	{"libphonenumber metadata", "web/notices/kept/libphonenumber.txt"},
	{"Unicode data", "web/notices/kept/unicode.txt"},
	{"Vollkorn", "web/static/licences/vollkorn-OFL.txt"},
}

var (
	noticeRule = strings.Repeat("=", 80)
	textRule   = strings.Repeat("-", 80)
)

// licenceKinds names a licence by words that stand in no other; the first found counts.
var licenceKinds = []struct{ words, kind string }{
	{"Mozilla Public License Version 2.0", "MPL-2.0"}, // names the GNU licences, under which it may be used too; its own files stay under it
	{"GNU GENERAL PUBLIC LICENSE", ""},                // not to be linked into a program under Apache 2.0
	{"GNU LESSER GENERAL PUBLIC LICENSE", ""},
	{"GNU AFFERO GENERAL PUBLIC LICENSE", ""},
	{"Apache License Version 2.0", "Apache-2.0"},
	{"SIL OPEN FONT LICENSE Version 1.1", "OFL-1.1"},
	{"UNICODE LICENSE V3", "Unicode-3.0"},
	{"Bitstream Vera Fonts Copyright", "Bitstream-Vera"},
	{"This is free and unencumbered software released into the public domain", "Unlicense"},
	{"Permission to use, copy, modify, and distribute this software for any purpose", "ISC"},
	{"Permission to use, copy, modify, and/or distribute this software for any purpose", "ISC"},
	{"Permission is hereby granted, free of charge, to any person obtaining a copy", "MIT"},
	{"endorse or promote products derived from this software", "BSD-3-Clause"},
	{"Redistribution and use in source and binary forms", "BSD-2-Clause"},
}

// licenceKind is the licence's short name by SPDX, or "" of a text that is not known or not fitting.
func licenceKind(text string) string {
	text = strings.ToLower(strings.Join(strings.Fields(text), " "))
	for _, k := range licenceKinds {
		if strings.Contains(text, strings.ToLower(k.words)) {
			return k.kind
		}
	}
	return ""
}

// module is what the go command says of one module.
type module struct {
	Path, Version, Dir string
	Main               bool
	Replace            *module
}

// linkedModules are the modules of which the program holds a package, in the order of their paths.
func (r *run) linkedModules(ctx context.Context) ([]module, error) {
	cmd := r.command(ctx, "go", "list", "-deps", "-json=Module", "./cmd/ledgerwheel")
	cmd.Stderr = os.Stderr
	out, err := cmd.Output()
	if err != nil {
		return nil, fmt.Errorf("go list -deps: %w", err)
	}
	found := map[string]module{}
	for list := json.NewDecoder(bytes.NewReader(out)); ; {
		var p struct{ Module *module }
		switch err := list.Decode(&p); {
		case errors.Is(err, io.EOF):
			modules := make([]module, 0, len(found))
			for _, m := range found {
				modules = append(modules, m)
			}
			slices.SortFunc(modules, func(a, b module) int { return strings.Compare(a.Path, b.Path) })
			return modules, nil
		case err != nil:
			return nil, err
		case p.Module != nil && !p.Module.Main:
			m := *p.Module
			if m.Replace != nil {
				m.Version, m.Dir = m.Replace.Version, m.Replace.Dir
			}
			found[m.Path] = m
		}
	}
}

var licenceName = regexp.MustCompile(`(?i)licen[cs]e|^(copying|notice|patents)`)

// licenceFiles lists the files with licences in a module's folder and those below it.
func licenceFiles(dir string) ([]string, error) {
	var list []string
	err := filepath.WalkDir(dir, func(path string, d fs.DirEntry, err error) error {
		switch {
		case err != nil:
			return err
		case d.IsDir() && d.Name() == "testdata":
			return filepath.SkipDir
		case d.Type().IsRegular() && filepath.Ext(path) != ".go" && licenceName.MatchString(d.Name()):
			rel, err := filepath.Rel(dir, path)
			list = append(list, filepath.ToSlash(rel))
			return err
		}
		return nil
	})
	return list, err
}

// moduleNotice is a module's licences with their texts, each under its file's name where there are several.
func moduleNotice(m module) (kinds []string, text string, err error) {
	names, err := licenceFiles(m.Dir)
	if err != nil {
		return nil, "", err
	}
	var all strings.Builder
	for _, name := range names {
		body, err := os.ReadFile(filepath.Join(m.Dir, filepath.FromSlash(name)))
		if err != nil {
			return nil, "", err
		}
		if len(names) > 1 {
			fmt.Fprintf(&all, "%s:\n\n", name)
		}
		all.WriteString(strings.TrimSpace(string(body)) + "\n\n")
		if strings.Contains(name, "/") || strings.EqualFold(name, "PATENTS") || strings.EqualFold(name, "NOTICE") || strings.HasSuffix(name, ".license") {
			// Of a part, or no licence by itself: the Apache licence, section 4(d), only asks that a NOTICE go along, and REUSE
			// says of one file beside it (FILE.license) under which of the licences it is.
			continue
		}
		kind := licenceKind(string(body))
		if kind == "" {
			return nil, "", fmt.Errorf("%s: its %s is no licence known to fit: see licenceKinds", m.Path, name)
		}
		kinds = append(kinds, kind)
	}
	if len(kinds) == 0 {
		return nil, "", fmt.Errorf("%s has no licence at its top", m.Path)
	}
	slices.Sort(kinds)
	return slices.Compact(kinds), all.String(), nil
}

// makeNotices writes the whole file anew.
func (r *run) makeNotices(ctx context.Context) ([]byte, error) {
	modules, err := r.linkedModules(ctx)
	if err != nil {
		return nil, err
	}
	var out bytes.Buffer
	out.WriteString("What Ledgerwheel is made of, and under which licences. Made by: go run ./cmd/verify -notices\n")
	add := func(name, version string, kinds []string, text string) error {
		text = strings.ReplaceAll(text, "\r\n", "\n")
		if strings.Contains(text, "\n"+noticeRule+"\n") {
			return fmt.Errorf("%s: the line that parts the notices stands in its text", name)
		}
		fmt.Fprintf(&out, "\n%s\n%s\n%s\n%s\n%s\n\n%s\n", noticeRule, name, version, strings.Join(kinds, ", "), textRule,
			strings.TrimSpace(text))
		return nil
	}
	for _, k := range keptNotices {
		text, err := os.ReadFile(filepath.Join(r.root, filepath.FromSlash(k.file)))
		if err != nil {
			return nil, err
		}
		if err := add(k.name, "", []string{licenceKind(string(text))}, string(text)); err != nil {
			return nil, err
		}
	}
	for _, m := range modules {
		kinds, text, err := moduleNotice(m)
		if err != nil {
			return nil, err
		}
		if err := add(m.Path, m.Version, kinds, text); err != nil {
			return nil, err
		}
	}
	return out.Bytes(), nil
}

// writeNotices brings the file up to date.
func (r *run) writeNotices(ctx context.Context) error {
	text, err := r.makeNotices(ctx)
	if err != nil {
		return err
	}
	return os.WriteFile(filepath.Join(r.root, filepath.FromSlash(noticesFile)), text, 0o644)
}

// notices reports a file that lacks what is linked now, or holds what no longer is.
func (r *run) notices(ctx context.Context) error {
	want, err := r.makeNotices(ctx)
	if err != nil {
		return err
	}
	have, err := os.ReadFile(filepath.Join(r.root, filepath.FromSlash(noticesFile)))
	if err != nil {
		return err
	}
	if !bytes.Equal(want, have) {
		return fmt.Errorf("%s is not what the modules linked now make (run go run ./cmd/verify -notices)", noticesFile)
	}
	return nil
}

package main

import (
	"os"
	"path/filepath"
	"strings"
	"testing"
)

const sampleLicence = `Permission is hereby granted, free of charge, to any person obtaining a
copy of this software ...`

// sample is a small module with a program that is linked from one dependency; licence is that dependency's.
func sample(t *testing.T, licence string) *run {
	t.Helper()
	files := map[string]string{
		"go.mod": "module sample\n\ngo 1.26\n\nrequire example.com/gear v1.0.0\n\nreplace " +
			"example.com/gear => ./gear\n",
		"cmd/ledgerwheel/main.go": "package main\n\nimport _ \"example.com/gear\"\n\nfunc main() {}\n",
		"gear/go.mod":             "module example.com/gear\n\ngo 1.26\n",
		"gear/gear.go":            "package gear\n",
		"gear/LICENSE":            licence,
		"gear/testdata/LICENSE":   "of data that is not linked",
		noticesFile:               "",
	}
	for _, k := range keptNotices {
		files[k.file] = sampleLicence
	}
	dir := write(t, files)
	return &run{root: dir}
}

// TestNoticesAreHeldCurrent: what is linked without its notice, or changed since, fails; writing it anew mends that.
func TestNoticesAreHeldCurrent(t *testing.T) {
	t.Setenv("GOFLAGS", "-mod=mod")
	t.Setenv("GOWORK", "off")
	r := sample(t, sampleLicence)
	if err := r.notices(t.Context()); err == nil || !strings.Contains(err.Error(), "-notices") {
		t.Errorf("a missing notice: %v", err)
	}
	if err := r.writeNotices(t.Context()); err != nil {
		t.Fatal(err)
	}
	if err := r.notices(t.Context()); err != nil {
		t.Error(err)
	}
	text, err := os.ReadFile(filepath.Join(r.root, noticesFile))
	if err != nil {
		t.Fatal(err)
	}
	if !strings.Contains(string(text), "\nexample.com/gear\n\nMIT\n") || strings.Contains(string(text), "not linked") {
		t.Errorf("not the notice of what is linked:\n%s", text)
	}
	if err := os.WriteFile(filepath.Join(r.root, "gear/LICENSE"), []byte(sampleLicence+" changed"), 0o644); err != nil {
		t.Fatal(err)
	}
	if err := r.notices(t.Context()); err == nil {
		t.Error("a changed licence was taken for current")
	}
}

func TestNoticesRefuseWhatDoesNotFit(t *testing.T) {
	t.Setenv("GOFLAGS", "-mod=mod")
	t.Setenv("GOWORK", "off")
	for _, licence := range []string{"GNU GENERAL PUBLIC LICENSE\nVersion 3", "All rights reserved."} {
		if err := sample(t, licence).writeNotices(t.Context()); err == nil || !strings.Contains(err.Error(),
			"example.com/gear") {
			t.Errorf("%q: %v", licence, err)
		}
	}
}

// The phrases are those of the published licences, from memory.
func TestLicenceKind(t *testing.T) {
	t.Parallel()
	const bsd = "Redistribution and use in source and binary forms, with or without modification, are permitted. "
	for text, want := range map[string]string{
		bsd: "BSD-2-Clause",
		bsd + "used to endorse or promote\nproducts derived from this software": "BSD-3-Clause",
		"Apache License\n  Version 2.0, January 2004":                           "Apache-2.0",
		sampleLicence:                                "MIT",
		"GNU LESSER GENERAL PUBLIC LICENSE":          "",
		"Permission is granted to look, not to copy": "",
	} {
		if got := licenceKind(text); got != want {
			t.Errorf("%.40q: %q, want %q", text, got, want)
		}
	}
}

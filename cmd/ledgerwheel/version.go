package main

import (
	"fmt"
	"runtime/debug"
)

type versionCmd struct{}

// Run prints the release, the revision it was built from if that is known, and the Go release.
func (versionCmd) Run(e *env) error {
	goVersion := ""
	if info, ok := debug.ReadBuildInfo(); ok {
		goVersion = info.GoVersion
	}
	_, err := fmt.Fprintf(e.stdout, "ledgerwheel %s %s\n", release(), goVersion)
	return err
}

// release is the version, and the revision it was built from if that is known.
func release() string {
	info, ok := debug.ReadBuildInfo()
	if !ok {
		return "(unknown)"
	}
	for _, s := range info.Settings {
		if s.Key == "vcs.revision" {
			return info.Main.Version + " " + s.Value
		}
	}
	return info.Main.Version
}

package main

import (
	"fmt"
	"runtime/debug"
)

type versionCmd struct{}

// Run prints the release, the revision it was built from if that is known, and the Go release.
func (versionCmd) Run(e *env) error {
	version, revision, goVersion := "(unknown)", "", ""
	if info, ok := debug.ReadBuildInfo(); ok {
		version, goVersion = info.Main.Version, info.GoVersion
		for _, s := range info.Settings {
			if s.Key == "vcs.revision" {
				revision = " " + s.Value
			}
		}
	}
	_, err := fmt.Fprintf(e.stdout, "ledgerwheel %s%s %s\n", version, revision, goVersion)
	return err
}

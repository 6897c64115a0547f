package e2e

import (
	"debug/buildinfo"
	"os/exec"
	"strings"
	"testing"
)

// TestTheBinaryNamesEveryModuleInIt compares what the linker wrote into the built program with what it prints.
func TestTheBinaryNamesEveryModuleInIt(t *testing.T) {
	t.Parallel()
	info, err := buildinfo.ReadFile(binary(t))
	if err != nil {
		t.Fatal(err)
	}
	if len(info.Deps) == 0 {
		t.Fatal("the program says it is linked from no module")
	}
	out, err := exec.Command(binary(t), "licences").Output()
	if err != nil {
		t.Fatal(err)
	}
	printed := map[string]string{}
	for line := range strings.Lines(string(out)) {
		if f := strings.Fields(line); len(f) >= 3 {
			printed[f[0]] = f[1]
		}
	}
	for _, m := range info.Deps {
		if printed[m.Path] != m.Version {
			t.Errorf("%s %s is linked; the list has version %q", m.Path, m.Version, printed[m.Path])
		}
		if text, err := exec.Command(binary(t), "licences", m.Path).Output(); err != nil || len(text) < 200 {
			t.Errorf("%s: %d bytes of licence, %v", m.Path, len(text), err)
		}
	}
}

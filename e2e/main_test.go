// Package e2e tests the whole program from outside: how it starts and stops, journeys in a browser, load and recovery.
package e2e

import (
	"os"
	"os/exec"
	"path/filepath"
	"runtime"
	"strings"
	"sync"
	"testing"
)

// builds is the folder of the program under test; it lasts as long as the test process.
var builds struct {
	once   sync.Once
	dir    string
	binary string
	err    error
}

func TestMain(m *testing.M) {
	code := closing(m.Run())
	if builds.dir != "" {
		os.RemoveAll(builds.dir)
	}
	os.Exit(code)
}

// binary builds the program once and returns its path.
func binary(t testing.TB) string {
	t.Helper()
	builds.once.Do(func() {
		if builds.dir, builds.err = os.MkdirTemp("", "lw-e2e-"); builds.err != nil {
			return
		}
		builds.binary = filepath.Join(builds.dir, "ledgerwheel")
		if runtime.GOOS == "windows" {
			builds.binary += ".exe"
		}
		cmd := exec.Command("go", "build", "-o", builds.binary, "ledgerwheel/cmd/ledgerwheel")
		cmd.Stderr = os.Stderr
		builds.err = cmd.Run()
	})
	if builds.err != nil {
		t.Fatalf("building the program: %v", builds.err)
	}
	return builds.binary
}

// root is the folder of the module.
func root(t testing.TB) string {
	t.Helper()
	out, err := exec.Command("go", "env", "GOMOD").Output()
	if err != nil {
		t.Fatal(err)
	}
	return filepath.Dir(strings.TrimSpace(string(out)))
}

// openFolder is a temporary folder that any user may pass through, unlike t.TempDir's: the private server of a
// program run by root belongs to another user.
func openFolder(t testing.TB) string {
	t.Helper()
	dir, err := os.MkdirTemp("", "lw-e2e-")
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() {
		if err := os.RemoveAll(dir); err != nil {
			t.Error(err)
		}
	})
	if err := os.Chmod(dir, 0o711); err != nil {
		t.Fatal(err)
	}
	return dir
}

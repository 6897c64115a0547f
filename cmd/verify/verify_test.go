package main

import (
	"bytes"
	"context"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"
)

// write makes a small module of its own.
func write(t *testing.T, files map[string]string) string {
	t.Helper()
	dir := t.TempDir()
	for name, text := range files {
		path := filepath.Join(dir, name)
		if err := os.MkdirAll(filepath.Dir(path), 0o755); err != nil {
			t.Fatal(err)
		}
		if err := os.WriteFile(path, []byte(text), 0o644); err != nil {
			t.Fatal(err)
		}
	}
	return dir
}

// TestTally lets the go command run tests of every outcome and checks what is made of its words.
func TestTally(t *testing.T) {
	t.Parallel()
	dir := write(t, map[string]string{
		"go.mod": "module sample\n\ngo 1.26\n",
		"good/good_test.go": `package good
import "testing"
func TestOne(t *testing.T) { t.Log("words of a passing test") }
func TestTwo(t *testing.T) { t.Run("part", func(t *testing.T) {}) }
`,
		"skip/skip_test.go": `package skip
import "testing"
func TestLeft(t *testing.T) { t.Skip("the tide is out") }
`,
		"bad/bad_test.go": `package bad
import "testing"
func TestBad(t *testing.T) { t.Error("rate is 3 s/d, want 2") }
func TestFine(t *testing.T) {}
`,
		"panics/panics_test.go": `package panics
import "testing"
func TestPanics(t *testing.T) { panic("mainspring broken") }
`,
		"exits/exits_test.go": `package exits
import ("os"; "testing")
func TestMain(m *testing.M) { m.Run(); os.Exit(3) }
func TestFine(t *testing.T) {}
`,
		"broken/broken.go":      "package broken\n\nvar X int = \"no\"\n",
		"broken/broken_test.go": "package broken\n\nimport \"testing\"\n\nfunc TestX(t *testing.T) {}\n",
		"none/none.go":          "package none\n",
	})
	cmd := exec.Command("go", "test", "-json", "-count=1", "./...")
	cmd.Dir = dir
	cmd.Env = append(os.Environ(), "GOWORK=off", "GOFLAGS=")
	events, err := cmd.Output()
	if err == nil {
		t.Fatal("go test ended well in spite of failing tests")
	}
	var out bytes.Buffer
	tally := newTally(&out, false)
	if err := tally.read(bytes.NewReader(events)); err != nil {
		t.Fatal(err)
	}
	// Passed: good 3, bad 1, exits 1. Failed: TestBad, TestPanics, and the packages exits and broken as such.
	if tally.passed != 5 || tally.failed != 4 || tally.skipped != 1 {
		t.Errorf("%d passed, %d failed, %d skipped; want 5, 4, 1\n%s", tally.passed, tally.failed, tally.skipped, &out)
	}
	faults := strings.Join(tally.faults, "\n")
	for _, want := range []string{"SKIP  sample/skip TestLeft: skip_test.go:3: the tide is out",
		"FAIL  sample/bad TestBad",
		"FAIL  sample/panics TestPanics", "FAIL  sample/exits", "FAIL  sample/broken"} {
		if !strings.Contains(faults, want) {
			t.Errorf("faults lack %q:\n%s", want, faults)
		}
	}
	for _, want := range []string{"rate is 3 s/d, want 2", "mainspring broken", "cannot use \"no\"", "3 tests",
		"no tests"} {
		if !strings.Contains(out.String(), want) {
			t.Errorf("output lacks %q:\n%s", want, &out)
		}
	}
	if strings.Contains(out.String(), "words of a passing test") {
		t.Errorf("a passing test's words are printed:\n%s", &out)
	}
}

func TestGofmt(t *testing.T) {
	t.Parallel()
	good := write(t, map[string]string{"go.mod": "module sample\n", "a.go": "package a\n", "vendor/b.go": "package  b\n"})
	if err := (&run{root: good}).gofmt(t.Context()); err != nil {
		t.Error(err)
	}
	bad := write(t, map[string]string{"go.mod": "module sample\n", "a/a.go": "package  a\n"})
	if err := (&run{root: bad}).gofmt(t.Context()); err == nil || !strings.Contains(err.Error(),
		filepath.Join("a", "a.go")) {
		t.Errorf("error %v, want one that names a.go", err)
	}
}

func TestSameView(t *testing.T) {
	t.Parallel()
	const view = "package view\n\nreturn templ.Error{Err: err, FileName: `web/view/rail.templ`, Line: 17}\n"
	dir := write(t, map[string]string{
		"a": view,
		"b": strings.Replace(view, "web/view/", "", 1), // made in another folder
		"c": strings.Replace(view, "17", "18", 1),
		"d": strings.Replace(view, "rail", "table", 1),
	})
	for name, want := range map[string]bool{"a": true, "b": true, "c": false, "d": false, "missing": false} {
		if got := sameView(filepath.Join(dir, "a"), filepath.Join(dir, name)); got != want {
			t.Errorf("a and %s the same: %t, want %t", name, got, want)
		}
	}
}

func TestUnreachable(t *testing.T) {
	t.Parallel()
	for text, want := range map[string]bool{
		`go: example.com/x@v1.0.0: Get "https://proxy.example/": dial tcp: lookup proxy.example: no such host`: true,
		"go: module lookup disabled by GOPROXY=off":                                                            true,
		"go: errors parsing go.mod: unknown directive: requires":                                               false,
	} {
		if got := unreachable.MatchString(text); got != want {
			t.Errorf("%q: %t, want %t", text, got, want)
		}
	}
}

func TestToolInstalled(t *testing.T) {
	t.Parallel()
	for _, tt := range []struct {
		tool tool
		want bool
	}{
		{tool{programs: []string{"go"}}, true},
		{tool{programs: []string{"go", "no-such-program"}}, false},
		{tool{programs: []string{"no-such-program", "go"}, anyOf: true}, true},
		{tool{programs: []string{"no-such-program"}, anyOf: true}, false},
	} {
		if got := tt.tool.installed(); got != tt.want {
			t.Errorf("%v: %t, want %t", tt.tool.programs, got, tt.want)
		}
	}
}

// TestSummary checks the closing line and the exit code, on which other programs rely.
func TestSummary(t *testing.T) {
	// Not parallel: it takes standard output away.
	for _, tt := range []struct {
		passed, failed, skipped, code int
		last                          string
	}{
		{12, 0, 0, 0, "12 passed, 0 failed"},
		{11, 1, 0, 1, "11 passed, 1 failed"},
		{11, 0, 1, 1, "11 passed, 0 failed, 1 skipped"},
	} {
		r := &run{passed: tt.passed, failed: tt.failed, skipped: tt.skipped}
		var code int
		out := captured(t, func() { code = r.close() })
		lines := strings.Split(strings.TrimSuffix(out, "\n"), "\n")
		if last := lines[len(lines)-1]; last != tt.last || code != tt.code {
			t.Errorf("last line %q, exit code %d; want %q, %d", last, code, tt.last, tt.code)
		}
	}
}

func TestStepsCount(t *testing.T) {
	r := &run{}
	captured(t, func() {
		r.step(t.Context(), "passes", func(context.Context) error { return nil })
		r.step(t.Context(), "fails", func(context.Context) error { return os.ErrNotExist })
	})
	if r.passed != 1 || r.failed != 1 || len(r.faults) != 1 {
		t.Errorf("%d passed, %d failed, faults %q", r.passed, r.failed, r.faults)
	}
}

// captured returns what do prints on standard output.
func captured(t *testing.T, do func()) string {
	t.Helper()
	f, err := os.CreateTemp(t.TempDir(), "out")
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	saved := os.Stdout
	os.Stdout = f
	defer func() { os.Stdout = saved }()
	do()
	text, err := os.ReadFile(f.Name())
	if err != nil {
		t.Fatal(err)
	}
	return string(text)
}

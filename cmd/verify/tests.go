package main

import (
	"bufio"
	"bytes"
	"cmp"
	"context"
	"encoding/json"
	"fmt"
	"io"
	"maps"
	"os"
	"runtime"
	"slices"
	"strconv"
	"strings"
	"time"
)

// testDatabase is the variable by which tests find the server.
const testDatabase = "LEDGERWHEEL_TEST_DATABASE"

// tests runs every test and follows what `go test -json` says; see `go doc test2json`.
func (r *run) tests(ctx context.Context, url string) error {
	args := []string{"test", "-json", "-count=1", "-timeout=70m", "-p=" + strconv.Itoa(runtime.NumCPU())}
	if r.race {
		args = append(args, "-race")
	}
	cmd := r.command(ctx, "go", append(args, r.packages...)...)
	cmd.Env = append(plainEnv(), testDatabase+"="+url)
	cmd.Stderr = os.Stderr
	stdout, err := cmd.StdoutPipe()
	if err != nil {
		return err
	}
	if err := cmd.Start(); err != nil {
		return err
	}
	t := newTally(os.Stdout, r.verbose)
	readErr := t.read(stdout)
	err = cmd.Wait()
	r.passed += t.passed
	r.failed += t.failed
	r.skipped += t.skipped
	r.faults = append(r.faults, t.faults...)
	switch {
	case readErr != nil:
		return fmt.Errorf("reading the tests' results: %w", readErr)
	case ctx.Err() != nil:
		return context.Cause(ctx)
	case err != nil && t.failed == 0:
		return fmt.Errorf("go test: %w", err)
	case t.passed+t.failed+t.skipped == 0:
		return fmt.Errorf("no test ran")
	}
	return nil
}

// plainEnv is the environment without settings of the program that the person may have.
func plainEnv() []string {
	return slices.DeleteFunc(os.Environ(), func(v string) bool { return strings.HasPrefix(v, "LEDGERWHEEL_") })
}

// event is one line of `go test -json`.
type event struct {
	Action, Package, Test, Output, ImportPath, FailedBuild string
	Elapsed                                                float64 // s
}

// tally counts results and prints what a person wants to see.
type tally struct {
	out     io.Writer
	verbose bool
	// Output not yet printed, by package and test; the package's own under the empty test name.
	held    map[string]map[string]*bytes.Buffer
	counts  map[string]int // tests ended, by package
	failing map[string]int // tests failed, by package
	alive   time.Time      // when something was last printed

	passed, failed, skipped int
	faults                  []string
}

func newTally(out io.Writer, verbose bool) *tally {
	return &tally{out: out, verbose: verbose, held: map[string]map[string]*bytes.Buffer{},
		counts: map[string]int{}, failing: map[string]int{}, alive: time.Now()}
}

func (t *tally) read(in io.Reader) error {
	lines := bufio.NewReader(in)
	for {
		line, err := lines.ReadBytes('\n')
		if len(bytes.TrimSpace(line)) > 0 {
			var e event
			if json.Unmarshal(line, &e) != nil {
				t.print("%s", line) // not the test's but the go command's own words
			} else {
				t.take(e)
			}
		}
		if err == io.EOF {
			return nil
		}
		if err != nil {
			return err
		}
	}
}

func (t *tally) print(format string, args ...any) {
	fmt.Fprintf(t.out, format, args...)
	t.alive = time.Now()
}

// take deals with one event.
func (t *tally) take(e event) {
	switch e.Action {
	case "build-output":
		t.print("%s", e.Output)
	case "output":
		t.hold(e)
	case "pass", "fail", "skip":
		if e.Test == "" {
			t.endPackage(e)
		} else {
			t.endTest(e)
		}
	}
	if time.Since(t.alive) > time.Minute {
		t.print("      ... %s\n", strings.Join(slices.Sorted(maps.Keys(t.held)), ", "))
	}
}

func (t *tally) hold(e event) {
	if t.verbose {
		t.print("%s", e.Output)
	}
	if t.held[e.Package] == nil {
		t.held[e.Package] = map[string]*bytes.Buffer{}
	}
	b := t.held[e.Package][e.Test]
	if b == nil {
		b = &bytes.Buffer{}
		t.held[e.Package][e.Test] = b
	}
	b.WriteString(e.Output)
}

// release takes out what was held of one test.
func (t *tally) release(e event) string {
	b := t.held[e.Package][e.Test]
	delete(t.held[e.Package], e.Test)
	if b == nil {
		return ""
	}
	return b.String()
}

func (t *tally) endTest(e event) {
	t.counts[e.Package]++
	text := t.release(e)
	name := e.Package + " " + e.Test
	switch e.Action {
	case "pass":
		t.passed++
		return
	case "skip":
		t.skipped++
		t.faults = append(t.faults, fmt.Sprintf("SKIP  %s: %s", name, reason(text)))
	case "fail":
		t.failed++
		t.failing[e.Package]++
		t.faults = append(t.faults, "FAIL  "+name)
	}
	if !t.verbose {
		t.print("%s", text)
	}
}

// reason is what a skipped test says for itself.
func reason(text string) string {
	var said []string
	for line := range strings.Lines(text) {
		line = strings.TrimSpace(line)
		if line != "" && !strings.HasPrefix(line, "=== ") && !strings.HasPrefix(line, "--- ") {
			said = append(said, line)
		}
	}
	return cmp.Or(strings.Join(said, " "), "no reason given")
}

func (t *tally) endPackage(e event) {
	held := t.held[e.Package]
	delete(t.held, e.Package)
	switch {
	case e.Action == "fail":
		if t.failing[e.Package] == 0 { // a build that fails, a panic, a run out of time
			t.failed++
			t.faults = append(t.faults, "FAIL  "+e.Package)
		}
		if !t.verbose {
			for _, test := range slices.Sorted(maps.Keys(held)) {
				t.print("%s", held[test])
			}
		}
		t.print("FAIL  %-44s %7.1f s\n", e.Package, e.Elapsed)
	case t.counts[e.Package] == 0:
		t.print("-     %-44s no tests\n", e.Package)
	default:
		t.print("ok    %-44s %7.1f s %6d tests\n", e.Package, e.Elapsed, t.counts[e.Package])
	}
}

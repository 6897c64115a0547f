// Verify runs every check and every test of Ledgerwheel: it installs the programs that tests need where it can,
// checks formatting, vet, staticcheck, the generated views, the notices, the module file and known vulnerabilities, and then runs all tests
// against a private PostgreSQL. Nothing is skipped in silence: a skipped test counts against the run.
//
//	go run ./cmd/verify [-v] [-race] [package...]
//	go run ./cmd/verify -notices
//
// The second writes the third-party notices anew, which is needed after a change of dependencies.
// The last line reads "N passed, N failed", checks and tests together; the exit code is 0 only if nothing failed and
// nothing was skipped.
package main

import (
	"context"
	"errors"
	"flag"
	"fmt"
	"os"
	"os/exec"
	"os/signal"
	"path/filepath"
	"strings"
	"syscall"
	"time"
)

// run is one run of all checks.
type run struct {
	root     string // the module's folder
	scratch  string // a temporary folder
	verbose  bool
	race     bool
	packages []string

	passed, failed, skipped int
	faults                  []string // one line for each thing that failed or was skipped
}

func main() {
	r := &run{}
	flag.BoolVar(&r.verbose, "v", false, "show the output of every test as it comes")
	flag.BoolVar(&r.race, "race", false, "run the tests under the race detector")
	notices := flag.Bool("notices", false, "write the third-party notices again, and do nothing else")
	flag.Parse()
	if r.packages = flag.Args(); len(r.packages) == 0 {
		r.packages = []string{"./..."}
	}
	ctx, stop := signal.NotifyContext(context.Background(), os.Interrupt, syscall.SIGTERM)
	defer stop()
	ctx = endWithParent(ctx)
	if *notices {
		if err := errors.Join(r.findRoot(ctx), r.writeNotices(ctx)); err != nil {
			fmt.Fprintln(os.Stderr, "verify:", err)
			os.Exit(1)
		}
		return
	}
	if err := r.all(ctx); err != nil {
		r.fault("verify", err)
	}
	os.Exit(r.close())
}

// endWithParent returns a context that also ends when the process that started this one dies, as `go run` passes no
// SIGTERM on.
func endWithParent(ctx context.Context) context.Context {
	ctx, cancel := context.WithCancel(ctx)
	parent := os.Getppid()
	go func() {
		for os.Getppid() == parent {
			time.Sleep(300 * time.Millisecond)
		}
		cancel()
	}()
	return ctx
}

// findRoot asks the go command for the module's folder.
func (r *run) findRoot(ctx context.Context) error {
	gomod, err := exec.CommandContext(ctx, "go", "env", "GOMOD").Output()
	if err != nil {
		return fmt.Errorf("go env GOMOD: %w", err)
	}
	r.root = filepath.Dir(strings.TrimSpace(string(gomod)))
	return nil
}

func (r *run) all(ctx context.Context) (err error) {
	if err := r.findRoot(ctx); err != nil {
		return err
	}
	if r.scratch, err = os.MkdirTemp("", "lw-verify-"); err != nil {
		return err
	}
	defer func() { err = errors.Join(err, os.RemoveAll(r.scratch)) }()

	r.step(ctx, "programs that tests need", r.tools)
	r.step(ctx, "gofmt", r.gofmt)
	r.step(ctx, "go vet", r.vet)
	r.step(ctx, "staticcheck", r.staticcheck)
	r.step(ctx, "generated views are current", r.templ)
	r.step(ctx, "third-party notices are current", r.notices)
	r.step(ctx, "go.mod is tidy", r.tidy)
	r.step(ctx, "no known vulnerabilities", r.vulnerabilities)
	var pg *postgres
	r.step(ctx, "private PostgreSQL for the tests", func(ctx context.Context) (err error) {
		pg, err = r.startPostgres(ctx)
		return err
	})
	if pg == nil || ctx.Err() != nil {
		return context.Cause(ctx)
	}
	began := time.Now()
	err = r.tests(ctx, pg.url)
	fmt.Printf("tests took %s\n", seconds(time.Since(began)))
	return errors.Join(err, pg.stop())
}

// step runs one check and says how long it took. It counts like a test.
func (r *run) step(ctx context.Context, name string, check func(context.Context) error) {
	if ctx.Err() != nil {
		return
	}
	fmt.Printf("%s ...\n", name)
	began := time.Now()
	if err := check(ctx); err != nil {
		fmt.Printf("FAIL  %s (%s)\n%v\n", name, seconds(time.Since(began)), err)
		first, _, _ := strings.Cut(err.Error(), "\n")
		r.fault(name, errors.New(first))
		return
	}
	fmt.Printf("ok    %s (%s)\n", name, seconds(time.Since(began)))
	r.passed++
}

func (r *run) fault(what string, err error) {
	r.failed++
	r.faults = append(r.faults, fmt.Sprintf("FAIL  %s: %v", what, err))
}

// close prints the summary and returns the exit code.
func (r *run) close() int {
	if len(r.faults) > 0 {
		fmt.Printf("\n%s\n", strings.Join(r.faults, "\n"))
	}
	fmt.Println()
	line := fmt.Sprintf("%d passed, %d failed", r.passed, r.failed)
	if r.skipped > 0 {
		line += fmt.Sprintf(", %d skipped", r.skipped)
	}
	fmt.Println(line)
	if r.failed > 0 || r.skipped > 0 {
		return 1
	}
	return 0
}

func seconds(d time.Duration) string { return fmt.Sprintf("%.1f s", d.Seconds()) }

// command prepares a program that runs in the module's folder and ends with ctx.
func (r *run) command(ctx context.Context, name string, args ...string) *exec.Cmd {
	cmd := exec.CommandContext(ctx, name, args...)
	cmd.Dir = r.root
	cmd.Cancel = func() error { return cmd.Process.Signal(os.Interrupt) }
	cmd.WaitDelay = 20 * time.Second
	return cmd
}

// output runs a program; what it wrote becomes the error's text if it fails.
func (r *run) output(ctx context.Context, name string, args ...string) (string, error) {
	out, err := r.command(ctx, name, args...).CombinedOutput()
	if err != nil {
		return string(out), fmt.Errorf("%s%s %s: %w", out, name, strings.Join(args, " "), err)
	}
	return string(out), nil
}

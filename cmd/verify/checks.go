package main

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
)

// files lists the module's files with one of the endings, vendor and hidden folders apart.
func files(root string, endings ...string) ([]string, error) {
	var list []string
	err := filepath.WalkDir(root, func(path string, d fs.DirEntry, err error) error {
		if err != nil {
			return err
		}
		if d.IsDir() && path != root && (d.Name() == "vendor" || strings.HasPrefix(d.Name(), ".")) {
			return filepath.SkipDir
		}
		if d.Type().IsRegular() && slices.ContainsFunc(endings, func(e string) bool { return strings.HasSuffix(path, e) }) {
			rel, err := filepath.Rel(root, path)
			list = append(list, rel)
			return err
		}
		return nil
	})
	return list, err
}

func (r *run) gofmt(ctx context.Context) error {
	list, err := files(r.root, ".go")
	if err != nil {
		return err
	}
	goroot, err := r.output(ctx, "go", "env", "GOROOT")
	if err != nil {
		return err
	}
	program := filepath.Join(strings.TrimSpace(goroot), "bin", "gofmt")
	if _, err := os.Stat(program); err != nil {
		program = "gofmt" // some distributions keep it on PATH alone
	}
	out, err := r.output(ctx, program, append([]string{"-l"}, list...)...)
	if err != nil {
		return err
	}
	if out != "" {
		return fmt.Errorf("gofmt would change: %s", strings.Join(strings.Fields(out), ", "))
	}
	return nil
}

func (r *run) vet(ctx context.Context) error {
	_, err := r.output(ctx, "go", "vet", "./...")
	return err
}

func (r *run) staticcheck(ctx context.Context) error {
	_, err := r.output(ctx, "go", "tool", "staticcheck", "./...")
	return err
}

// tidy reports requirements that go.mod lacks or has too many of. Finding out takes the modules that the
// dependencies' own tests need; out of reach of them it says so, as the build itself needs none of those.
func (r *run) tidy(ctx context.Context) error {
	cmd := r.command(ctx, "go", "mod", "tidy", "-diff")
	var diff, complaints bytes.Buffer
	cmd.Stdout, cmd.Stderr = &diff, &complaints
	err := cmd.Run()
	switch {
	case diff.Len() > 0:
		return fmt.Errorf("go mod tidy would change:\n%s", &diff)
	case err != nil && unreachable.Match(complaints.Bytes()):
		fmt.Printf("NOT CHECKED: the module proxy is out of reach\n%s", &complaints)
		return nil
	case err != nil:
		return fmt.Errorf("go mod tidy -diff: %w\n%s", err, &complaints)
	}
	return nil
}

var unreachable = regexp.MustCompile(`dial tcp|no such host|i/o timeout|connection refused|module lookup disabled|TLS handshake timeout`)

// templ generates the views anew in a copy and compares. Templ writes each view's path, for its error messages,
// relative to the folder it was started in; that folder may be any.
func (r *run) templ(ctx context.Context) error {
	views, err := files(r.root, ".templ")
	if err != nil {
		return err
	}
	if len(views) == 0 {
		return errors.New("no views (*.templ) found")
	}
	fresh := filepath.Join(r.scratch, "views")
	for _, name := range append(views, "go.mod") {
		if err := copyFile(filepath.Join(r.root, name), filepath.Join(fresh, name)); err != nil {
			return err
		}
	}
	if _, err := r.output(ctx, "go", "tool", "templ", "generate", "-path", fresh); err != nil {
		return err
	}
	want, err := files(fresh, "_templ.go")
	if err != nil {
		return err
	}
	have, err := files(r.root, "_templ.go")
	if err != nil {
		return err
	}
	var stale []string
	for _, name := range union(want, have) {
		if !sameView(filepath.Join(fresh, name), filepath.Join(r.root, name)) {
			stale = append(stale, name)
		}
	}
	if len(stale) > 0 {
		return fmt.Errorf("not what templ generates (run go tool templ generate): %s", strings.Join(stale, ", "))
	}
	return nil
}

func union(a, b []string) []string {
	all := slices.Concat(a, b)
	slices.Sort(all)
	return slices.Compact(all)
}

var viewPath = regexp.MustCompile("FileName: `[^`]*[/\\\\]")

// sameView compares two generated files but for the folders before the view's name; a missing one equals nothing.
func sameView(a, b string) bool {
	x, errX := os.ReadFile(a)
	y, errY := os.ReadFile(b)
	if errX != nil || errY != nil {
		return false
	}
	plain := []byte("FileName: `")
	return bytes.Equal(viewPath.ReplaceAll(x, plain), viewPath.ReplaceAll(y, plain))
}

func copyFile(from, to string) error {
	text, err := os.ReadFile(from)
	if err != nil {
		return err
	}
	if err := os.MkdirAll(filepath.Dir(to), 0o755); err != nil {
		return err
	}
	return os.WriteFile(to, text, 0o644)
}

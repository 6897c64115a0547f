// Package published holds the domain's tests to the published figures that lie in their testdata: standards, handbook
// tables, worked examples; and, with Share, to the shares that the program itself publishes. It is for tests only,
// and a package of its own since the tests of several packages need it; no program may import it (see the import
// rules in e2e).
//
// A row in a file proves nothing. Hold proves that each is read, and that every figure which a row expects is compared
// with something: it spoils them one by one and wants a check to fail each time.
package published

import (
	"encoding/json"
	"fmt"
	"maps"
	"math"
	"os"
	"path"
	"runtime"
	"slices"
	"strconv"
	"testing"
)

// Row is one row of a file: what goes in, what must come out, and where it was published. Confidence says whether the
// figure was read there, recalled ("memory"), or computed from the formula named ("derived").
type Row struct {
	ID                       string
	Inputs, Expected         json.RawMessage
	Source, Confidence, Note string
}

// T is where a check reports: a test, or the ear that listens whether a spoilt row is noticed.
type T interface {
	Helper()
	Error(...any)
	Errorf(string, ...any)
	Fatal(...any)
	Fatalf(string, ...any)
}

// Check compares a row with what the program computes.
type Check func(T, Row)

// Read decodes the row into pointers; nil leaves a side unread.
func (r Row) Read(t T, inputs, expected any) {
	t.Helper()
	for _, side := range []struct {
		raw  json.RawMessage
		into any
	}{{r.Inputs, inputs}, {r.Expected, expected}} {
		if side.into == nil {
			continue
		}
		if err := json.Unmarshal(side.raw, side.into); err != nil {
			t.Fatalf("%s: %v", r.ID, err)
		}
	}
}

// Rows reads a file.
func Rows(t T, file string) []Row {
	t.Helper()
	raw, err := os.ReadFile(file)
	if err != nil {
		t.Fatal(err)
	}
	var list []Row
	if err := json.Unmarshal(raw, &list); err != nil {
		t.Fatalf("%s: %v", file, err)
	}
	return list
}

// Hold runs every row of a file through the checks whose patterns match its id (see path.Match), and fails where a
// row has none, where one of its expected figures can be spoilt unnoticed, and where a pattern matches nothing.
// notApplicable names, with the reason, what no check answers: a row by its id, or one figure of it by "id figure",
// patterns too.
func Hold(t *testing.T, file string, checks map[string]Check, notApplicable map[string]string) {
	t.Helper()
	list := Rows(t, file)
	for _, r := range list {
		for _, pattern := range matching(checks, r.ID) {
			t.Run(r.ID, func(t *testing.T) {
				t.Logf("%s (%s)", r.Source, r.Confidence)
				checks[pattern](t, r)
			})
		}
	}
	for _, problem := range problems(list, checks, notApplicable) {
		t.Error(problem)
	}
}

// problems says what of the rows is held to by nothing.
func problems(list []Row, checks map[string]Check, notApplicable map[string]string) (bad []string) {
	used := map[string]bool{}
	excused := func(what string) bool {
		found := matching(notApplicable, what)
		for _, pattern := range found {
			used[pattern] = true
			if notApplicable[pattern] == "" {
				bad = append(bad, pattern+": no reason is given why it does not apply")
			}
		}
		return len(found) > 0
	}
	for _, r := range list {
		patterns := matching(checks, r.ID)
		for _, pattern := range patterns {
			used[pattern] = true
		}
		switch {
		case excused(r.ID):
			if len(patterns) > 0 {
				bad = append(bad, r.ID+": has a check, and is said not to apply")
			}
			continue
		case len(patterns) == 0:
			bad = append(bad, r.ID+": no check reads this row")
			continue
		}
		for _, s := range spoilt(r) {
			noticed := slices.ContainsFunc(patterns, func(p string) bool { return fails(checks[p], s.row) })
			if !noticed && !excused(r.ID+" "+s.figure) {
				bad = append(bad, fmt.Sprintf("%s: %s may be %s, and no check notices", r.ID, s.figure, s.value))
			}
		}
	}
	for _, pattern := range slices.Sorted(maps.Keys(merged(checks, notApplicable))) {
		if !used[pattern] {
			bad = append(bad, pattern+": matches nothing")
		}
	}
	return bad
}

func merged(checks map[string]Check, notApplicable map[string]string) map[string]bool {
	all := map[string]bool{}
	for pattern := range checks {
		all[pattern] = true
	}
	for pattern := range notApplicable {
		all[pattern] = true
	}
	return all
}

// matching returns the patterns that match, in order. It panics on a faulty pattern.
func matching[V any](patterns map[string]V, what string) (found []string) {
	for _, pattern := range slices.Sorted(maps.Keys(patterns)) {
		ok, err := path.Match(pattern, what)
		if err != nil {
			panic(fmt.Sprintf("published: pattern %q: %v", pattern, err))
		}
		if ok {
			found = append(found, pattern)
		}
	}
	return found
}

// spoiling is a row with one figure made wrong.
type spoiling struct {
	row           Row
	figure, value string
}

// spoilt returns the row once for each way to spoil one expected figure. Its name is the way to it, such as daily.2, or
// "expected" where it is all there is.
func spoilt(r Row) (list []spoiling) {
	var whole any
	if err := json.Unmarshal(r.Expected, &whole); err != nil {
		return []spoiling{{row: r, figure: "expected", value: "no JSON"}}
	}
	walk("", whole, func(figure string, put func(any) any, was any) {
		for _, wrong := range wrongs(was) {
			raw, err := json.Marshal(put(wrong))
			if err != nil {
				panic(err) // what came from JSON goes back
			}
			value, _ := json.Marshal(wrong)
			bad := r
			bad.Expected = raw
			list = append(list, spoiling{bad, figure, string(value)})
		}
	})
	return list
}

// walk visits the figures of a value: whatever holds nothing further. put returns the whole with another in its place.
func walk(at string, v any, visit func(figure string, put func(any) any, was any)) {
	below := func(name string) string {
		if at == "" {
			return name
		}
		return at + "." + name
	}
	switch v := v.(type) {
	case map[string]any:
		for _, key := range slices.Sorted(maps.Keys(v)) {
			walk(below(key), v[key], func(figure string, put func(any) any, was any) {
				visit(figure, func(x any) any { c := maps.Clone(v); c[key] = put(x); return c }, was)
			})
		}
		if len(v) > 0 {
			return
		}
	case []any:
		for i := range v {
			walk(below(strconv.Itoa(i)), v[i], func(figure string, put func(any) any, was any) {
				visit(figure, func(x any) any { c := slices.Clone(v); c[i] = put(x); return c }, was)
			})
		}
		if len(v) > 0 {
			return
		}
	}
	if at == "" {
		at = "expected"
	}
	visit(at, func(x any) any { return x }, v)
}

// wrongs are a figure made wrong: a number a quarter too great and too small, whole ones staying whole so that they
// are read all the same; another word; the other truth.
func wrongs(v any) []any {
	switch v := v.(type) {
	case float64:
		off := math.Abs(v) / 4
		if v == math.Trunc(v) {
			off = max(1, math.Round(off))
		}
		return []any{v + off, v - off}
	case string:
		return []any{"bogus"}
	case bool:
		return []any{!v}
	case []any: // an empty list
		return []any{[]any{"bogus"}}
	case map[string]any:
		return []any{map[string]any{"bogus": 1}}
	}
	return []any{1}
}

// fails reports whether the check finds fault with the row.
func fails(check Check, r Row) bool {
	heard := &ear{}
	done := make(chan struct{})
	go func() { // Fatal ends it
		defer close(done)
		defer func() {
			if recover() != nil {
				heard.failed = true
			}
		}()
		check(heard, r)
	}()
	<-done
	return heard.failed
}

// ear hears whether a check fails.
type ear struct{ failed bool }

func (e *ear) Helper()               {}
func (e *ear) Error(...any)          { e.failed = true }
func (e *ear) Errorf(string, ...any) { e.failed = true }
func (e *ear) Fatal(...any)          { e.failed = true; runtime.Goexit() }
func (e *ear) Fatalf(string, ...any) { e.Fatal() }

// Near holds a figure to an expected one within a tolerance. It refuses NaN.
func Near(t T, what string, got, want, tolerance float64) {
	t.Helper()
	if !(math.Abs(got-want) <= tolerance) {
		t.Errorf("%s: got %v, want %v within %v", what, got, want, tolerance)
	}
}

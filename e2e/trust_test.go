package e2e

import (
	"io/fs"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"
)

var (
	namedTest = regexp.MustCompile("`(Test[A-Za-z0-9]+)`")
	testFunc  = regexp.MustCompile(`(?m)^func (Test[A-Za-z0-9]+)\(`)
)

// TestTrustNamesTestsThatExist: what docs/trust.md promises is shown by tests that are there.
func TestTrustNamesTestsThatExist(t *testing.T) {
	t.Parallel()
	text, err := os.ReadFile("../docs/trust.md")
	if err != nil {
		t.Fatal(err)
	}
	there := map[string]bool{}
	err = filepath.WalkDir("..", func(path string, d fs.DirEntry, err error) error {
		if err != nil || d.IsDir() || !strings.HasSuffix(path, "_test.go") {
			return err
		}
		source, err := os.ReadFile(path)
		for _, m := range testFunc.FindAllSubmatch(source, -1) {
			there[string(m[1])] = true
		}
		return err
	})
	if err != nil {
		t.Fatal(err)
	}
	named := namedTest.FindAllSubmatch(text, -1)
	if len(named) < 20 {
		t.Errorf("only %d tests are named", len(named))
	}
	for _, m := range named {
		if !there[string(m[1])] {
			t.Errorf("docs/trust.md names %s, which is not there", m[1])
		}
	}
}

package e2e

import (
	"fmt"
	"go/ast"
	"go/parser"
	"go/token"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"testing"
)

// asvsStates are what a line of docs/asvs.md can say, in the order of the counts at its top.
var asvsStates = []string{"held by test", "held by construction", "does not apply", "not held"}

// asvsLine is one requirement as the page answers it.
type asvsLine struct{ number, level, asks, state, where string }

var (
	asvsRow  = regexp.MustCompile(`^\| (\d+\.\d+\.\d+) \| ([12]) \| (.*) \| (.*) \| (.*) \|$`)
	asvsSpan = regexp.MustCompile("`([^`]+)`")
	asvsTest = regexp.MustCompile(`^([a-z0-9/]+) (Test\w+)$`)
	asvsFile = regexp.MustCompile(`^([\w./-]+\.(go|md|js|sql|templ|yml|txt)|Dockerfile|go\.mod)$`)
)

// TestASVS holds docs/asvs.md against the list of requirements and against the tree.
func TestASVS(t *testing.T) {
	t.Parallel()
	page, err := os.ReadFile("../docs/asvs.md")
	if err != nil {
		t.Fatal(err)
	}
	list, err := os.ReadFile("testdata/asvs.txt")
	if err != nil {
		t.Fatal(err)
	}
	for _, fault := range asvsFaults(t, string(page), string(list)) {
		t.Error(fault)
	}
}

// TestASVSBites spoils the page in each way that TestASVS is there to find.
func TestASVSBites(t *testing.T) {
	t.Parallel()
	const list = "# source\n1.1.1 1\n1.1.2 2\n1.1.3 2\n1.1.4 2\n"
	const good = "| held by test | 1 | 0 | 1 |\n| held by construction | 0 | 1 | 1 |\n| does not apply | 0 | 1 | 1 |\n" +
		"| not held | 0 | 1 | 1 |\n| all | 1 | 3 | 4 |\n\n" +
		"| 1.1.1 | 1 | a | held by test | `e2e TestASVS` |\n| 1.1.2 | 2 | a | held by construction | `docs/asvs.md` |\n" +
		"| 1.1.3 | 2 | a | does not apply | No such thing here. |\n| 1.1.4 | 2 | a | not held | Nothing does it. |\n"
	if faults := asvsFaults(t, good, list); len(faults) > 0 {
		t.Fatalf("a good page: %q", faults)
	}
	for _, c := range [][2]string{
		{"| 1.1.2 | 2 |", "| 1.1.9 | 2 |"}, {"| 1.1.2 | 2 |", "| 1.1.1 | 2 |"}, {"| 1.1.2 | 2 |", "| 1.1.2 | 1 |"},
		{"`e2e TestASVS`", "`e2e TestOfNothing`"}, {"`e2e TestASVS`", "`web TestASVS`"}, {"`e2e TestASVS`", "See the code."},
		{"`docs/asvs.md`", "`docs/none.md`"}, {"`docs/asvs.md`", "Somewhere."}, {"`docs/asvs.md`", "`TestASVS`"},
		{"No such thing here.", ""}, {"| a | not held", "| a | nearly held"}, {"| a | not held", "|  | not held"},
		{"| held by test | 1 | 0 | 1 |", "| held by test | 2 | 0 | 2 |"}, {"| all | 1 | 3 | 4 |", ""},
		{"| 1.1.4 | 2 | a | not held | Nothing does it. |\n", ""},
	} {
		if spoilt := strings.Replace(good, c[0], c[1], 1); spoilt == good || len(asvsFaults(t, spoilt, list)) == 0 {
			t.Errorf("%q in place of %q goes unseen", c[1], c[0])
		}
	}
}

// asvsFaults says what is wrong with the page.
func asvsFaults(t *testing.T, page, list string) (faults []string) {
	t.Helper()
	fault := func(format string, args ...any) { faults = append(faults, fmt.Sprintf(format, args...)) }
	levels := map[string]string{}
	for _, line := range strings.Split(list, "\n") {
		if number, level, ok := strings.Cut(line, " "); ok && number != "#" {
			levels[number] = level
		}
	}
	seen, counts := map[string]bool{}, map[string]int{}
	for _, line := range strings.Split(page, "\n") {
		m := asvsRow.FindStringSubmatch(line)
		if m == nil {
			continue
		}
		l := asvsLine{m[1], m[2], m[3], m[4], m[5]}
		if levels[l.number] != l.level {
			fault("%s is of level %q, the page says %s", l.number, levels[l.number], l.level)
		}
		if seen[l.number] {
			fault("%s stands twice", l.number)
		}
		seen[l.number] = true
		counts[l.state+" "+l.level]++
		faults = append(faults, l.faults(t)...)
	}
	for number := range levels {
		if !seen[number] {
			fault("%s is missing", number)
		}
	}
	var all [2]int
	for _, state := range asvsStates {
		one, two := counts[state+" 1"], counts[state+" 2"]
		all[0], all[1] = all[0]+one, all[1]+two
		if want := fmt.Sprintf("| %s | %d | %d | %d |", state, one, two, one+two); !strings.Contains(page, want) {
			fault("the counts at the top lack %s", want)
		}
	}
	if want := fmt.Sprintf("| all | %d | %d | %d |", all[0], all[1], all[0]+all[1]); !strings.Contains(page, want) {
		fault("the counts at the top lack %s", want)
	}
	return faults
}

// faults says what is wrong with one line: a state that there is none of, a name that leads nowhere, or none at all.
func (l asvsLine) faults(t *testing.T) (faults []string) {
	t.Helper()
	if !slices.Contains(asvsStates, l.state) {
		faults = append(faults, fmt.Sprintf("%s is %q", l.number, l.state))
	}
	if strings.TrimSpace(l.asks) == "" || strings.TrimSpace(l.where) == "" {
		faults = append(faults, l.number+" lacks words")
	}
	var tests, files int
	for _, span := range asvsSpan.FindAllStringSubmatch(l.where, -1) {
		if m := asvsTest.FindStringSubmatch(span[1]); m != nil {
			tests++
			if !asvsHasTest(t, m[1], m[2]) {
				faults = append(faults, fmt.Sprintf("%s: %s has no test %s", l.number, m[1], m[2]))
			}
		} else if asvsFile.MatchString(span[1]) {
			files++
			if _, err := os.Stat(filepath.Join("..", span[1])); err != nil {
				faults = append(faults, fmt.Sprintf("%s: %v", l.number, err))
			}
		} else if strings.Contains(span[1], "Test") {
			faults = append(faults, fmt.Sprintf("%s: %s names no package", l.number, span[1]))
		}
	}
	if l.state == asvsStates[0] && tests == 0 || l.state == asvsStates[1] && files == 0 {
		faults = append(faults, l.number+" is "+l.state+" and names none")
	}
	return faults
}

// asvsHasTest reports whether a test function of that name stands in a package's folder.
func asvsHasTest(t *testing.T, folder, name string) bool {
	t.Helper()
	files, err := filepath.Glob(filepath.Join("..", folder, "*_test.go"))
	if err != nil {
		t.Fatal(err)
	}
	for _, path := range files {
		file, err := parser.ParseFile(token.NewFileSet(), path, nil, parser.SkipObjectResolution)
		if err != nil {
			t.Fatal(err)
		}
		for _, d := range file.Decls {
			if f, ok := d.(*ast.FuncDecl); ok && f.Recv == nil && f.Name.Name == name {
				return true
			}
		}
	}
	return false
}

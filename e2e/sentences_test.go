package e2e

import (
	"fmt"
	"go/ast"
	"go/parser"
	"go/token"
	"io/fs"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"testing"

	"ledgerwheel/domain/tongue"
)

// sentencesAsked is what a source asks of the languages' files: keys by Say and Count, beginnings of keys that are put
// together there, and every other text that might be a key.
type sentencesAsked struct {
	keys, beginnings map[string]string // to where
	texts            map[string]bool
}

// askedIn reads one Go source.
func (a sentencesAsked) askedIn(name string, source any) error {
	set := token.NewFileSet()
	file, err := parser.ParseFile(set, name, source, parser.SkipObjectResolution)
	if err != nil {
		return err
	}
	ast.Inspect(file, func(n ast.Node) bool {
		switch n := n.(type) {
		case *ast.BasicLit:
			if n.Kind == token.STRING {
				text, _ := strconv.Unquote(n.Value)
				a.texts[text] = true
			}
		case *ast.CallExpr:
			sel, ok := n.Fun.(*ast.SelectorExpr)
			if !ok || len(n.Args) == 0 || sel.Sel.Name != "Say" && sel.Sel.Name != "Count" {
				return true
			}
			if of, ok := sel.X.(*ast.Ident); ok && (of.Name == "strings" || of.Name == "bytes") {
				return true
			}
			where := set.Position(n.Pos()).String()
			switch arg := n.Args[0].(type) {
			case *ast.BasicLit:
				if text, err := strconv.Unquote(arg.Value); err == nil && arg.Kind == token.STRING {
					a.keys[text] = where
				}
			case *ast.BinaryExpr:
				var first ast.Expr = arg
				for {
					sum, ok := first.(*ast.BinaryExpr)
					if !ok {
						break
					}
					first = sum.X
				}
				if lit, ok := first.(*ast.BasicLit); ok && lit.Kind == token.STRING {
					text, _ := strconv.Unquote(lit.Value)
					a.beginnings[text] = where
				}
			}
		}
		return true
	})
	return nil
}

// wrong lists keys asked for that no file has, and sentences that nothing asks for.
func (a sentencesAsked) wrong(keys []string) []string {
	var list []string
	begins := func(beginning string) bool {
		return slices.ContainsFunc(keys, func(key string) bool { return strings.HasPrefix(key, beginning) })
	}
	for key, where := range a.keys {
		if !slices.Contains(keys, key) {
			list = append(list, fmt.Sprintf("%s asks for %q, which no language has", where, key))
		}
	}
	for beginning, where := range a.beginnings {
		if !begins(beginning) {
			list = append(list, fmt.Sprintf("%s asks for %q…, and no key begins so", where, beginning))
		}
	}
	for _, key := range keys {
		used := a.texts[key]
		for i, r := range key { // put together of a beginning that ends in a point
			used = used || r == '.' && a.texts[key[:i+1]]
		}
		if !used {
			list = append(list, fmt.Sprintf("nothing asks for %q", key))
		}
	}
	slices.Sort(list)
	return list
}

func noneAsked() sentencesAsked {
	return sentencesAsked{map[string]string{}, map[string]string{}, map[string]bool{}}
}

// TestEverySentenceIsThereAndAsked reads every source of the program, generated pages included: each key that is asked for
// is in the languages' files, and each sentence there is asked for.
func TestEverySentenceIsThereAndAsked(t *testing.T) {
	t.Parallel()
	asked := noneAsked()
	read := 0
	for _, folder := range []string{"cmd", "domain", "store", "web"} {
		err := filepath.WalkDir(filepath.Join("..", folder), func(path string, entry fs.DirEntry, err error) error {
			if err != nil || entry.IsDir() || !strings.HasSuffix(path, ".go") || strings.HasSuffix(path, "_test.go") {
				return err
			}
			read++
			return asked.askedIn(path, nil)
		})
		if err != nil {
			t.Fatal(err)
		}
	}
	if read < 200 || len(asked.keys) < 50 {
		t.Errorf("%d sources read, %d keys found: is something left out?", read, len(asked.keys))
	}
	for _, w := range asked.wrong(tongue.Keys(tongue.English)) {
		t.Error(w)
	}
}

// TestEverySentenceIsThereBites plants what the test above must find.
func TestEverySentenceIsThereBites(t *testing.T) {
	t.Parallel()
	asked := noneAsked()
	const source = `package p
func f(t tongue) { t.Say("is.there"); t.Say("is.not"); t.Count("part." + kind, 2); t.Say("no." + kind); strings.Count("a.b", "a") }`
	if err := asked.askedIn("planted.go", source); err != nil {
		t.Fatal(err)
	}
	got := strings.Join(asked.wrong([]string{"is.there", "part.dial", "unasked.for"}), "\n")
	for _, want := range []string{`asks for "is.not"`, `asks for "no."…`, `nothing asks for "unasked.for"`} {
		if !strings.Contains(got, want) {
			t.Errorf("%q is not among\n%s", want, got)
		}
	}
	if strings.Count(got, "\n") != 2 {
		t.Errorf("more than was planted:\n%s", got)
	}
}

// promises are words by which a shop would promise what a watch holds. What was tested on a day is said instead, with its figure (ISO
// 22810:2010 has the mark given by the maker after testing; seals age, which is common practice).
var promises = regexp.MustCompile(`(?i)water[- ]?(proof|tight|resistan)|wasser(dicht|fest|geschützt)|étanch|resistant to water|resiste à l’eau|résiste à l’eau`)

// TestNobodyPromisesThatAWatchHoldsWater reads every sentence of papers and of the customer's page, and the words of messages.
func TestNobodyPromisesThatAWatchHoldsWater(t *testing.T) {
	t.Parallel()
	sources := 0
	for _, pattern := range []string{"../domain/tongue/*.json", "../domain/message/words*.go"} {
		files, err := filepath.Glob(pattern)
		if err != nil {
			t.Fatal(err)
		}
		for _, name := range files {
			text, err := os.ReadFile(name)
			if err != nil {
				t.Fatal(err)
			}
			sources++
			for _, said := range promises.FindAllString(string(text), -1) {
				t.Errorf("%s says %q", name, said)
			}
		}
	}
	if sources < 6 {
		t.Errorf("%d sources read: is something left out?", sources)
	}
	for _, planted := range []string{"Water resistant to 5 bar", "waterproof", "Wasserdicht bis 5 bar", "Elle est étanche"} {
		if !promises.MatchString(planted) {
			t.Errorf("%q is not found", planted)
		}
	}
}

package e2e

import (
	"go/ast"
	"go/parser"
	"go/token"
	"os"
	"path/filepath"
	"regexp"
	"strconv"
	"strings"
	"testing"
)

// wordRule is a row of the list of words: what is written, and what is not written for it.
type wordRule struct {
	say     string
	phrases *regexp.Regexp // anywhere, whole words; nil if there are none
	labels  map[string]bool
}

// wordList reads the table under "One word for one thing" in DEVELOPERS.md.
func wordList(t *testing.T) []wordRule {
	t.Helper()
	doc, err := os.ReadFile(filepath.Join(root(t), "DEVELOPERS.md"))
	if err != nil {
		t.Fatal(err)
	}
	_, after, found := strings.Cut(string(doc), "### One word for one thing")
	if !found {
		t.Fatal("DEVELOPERS.md has no list of words")
	}
	section, _, _ := strings.Cut(after, "\n#")
	var rules []wordRule
	quoted := regexp.MustCompile("`([^`]+)`")
	for _, line := range strings.Split(section, "\n") {
		cells := strings.Split(line, "|")
		if len(cells) != 5 || !strings.Contains(cells[3], "`") {
			continue
		}
		rule := wordRule{say: strings.TrimSpace(cells[1]), labels: map[string]bool{}}
		var phrases []string
		for _, m := range quoted.FindAllStringSubmatch(cells[3], -1) {
			if m[1] == strings.ToLower(m[1]) {
				phrases = append(phrases, regexp.QuoteMeta(m[1]))
				continue
			}
			rule.labels[m[1]] = true
		}
		if len(phrases) > 0 {
			rule.phrases = regexp.MustCompile(`(?i)\b(` + strings.Join(phrases, "|") + `)\b`)
		}
		rules = append(rules, rule)
	}
	return rules
}

// breaks returns what of a text stands against the list, as "that: say this".
func breaks(rules []wordRule, text string) []string {
	var out []string
	for _, r := range rules {
		if r.phrases != nil {
			if hit := r.phrases.FindString(text); hit != "" {
				out = append(out, strconv.Quote(hit)+": say "+r.say)
			}
		}
		if label := strings.TrimSpace(text); r.labels[label] {
			out = append(out, strconv.Quote(label)+": say "+r.say)
		}
	}
	return out
}

var (
	markupTag  = regexp.MustCompile(`<[^>]*>?|^[^<]*"\s*/?>`)
	identifier = regexp.MustCompile(`^[a-z0-9_./:#-]*$`) // a key, a class, an address: nobody reads it
)

// readTexts are the texts of a literal that people may read: without tags, and without what is a name in the program.
func readTexts(literal string) []string {
	if identifier.MatchString(literal) {
		return nil
	}
	var out []string
	for _, text := range markupTag.Split(literal, -1) {
		if strings.TrimSpace(text) != "" {
			out = append(out, text)
		}
	}
	return out
}

// What the program says, in pages, papers, messages and at the command line, keeps to one word for one thing. It is
// read from the literals of the Go source (the templates' too, as generated) and of the scripts.
func TestOneWordForOneThing(t *testing.T) {
	t.Parallel()
	rules := wordList(t)
	if len(rules) < 8 {
		t.Fatalf("%d rules were read from the list", len(rules))
	}
	top, texts := root(t), 0
	check := func(where string, literal string) {
		for _, text := range readTexts(literal) {
			texts++
			for _, wrong := range breaks(rules, text) {
				t.Errorf("%s: %s", where, wrong)
			}
		}
	}
	script := regexp.MustCompile("\"[^\"\\n]*\"|'[^'\\n]*'|`[^`]*`")
	comment := regexp.MustCompile(`(?m)^\s*(//|\*|/\*).*$|\s//\s.*$`)
	err := filepath.WalkDir(top, func(path string, entry os.DirEntry, err error) error {
		if err != nil {
			return err
		}
		if entry.IsDir() {
			if path != top && strings.HasPrefix(entry.Name(), ".") || entry.Name() == "testdata" {
				return filepath.SkipDir
			}
			return nil
		}
		switch {
		case strings.HasSuffix(path, ".js"):
			source, err := os.ReadFile(path)
			if err != nil {
				return err
			}
			for _, quoted := range script.FindAllString(comment.ReplaceAllString(string(source), ""), -1) {
				check(path, quoted[1:len(quoted)-1])
			}
		case strings.HasSuffix(path, ".go") && !strings.HasSuffix(path, "_test.go"):
			return eachLiteral(path, check)
		}
		return nil
	})
	if err != nil {
		t.Fatal(err)
	}
	if texts < 5000 {
		t.Errorf("only %d texts were read", texts)
	}
}

// eachLiteral calls check with every string literal of a Go file but those of imports.
func eachLiteral(path string, check func(where, literal string)) error {
	files := token.NewFileSet()
	file, err := parser.ParseFile(files, path, nil, parser.SkipObjectResolution)
	if err != nil {
		return err
	}
	ast.Inspect(file, func(n ast.Node) bool {
		switch n := n.(type) {
		case *ast.ImportSpec:
			return false
		case *ast.BasicLit:
			if literal, err := strconv.Unquote(n.Value); n.Kind == token.STRING && err == nil {
				check(files.Position(n.Pos()).String(), literal)
			}
		}
		return true
	})
	return nil
}

// The list bites: each of its words is found in a sentence and in a page, and a word that only holds it is not.
func TestOneWordForOneThingBites(t *testing.T) {
	t.Parallel()
	rules := wordList(t)
	for _, spoilt := range []string{
		"Somebody was quicker", `<th scope="col" class="num">Each</th>`, `<p>Give an amount above nought.</p>`, "Came in",
		"Please mend this and send it again:", `" data-testid="x">Correct it</a>`, "Charged in all", "Go ahead up to",
	} {
		found := 0
		for _, text := range readTexts(spoilt) {
			found += len(breaks(rules, text))
		}
		if found == 0 {
			t.Errorf("%q is not found", spoilt)
		}
	}
	for _, fine := range []string{
		"mend", `<div class="notice mend">Please correct this</div>`, "a recommended oil", "Each of five", "Prices include tax",
	} {
		for _, text := range readTexts(fine) {
			if wrong := breaks(rules, text); len(wrong) > 0 {
				t.Errorf("%q: %v", fine, wrong)
			}
		}
	}
}

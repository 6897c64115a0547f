package e2e

import (
	"go/ast"
	"go/parser"
	"go/token"
	"io/fs"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"testing"

	"ledgerwheel/domain/docket"
	"ledgerwheel/domain/timing"
	"ledgerwheel/domain/tongue"
)

// closedSet is what may follow the beginning of a key that is put together: every constant of a type of the program, but for
// those named in without, each with its reason.
type closedSet struct {
	folder, typeName string
	without          map[string]string
	ends             []string // in place of a type
	then             string   // stands at the key's end
}

func ends(list ...string) closedSet { return closedSet{ends: list} }

func upTo(from, to int) closedSet {
	var list []string
	for i := from; i <= to; i++ {
		list = append(list, strconv.Itoa(i))
	}
	return ends(list...)
}

// closedSets is every beginning of a key that the program puts together.
var closedSets = map[string]closedSet{
	"part.":              {folder: "domain/watch", typeName: "Part"},
	"mark.":              {folder: "domain/watch", typeName: "MarkKind"},
	"paper.document.":    {folder: "domain/invoice", typeName: "Kind"},
	"method.":            {folder: "domain/docket", typeName: "Method"},
	"word.":              {folder: "domain/docket", typeName: "WordHow", without: map[string]string{"owner": "has a sentence of its own"}},
	"receipt.old_parts.": ends(oldParts()...),
	"position.":          ends("CH", "FH", "hour"), // hanging positions are said by the crown, or else by the hour
	"crown.":             upTo(0, 11),
	"statistic.":         {folder: "domain/timing", typeName: "Key"},
	"judged.":            ends(limited()...),
	"page.at.":           {folder: "domain/docket", typeName: "Stage"},
	"page.station.":      {folder: "domain/docket", typeName: "Stage", without: map[string]string{"declined": "stands as back", "withdrawn": "stands as back"}},
	"page.next.": {folder: "domain/docket", typeName: "Stage", without: map[string]string{"ready": "says collect", "handed-over": "nothing is next",
		"withdrawn": "says collect"}},
	"page.arbor.":          ends("centre", "third", "fourth", "escape"), // any other keeps the trade's English name
	"page.wear.before.":    ends("gains", "loses", "undecided"),
	"page.wear.after.":     ends("gains", "loses", "undecided"),
	"criterion.":           {folder: "domain/chronometer", typeName: "Criterion"},
	"standing.":            {folder: "domain/chronometer", typeName: "Standing"},
	"formula.":             ends("greatest_variation", "largest_deviation"), // whose formulae have words
	"paper.trial.departs.": {folder: "domain/chronometer", typeName: "WayKind"},
	"check.word.":          {folder: "domain/warranty", typeName: "Standing"},
	"check.says.":          {folder: "domain/warranty", typeName: "Standing"},
	"proof.fact.":          {folder: "domain/warranty", typeName: "FactName"},
	"proof.part.":          {folder: "domain/warranty", typeName: "ProofPart"},
	"paper.approved.":      {folder: "domain/estimate", typeName: "Channel"},
	"paper.declined.":      {folder: "domain/estimate", typeName: "Channel"},
	"notice.":              {folder: "domain/uncollected", typeName: "NoticeKind", then: ".title"},
	"month.":               upTo(1, 12),
	"weekday.":             upTo(0, 6),
}

// limited are the statistics that may have limits.
func limited() []string {
	var list []string
	for _, c := range timing.Criteria() {
		list = append(list, string(c.Key))
	}
	return list
}

func oldParts() []string {
	var list []string
	for _, answer := range docket.OldPartsAnswers() {
		list = append(list, answer.Words())
	}
	return list
}

// constantsOf are the values of a type's constants, read from its package's sources, so that a new one is among them.
func constantsOf(t *testing.T, folder, typeName string) []string {
	t.Helper()
	var list []string
	files, err := filepath.Glob(filepath.Join("..", folder, "*.go"))
	if err != nil {
		t.Fatal(err)
	}
	for _, name := range files {
		if strings.HasSuffix(name, "_test.go") {
			continue
		}
		file, err := parser.ParseFile(token.NewFileSet(), name, nil, parser.SkipObjectResolution)
		if err != nil {
			t.Fatal(err)
		}
		for _, d := range file.Decls {
			group, ok := d.(*ast.GenDecl)
			if !ok || group.Tok != token.CONST {
				continue
			}
			for _, s := range group.Specs {
				spec := s.(*ast.ValueSpec)
				if is, ok := spec.Type.(*ast.Ident); !ok || is.Name != typeName {
					continue
				}
				for _, v := range spec.Values {
					if lit, ok := v.(*ast.BasicLit); ok {
						text, _ := strconv.Unquote(lit.Value)
						list = append(list, text)
					}
				}
			}
		}
	}
	return list
}

// putTogether are the beginnings of keys that stand in sums of texts, or as texts by themselves, in the sources of the program.
func putTogether(t *testing.T, keys []string) map[string]string {
	t.Helper()
	found := map[string]string{}
	for _, folder := range []string{"cmd", "domain", "store", "web"} {
		err := filepath.WalkDir(filepath.Join("..", folder), func(path string, entry fs.DirEntry, err error) error {
			if err != nil || entry.IsDir() || !strings.HasSuffix(path, ".go") || strings.HasSuffix(path, "_test.go") {
				return err
			}
			set := token.NewFileSet()
			file, err := parser.ParseFile(set, path, nil, parser.SkipObjectResolution)
			if err != nil {
				return err
			}
			ast.Inspect(file, func(n ast.Node) bool {
				if lit, ok := n.(*ast.BasicLit); ok && lit.Kind == token.STRING {
					text, _ := strconv.Unquote(lit.Value)
					if strings.HasSuffix(text, ".") && slices.ContainsFunc(keys, func(key string) bool { return strings.HasPrefix(key, text) }) {
						found[text] = set.Position(lit.Pos()).String()
					}
				}
				return true
			})
			return nil
		})
		if err != nil {
			t.Fatal(err)
		}
	}
	return found
}

// TestNoPaperPrintsAKey: every key that the program puts together of a closed set is there in every language, whichever of
// the set it is; and a beginning that is new in a source has its set here.
func TestNoPaperPrintsAKey(t *testing.T) {
	t.Parallel()
	checked := 0
	for beginning, set := range closedSets {
		list := set.ends
		if set.typeName != "" {
			if list = constantsOf(t, set.folder, set.typeName); len(list) < 2 {
				t.Errorf("%s: %d constants of %s", beginning, len(list), set.typeName)
			}
		}
		for without := range set.without {
			if !slices.Contains(list, without) {
				t.Errorf("%s: there is no %q to be left out", beginning, without)
			}
		}
		for _, end := range list {
			if _, out := set.without[end]; out || end == "" {
				continue
			}
			for _, in := range tongue.All {
				checked++
				if key := beginning + end + set.then; !slices.Contains(tongue.Keys(in), key) {
					t.Errorf("%s has no %q", in.Words(), key)
				}
			}
		}
	}
	if checked < 300 {
		t.Errorf("%d keys were looked for", checked)
	}
	for beginning, where := range putTogether(t, tongue.Keys(tongue.English)) {
		if _, known := closedSets[beginning]; !known {
			t.Errorf("%s puts a key together of %q: say in closedSets of what", where, beginning)
		}
	}
	t.Logf("%d keys in %d languages", checked/len(tongue.All), len(tongue.All))
}

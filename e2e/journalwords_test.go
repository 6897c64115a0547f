package e2e

import (
	"go/ast"
	"go/token"
	"path/filepath"
	"reflect"
	"slices"
	"strconv"
	"strings"
	"testing"

	"ledgerwheel/domain/docket"
)

// keptElsewhere are the keys of JSON that store and domain keep outside the journal, by file.
var keptElsewhere = map[string][]string{
	"store/ratelimits.go": {"key", "lower", "reason", "reasons", "upper", "limits", "positions"},
	"store/ordersend.go":  {"sent_order"},                               // of a job
	"store/finaltest.go":  {"by_id", "medium", "dry_first", "corrects"}, // of the test's own row
}

// factFiles are the files outside the store whose JSON goes into the journal.
var factFiles = []string{"domain/docket/correction.go", "domain/docket/summary.go", "domain/heard/facts.go",
	"domain/heard/rundown.go", "domain/heard/sound.go", "domain/watch/calibrefield.go"}

// TestEveryFactHasItsWords: each key that the code writes into the journal's facts has words of its own.
func TestEveryFactHasItsWords(t *testing.T) {
	t.Parallel()
	keys := map[string]string{}
	for _, s := range sources(t) {
		file := filepath.ToSlash(s.file)
		if s.test || filepath.Dir(file) != "store" && !slices.Contains(factFiles, file) {
			continue
		}
		for _, key := range factKeys(s.syntax) {
			if !slices.Contains(keptElsewhere[file], key) {
				keys[key] = file
			}
		}
	}
	if len(keys) < 120 {
		t.Fatalf("only %d keys are found in the code", len(keys))
	}
	for key, file := range keys {
		if _, known := docket.TermOf(key); !known {
			t.Errorf("%s writes the fact %q into the journal, which docket.TermOf has no words for", file, key)
		}
	}
}

// factKeys lists the keys that a file's structs and maps have in JSON: tags, the keys of map literals with words for
// keys, and the pairs from which docket.ReceivedFacts makes its map.
func factKeys(file *ast.File) []string {
	var keys []string
	add := func(e ast.Expr) {
		if lit, ok := e.(*ast.BasicLit); ok && lit.Kind == token.STRING {
			if text, err := strconv.Unquote(lit.Value); err == nil {
				keys = append(keys, text)
			}
		}
	}
	ast.Inspect(file, func(n ast.Node) bool {
		switch n := n.(type) {
		case *ast.Field:
			if n.Tag != nil {
				tag, _ := strconv.Unquote(n.Tag.Value)
				name, _, _ := strings.Cut(reflect.StructTag(tag).Get("json"), ",")
				if name != "" && name != "-" {
					keys = append(keys, name)
				}
			}
		case *ast.KeyValueExpr:
			if name, ok := n.Key.(*ast.Ident); ok && name.Name == "facts" {
				ast.Inspect(n.Value, func(in ast.Node) bool {
					if lit, ok := in.(*ast.CompositeLit); ok {
						if _, isMap := lit.Type.(*ast.MapType); isMap {
							for _, e := range lit.Elts {
								add(e.(*ast.KeyValueExpr).Key)
							}
						}
					}
					return true
				})
			}
		case *ast.FuncDecl:
			if strings.HasSuffix(n.Name.Name, "Facts") {
				keys = append(keys, literalKeys(n)...)
			}
		}
		return true
	})
	return keys
}

// literalKeys are the keys of the maps that a function makes, and the first words of its pairs.
func literalKeys(f *ast.FuncDecl) []string {
	var keys []string
	ast.Inspect(f, func(n ast.Node) bool {
		lit, ok := n.(*ast.CompositeLit)
		if !ok {
			return true
		}
		for i, e := range lit.Elts {
			if kv, ok := e.(*ast.KeyValueExpr); ok {
				e = kv.Key
			} else if i > 0 || lit.Type != nil || len(lit.Elts) != 2 {
				continue
			}
			if word, ok := e.(*ast.BasicLit); ok && word.Kind == token.STRING {
				if text, err := strconv.Unquote(word.Value); err == nil {
					keys = append(keys, text)
				}
			}
		}
		return true
	})
	return keys
}

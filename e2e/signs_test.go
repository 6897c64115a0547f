package e2e

import (
	"go/ast"
	"go/token"
	"path/filepath"
	"regexp"
	"strconv"
	"testing"
)

// ownSigns are the files that may write a minus of their own, each with its reason.
var ownSigns = map[string]string{
	"domain/figure/write.go":    "is the printer",
	"domain/figure/figure.go":   "says a number back exactly as it was typed",
	"domain/figure/spelling.go": "reads every minus",
	"domain/text/text.go":       "gives words that hold figures their minus",
}

// signMadeByHand is a minus alone, or a verb that writes a sign with a hyphen.
var signMadeByHand = regexp.MustCompile("^\u2212$|" + `%\+[0-9.*]*[dfeg]`)

// TestPrintedSignsHaveOnePrinter: the sign of a printed number is made by package figure, nowhere else.
func TestPrintedSignsHaveOnePrinter(t *testing.T) {
	t.Parallel()
	for _, planted := range []string{"\u2212", "%+.2f ms", "%+d", "%+.*f"} {
		if !signMadeByHand.MatchString(planted) {
			t.Errorf("%q is not told as a sign made by hand", planted)
		}
	}
	for _, s := range sources(t) {
		file := filepath.ToSlash(s.file)
		if s.test || ownSigns[file] != "" {
			continue
		}
		ast.Inspect(s.syntax, func(n ast.Node) bool {
			if lit, ok := n.(*ast.BasicLit); ok && lit.Kind == token.STRING {
				if text, err := strconv.Unquote(lit.Value); err == nil && signMadeByHand.MatchString(text) {
					t.Errorf("%s writes the sign %q by hand: use figure.Signed, figure.Places or figure.Printed", file, text)
				}
			}
			return true
		})
	}
}

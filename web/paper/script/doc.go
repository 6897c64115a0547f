// Package script readies typed text for setting on paper: composed characters, joined forms of Arabic letters, and
// lines in the order in which their characters stand (Unicode Standard Annex 9).
package script

import (
	"strings"
	"unicode"

	"golang.org/x/text/unicode/norm"
)

// Replacement stands on paper for a character that no type at hand has.
const Replacement = '\uFFFD'

// OneLine prepares text for a place without line feeds.
func OneLine(text string) string { return strings.Join(Fields(Prepare(text)), " ") }

// Fields parts prepared text at the spaces where a line may end, which is not within a sum or an hour
// (Unicode Standard Annex 14, class GL).
func Fields(text string) []string {
	return strings.FieldsFunc(text, func(r rune) bool { return unicode.IsSpace(r) && r != '\u00a0' })
}

// Plain takes the joined forms of Arabic letters back to the letters themselves, for readers that join them.
func Plain(line string) string {
	if !strings.ContainsFunc(line, presented) {
		return line
	}
	var out strings.Builder
	for _, r := range line {
		if presented(r) {
			out.WriteString(norm.NFKC.String(string(r)))
			continue
		}
		out.WriteRune(r)
	}
	return out.String()
}

// presented reports the Arabic presentation forms.
func presented(r rune) bool { return r >= '\uFB50' && r <= '\uFBFF' || r >= '\uFE70' && r <= '\uFEFC' }

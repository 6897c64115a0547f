package page

import (
	"net/http"
	"strconv"
	"strings"

	"ledgerwheel/domain/text"
	"ledgerwheel/domain/warranty"
	"ledgerwheel/web/view"
)

// StandingMark is the lozenge of a standing.
func StandingMark(st warranty.Standing) view.MarkKind {
	switch st {
	case warranty.Genuine:
		return view.Pass
	case warranty.Expired, warranty.Mistyped:
		return view.Undecided
	}
	return view.Fail
}

func Options[T ~string](values []T, words func(T) string) []view.Option {
	list := make([]view.Option, len(values))
	for i, v := range values {
		list[i] = view.Option{Value: string(v), Text: text.Capital(words(v))}
	}
	return list
}

// Shortened cuts a text for a list, at a whole character.
func Shortened(text string, characters int) string {
	runes := []rune(strings.Join(strings.Fields(text), " "))
	if len(runes) <= characters {
		return string(runes)
	}
	return strings.TrimSpace(string(runes[:characters-1])) + "…"
}

func NonEmptyLines(s string) []string {
	var lines []string
	for line := range strings.Lines(s) {
		if line = strings.TrimSpace(line); line != "" {
			lines = append(lines, line)
		}
	}
	return lines
}

// Paragraphs are the stretches of text between empty lines, each with its own lines.
func Paragraphs(s string) []string {
	var list []string
	for stretch := range strings.SplitSeq(strings.ReplaceAll(s, "\r\n", "\n"), "\n\n") {
		if lines := NonEmptyLines(stretch); len(lines) > 0 {
			list = append(list, strings.Join(lines, "\n"))
		}
	}
	return list
}

func Itoa64(id int64) string { return strconv.FormatInt(id, 10) }

// LocaleOf is how the shop writes amounts and days.
func LocaleOf(r *http.Request) string {
	v, _ := ViewerOf(r.Context())
	return v.Shop.Locale
}

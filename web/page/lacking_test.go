package page_test

import (
	"strings"
	"testing"

	"ledgerwheel/web/page"
	"ledgerwheel/web/paper/typeface"
)

func TestLacking(t *testing.T) {
	t.Parallel()
	for _, texts := range [][]string{nil, {""}, {"Seán O’Malley", "Часы", "שָׁעוֹן", "ساعة", "£12.50"}} {
		if got := page.LackingWords(typeface.Lacking(strings.Join(texts, "\n"))); got != "" {
			t.Errorf("%q: warns %q", texts, got)
		}
	}
	tests := []struct {
		texts []string
		named string
	}{
		{[]string{"Reed", "日本", "本 watch"}, "日 本"},
		{[]string{"Nuala \U0001F600"}, "\U0001F600"},
		{[]string{"一二三四五六七八九十", "百千"},
			"一 二 三 四 五 六 七 八 九 十 百 千"},
		{[]string{"一二三四五六七八九十百千万円"},
			"一 二 三 四 五 六 七 八 九 十 百 千 and 2 more"},
	}
	for _, tt := range tests {
		want := "The PDF can't show these characters: " + tt.named + " (they print as \uFFFD). Print this page instead."
		if got := page.LackingWords(typeface.Lacking(strings.Join(tt.texts, "\n"))); got != want {
			t.Errorf("%q: got %q, want %q", tt.texts, got, want)
		}
	}
}

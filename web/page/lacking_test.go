package page_test

import (
	"testing"

	"ledgerwheel/web/page"
	"ledgerwheel/web/view"
)

func TestLacking(t *testing.T) {
	t.Parallel()
	for _, texts := range [][]string{nil, {""}, {"Seán O’Malley", "Часы", "שָׁעוֹן", "ساعة", "£12.50"}} {
		if got := page.Lacking(texts); got != nil {
			t.Errorf("%q: warns %q", texts, got.Text)
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
		got := page.Lacking(tt.texts)
		if got == nil {
			t.Errorf("%q: no warning", tt.texts)
		} else if (*got != view.NoticeView{Kind: view.Info, Text: want, TestID: "paper-missing"}) {
			t.Errorf("%q: %+v", tt.texts, *got)
		}
	}
}

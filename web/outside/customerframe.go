package outside

import (
	"net/url"

	"ledgerwheel/domain/tongue"
	"ledgerwheel/web/view"
)

// frameWords are what stands around a page for a reader of t.
func frameWords(t tongue.Tongue) *view.FrameWords {
	return &view.FrameWords{Skip: t.Say("page.skip"), Kept: t.Say("page.kept"), Licences: t.Say("page.licences"),
		Pages: t.Say("page.theme"), Auto: t.Say("page.theme.auto"), Light: t.Say("page.theme.light"), Dark: t.Say("page.theme.dark"),
		Languages: t.Say("page.language")}
}

// tongueLinks lead from the page of a link to itself in every language.
func tongueLinks(o opened) []view.TongueLink {
	return linksToTongues(o.in, "/c/"+url.PathEscape(o.token))
}

// linksToTongues lead from the page at an address, which is shown in one language, to itself in every one.
func linksToTongues(in tongue.Tongue, address string) []view.TongueLink {
	var list []view.TongueLink
	for _, t := range tongue.All {
		list = append(list, view.TongueLink{Code: string(t), Name: t.Say("language"), Current: t == in,
			Href: address + "?in=" + string(t)})
	}
	return list
}

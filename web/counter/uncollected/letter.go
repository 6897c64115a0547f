package uncollected

import (
	"strings"
	"time"

	"ledgerwheel/domain/docket"
	"ledgerwheel/domain/money"
	"ledgerwheel/domain/shop"
	"ledgerwheel/domain/tongue"
	"ledgerwheel/domain/uncollected"
	"ledgerwheel/store"
	"ledgerwheel/web/page"
	"ledgerwheel/web/paper"
	"ledgerwheel/web/sheet"
)

// letterAsks is what is said of a letter beside what the record knows.
type letterAsks struct {
	kind      uncollected.NoticeKind
	addressee string
	own       string    // the owner's own sentences
	until     time.Time // of a formal notice: the civil day by which it is to be collected
	ready     time.Time // civil day since which it can be
}

// letterOf words a letter in the customer's language. It asks for the watch to be collected; what follows if it is not is
// for the owner's own sentences.
func letterOf(record store.UncollectedSheet, sh shop.Shop, a letterAsks) uncollected.Letter {
	h := record.Head
	say := page.VoiceOf(h.Docket.Tongue, sh)
	formal := "notice." + string(a.kind) + "."
	body := []string{say.Say("notice.dear", "name", h.Customer.Name),
		say.Say("notice.ready", "watch", sheet.WatchWords(h), "docket", h.Docket.Number.String(), "day", say.Day(a.ready))}
	if due := h.Facts.DueMinor; due > 0 {
		body = append(body, say.Say("notice.sum", "amount", money.Format(due, h.Docket.Currency, say.Shop.Locale)))
	} else {
		body = append(body, say.Say("notice.nothing_due"))
	}
	body = append(body, say.Say("notice.where", "shop", sh.Name, "address", strings.Join(page.NonEmptyLines(sh.Address), ", ")))
	if a.until.IsZero() {
		body = append(body, say.Say("notice.please"))
	} else {
		body = append(body, say.Say("notice.please_by", "day", say.Day(a.until)))
	}
	if a.own != "" {
		body = append(body, a.own)
	}
	body = append(body, say.Say("notice.yours")+"\n"+sh.Name)
	return uncollected.Letter{Kind: a.kind, Tongue: string(say.Tongue.Or(tongue.English)), Title: say.Say(formal + "title"),
		Addressee: a.addressee, Body: strings.Join(body, "\n\n")}
}

// noticePaper is a kept letter as it prints, under the settings it was written under.
func noticePaper(n docket.Number, row store.NoticeRow) paper.Notice {
	say := page.VoiceOf(tongue.Tongue(row.Tongue), row.Shop)
	return paper.Notice{Issuer: page.IssuerOf(row.Shop), Lang: say.Lang(), Tongue: say.Tongue, Docket: n.String(),
		Date: say.Day(row.WrittenOn), Title: row.Title, Addressee: page.NonEmptyLines(row.Addressee),
		Paragraphs: page.Paragraphs(row.Body)}
}

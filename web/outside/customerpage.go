package outside

import (
	"net/http"
	"slices"
	"strings"
	"time"

	"ledgerwheel/domain/customer"
	"ledgerwheel/domain/docket"
	"ledgerwheel/domain/estimate"
	"ledgerwheel/domain/photo"
	"ledgerwheel/domain/shop"
	"ledgerwheel/domain/tongue"
	"ledgerwheel/store"
	"ledgerwheel/store/files"
	"ledgerwheel/web/chart"
	"ledgerwheel/web/page"
	"ledgerwheel/web/view"
)

func (s *Room) showLinkPage(w http.ResponseWriter, r *http.Request) error {
	o, ok, err := s.open(w, r)
	if err != nil || !ok {
		return err
	}
	return s.renderLinkPage(w, r, o, http.StatusOK, page.EmptyForm(), "")
}

// renderLinkPage shows what the customer may see. notice, if any, says why an answer was not taken.
func (s *Room) renderLinkPage(w http.ResponseWriter, r *http.Request, o opened, status int, f *page.Form, notice string) error {
	found, today := o.found, page.Civil(s.Now().In(o.shop.Location()))
	v := customerPageView{T: o.in, Typed: typedLanguage(o), Form: f.View(), Number: found.Number.String(),
		Watch: strings.TrimSpace(found.Watch.Maker + " " + found.Watch.Model), Status: o.say(statusKey(found)), Notice: notice,
		Stay: stayLine(o), Promise: promiseWords(o, today), Shop: shopOfPage(o), Done: workDone(found)}
	v.Comeback, v.ComebackWhy = comebackWords(o)
	if key := nextKey(found, today); key != "" {
		v.Next = o.say(key)
	}
	v.Before, v.After = linkPhotos(o)
	v.Account, v.Warranty, v.Service = accountOf(o), s.warrantyOf(o), nextService(o)
	v.Ask = askOf(o, f)
	if o.found.Stage.Order() >= docket.StageReady.Order() {
		v.Tested = store.TestedSaid(o.found.Tests, o.in, o.shop)
	}
	v.Measured, v.Train = measuredOf(o), trainOf(o)
	if rev, ok := found.Estimate.Shown(); ok {
		v.Offer = s.offerOf(o, rev, f)
	}
	p := s.outsidePage(r, v.Watch)
	p.Logo = page.LogoURL(o.shop)
	p.Shop, p.Home, p.Path, p.Lang, p.Words = o.shop.Name, o.at(""), o.at(""), string(o.in), frameWords(o.in)
	p.Words.Tongues = tongueLinks(o)
	p.Scripts = []string{"js/customer.js"}
	return page.Render(w, r, status, customerPage(p, v))
}

// typedLanguage is the language in which the shop types, where that is not the page's; else "".
func typedLanguage(o opened) string {
	if base, _, _ := strings.Cut(o.locale, "-"); strings.EqualFold(base, string(o.in)) {
		return ""
	}
	return o.locale
}

// statusKey is of the words for where the watch is.
func statusKey(found store.LinkPage) string {
	if found.Closed && found.Stage.Exit() {
		return "page.at.back"
	}
	return "page.at." + string(found.Stage)
}

// stations are those of the watch's stay, and at which of them it is. A watch that goes back unrepaired has three.
func stations(found store.LinkPage) (keys []string, at int) {
	if found.Stage.Exit() {
		keys, at = []string{"page.station.intake", "page.station.back", "page.station.handed-over"}, 1
		if found.Closed {
			at = 2
		}
		return keys, at
	}
	for _, stage := range docket.Rail() {
		keys = append(keys, "page.station."+string(stage))
	}
	return keys, found.Stage.Order()
}

// stayLine draws how far the watch has come.
func stayLine(o opened) chart.StayLine {
	keys, at := stations(o.found)
	d := chart.StayLine{ID: "stay", Title: o.say("page.stay.title"), At: at}
	for _, key := range keys {
		d.Stations = append(d.Stations, o.say(key))
	}
	said := []string{o.say("page.stay.here", "at", at+1, "of", len(keys), "here", d.Stations[at])}
	for _, part := range []struct {
		key      string
		stations []string
	}{{"page.stay.behind", d.Stations[:at]}, {"page.stay.ahead", d.Stations[at+1:]}} {
		if len(part.stations) > 0 {
			said = append(said, o.say(part.key, "stations", strings.Join(part.stations, ", ")))
		}
	}
	d.Desc = strings.Join(said, " ")
	return d
}

// promiseWords say for when the watch is promised and how that day was moved; once it is ready or has left, nothing but by whom it
// went where it went by post.
func promiseWords(o opened, today time.Time) []string {
	found := o.found
	if sent := found.Sent; sent.Number != "" {
		return []string{o.say("page.sent", "carrier", sent.Carrier, "number", sent.Number, "on", o.in.Day(sent.At.In(o.shop.Location())))}
	}
	if found.Closed || found.Stage == docket.StageReady || found.Stage.Exit() || found.Stage.Terminal() {
		return nil
	}
	var said []string
	if !found.Promised.IsZero() {
		words := o.say("page.promised", "day", o.in.DayOfWeek(found.Promised))
		if found.Promised.Before(today) {
			words += " " + o.say("page.promise.passed")
		}
		said = append(said, words)
	}
	for _, m := range slices.Backward(found.Moves) {
		on := o.in.Day(m.At.In(o.shop.Location()))
		if m.To.IsZero() {
			said = append(said, o.say("page.promise.withdrawn", "from", o.in.Day(m.From), "on", on))
			continue
		}
		said = append(said, o.say("page.promise.moved", "from", o.in.Day(m.From), "to", o.in.Day(m.To), "on", on))
	}
	return said
}

// comebackWords say whether the warranty covers what brought the watch back, and the shop's reason; nothing of a watch that did
// not come back.
func comebackWords(o opened) (words, why string) {
	found := o.found
	if found.ComebackOf.Seq == 0 {
		return "", ""
	}
	key := "page.comeback.open"
	switch found.Comeback.Cover {
	case docket.Covered:
		key = "page.comeback.covered"
	case docket.NotCovered:
		key = "page.comeback.not-covered"
	}
	words = o.say(key, "number", found.ComebackOf.String())
	if _, offered := found.Estimate.Shown(); offered && found.Comeback.Cover == docket.NotCovered {
		words += " " + o.say("page.comeback.estimate")
	}
	return words, found.Comeback.Why
}

// nextKey is of the words for what happens next; "" where nothing does.
func nextKey(found store.LinkPage, today time.Time) string {
	shown, offered := found.Estimate.Shown()
	_, agreed := found.Estimate.InForce()
	switch {
	case found.Closed:
		return ""
	case found.Stage.Exit(), found.Stage == docket.StageReady:
		return "page.next.collect"
	case offered && shown.State == estimate.Declined && !agreed:
		return "page.next.declined"
	case found.Stage != docket.StageEstimate:
		return "page.next." + string(found.Stage)
	case offered && shown.State == estimate.Sent && !shown.Expired(today):
		return "page.next.waiting"
	case agreed, found.Free:
		return "page.next.estimate"
	}
	return "page.next.diagnosis"
}

// linkPhotos are the docket's photographs under the address of its private link: as the watch came in, and since.
func linkPhotos(o opened) (before, after []view.PhotoView) {
	for i, p := range o.found.Photos {
		v := linkPhoto(o, p, i)
		if p.About == photo.OfCondition {
			before = append(before, v)
		} else {
			after = append(after, v)
		}
	}
	return before, after
}

// linkPhoto is the i-th photograph of a docket.
func linkPhoto(o opened, p store.Photo, i int) view.PhotoView {
	base := "/c/" + o.token + "/photos/" + page.Itoa64(p.ID) + "/"
	v := view.PhotoView{Thumb: base + string(files.Thumb), Full: base + string(files.Full), Caption: p.Caption, Alt: p.Caption}
	if v.Alt == "" {
		v.Alt = o.say("page.photo", "number", i+1)
	}
	v.Width, v.Height = page.ThumbSize(p.WidthPx, p.HeightPx)
	return v
}

// shopOfPage is how the shop is reached today.
func shopOfPage(o opened) shopView {
	sh := o.shop
	v := shopView{Name: sh.Name, Phone: sh.Phone, Mail: sh.Email, Address: page.NonEmptyLines(sh.Address), Hours: sh.Hours.In(o.in)}
	if number, ok := customer.NormalisePhone(sh.Phone, sh.PhoneRegion); ok {
		v.Tel = "tel:" + number
	}
	return v
}

// inReaders is a shop that writes amounts as readers of a language do.
func inReaders(sh shop.Shop, t tongue.Tongue) shop.Shop {
	sh.Locale = t.In(sh.Locale)
	return sh
}

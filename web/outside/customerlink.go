package outside

import (
	"cmp"
	"errors"
	"fmt"
	"net/http"
	"net/url"
	"strconv"
	"strings"
	"time"

	"github.com/go-chi/chi/v5"

	"ledgerwheel/domain"
	"ledgerwheel/domain/docket"
	"ledgerwheel/domain/estimate"
	"ledgerwheel/domain/link"
	"ledgerwheel/domain/shop"
	"ledgerwheel/domain/text"
	"ledgerwheel/store"
	"ledgerwheel/store/files"
	"ledgerwheel/web/page"
	"ledgerwheel/web/priced"
	"ledgerwheel/web/view"
)

// What one machine may ask of private links in the window: a page full of photographs, looked at a few times; answers
// rarely.
const (
	linkLooksPerMachine   = 600
	linkAnswersPerMachine = 20
	linkWindow            = 5 * time.Minute
)

func (s *Room) customerLinkRoutes() []page.Route {
	looks := s.PerMachine(tooManyLooks(linkLooksPerMachine))
	answers := s.PerMachine(tooManyLooks(linkAnswersPerMachine))
	return []page.Route{
		page.Get("/c/{token}", page.Public, looks(s.showLinkPage)),
		page.Post("/c/{token}/answer", page.Public, answers(s.answerByLink)),
		page.Get("/c/{token}/photos/{id}/{size}", page.Public, looks(s.showLinkPhoto)),
	}
}

// tooManyLooks bounds how often one machine may open or answer private links.
func tooManyLooks(times int) page.Bound {
	return page.Bound{Times: times, Within: linkWindow, Title: "Too many requests",
		Text: "Wait five minutes and open the link again."}
}

// shopOf is the shop's settings, read anew for those who are not signed in.
func (s *Room) shopOf(r *http.Request) (shop.Shop, error) {
	if v, ok := page.ViewerOf(r.Context()); ok {
		return v.Shop, nil
	}
	return s.store.Shop(r.Context())
}

// linkOf checks the token in the address. A wrong one is not found.
func (s *Room) linkOf(r *http.Request) (int64, shop.Shop, error) {
	sh, err := s.shopOf(r)
	if err != nil {
		return 0, sh, err
	}
	id, ok := link.ID(sh.LinkSecret, chi.URLParam(r, "token"))
	if !ok {
		return 0, sh, fmt.Errorf("private link: %w", domain.ErrNotFound)
	}
	return id, sh, nil
}

// hideFromSearch keeps private pages out of search engines, whoever publishes their address.
func hideFromSearch(w http.ResponseWriter) {
	w.Header().Set("X-Robots-Tag", "noindex, nofollow, noarchive")
}

// linkFailed answers for a private link that leads nowhere, or no longer.
func (s *Room) linkFailed(w http.ResponseWriter, r *http.Request, err error) error {
	status, said := http.StatusNotFound, view.ErrorText{Title: "This link leads nowhere",
		Text: "Perhaps a part of it was lost on the way. Open it again from the shop's message, or ask the shop for a new one."}
	switch {
	case errors.Is(err, link.ErrEnded), errors.Is(err, link.ErrExpired):
		status, said = http.StatusGone, view.ErrorText{Title: "This link no longer works",
			Text: text.Sentence(rootOf(err).Error()) + " Ask the shop for a new one."}
	case !errors.Is(err, domain.ErrNotFound):
		return err
	}
	s.Log.Warn("private link refused", "id", page.RequestIDOf(r.Context()), "status", status, "error", err)
	said.RequestID = page.RequestIDOf(r.Context())
	s.RenderPlain(w, r, status, said.Title, view.ErrorPage(said))
	return nil
}

// rootOf is which of the two ways a link stopped serving err tells of.
func rootOf(err error) error {
	if errors.Is(err, link.ErrEnded) {
		return link.ErrEnded
	}
	return link.ErrExpired
}

func (s *Room) showLinkPage(w http.ResponseWriter, r *http.Request) error {
	return s.renderLinkPage(w, r, http.StatusOK, page.EmptyForm(), "")
}

// renderLinkPage shows what the customer may see. notice, if any, says why an answer was not taken.
func (s *Room) renderLinkPage(w http.ResponseWriter, r *http.Request, status int, f *page.Form, notice string) error {
	hideFromSearch(w)
	id, sh, err := s.linkOf(r)
	if err != nil {
		return s.linkFailed(w, r, err)
	}
	found, err := s.store.LinkPage(r.Context(), id)
	if err == nil {
		err = found.Link.Check(s.Now())
	}
	if err != nil {
		return s.linkFailed(w, r, err)
	}
	token := chi.URLParam(r, "token")
	v := customerPageView{Form: f.View(), Number: found.Number.String(), Watch: strings.TrimSpace(found.Watch.Maker + " " +
		found.Watch.Model), Status: customerStatus(found),
		Notice: notice, Shop: sh.Name, Contact: page.NonEmptyLines(sh.Phone + "\n" + sh.Email), Action: "/c/" + token +
			"/answer", Photos: linkPhotos(token, found.Photos)}
	if !found.Closed && found.Stage != docket.StageReady && !found.Stage.Exit() {
		v.Promised = s.Day(r, found.Promised)
	}
	if rev, ok := found.Estimate.Shown(); ok {
		s.showToCustomer(&v, rev, found, f)
	}
	p := s.PlainPage(r, v.Watch)
	p.Shop, p.Home, p.Path = sh.Name, "/c/"+token, "/c/"+token
	return page.Render(w, r, status, customerPage(p, v))
}

// showToCustomer adds the revision that the customer has before them, as it was sent, and the form for its answer while
// it waits.
func (s *Room) showToCustomer(v *customerPageView, rev estimate.Revision, found store.LinkPage, f *page.Form) {
	sh := found.Row(rev.Number).Shop
	today := page.Civil(s.Now().In(sh.Location()))
	v.Revision = &priced.RevisionView{Number: strconv.Itoa(rev.Number), Lines: priced.LinesOf(priced.Of(rev.Currency, sh),
		rev), Note: rev.Note,
		ValidUntil: rev.ValidUntil.Format(page.DayLayout), Waiting: rev.State == estimate.Sent && !found.Closed,
		Expired:  rev.Expired(today),
		Approved: rev.State == estimate.Approved}
	if a := rev.Answer; a != nil {
		done := "declined"
		if a.Approve {
			done = "approved"
		}
		v.Answered = fmt.Sprintf("Revision %d was %s by %s on %s.", rev.Number, done, a.Name,
			a.At.In(sh.Location()).Format(page.MomentLayout))
	}
	if inForce, ok := found.Estimate.InForce(); ok && inForce.Number != rev.Number {
		v.InForce = fmt.Sprintf("What you approved before, revision %d, %s in total, stays agreed until you approve another.",
			inForce.Number,
			priced.Of(inForce.Currency, found.Row(inForce.Number).Shop).Format(priced.AgreedOrOffered(inForce).GrossMinor))
	}
	if v.Revision.Waiting && !v.Revision.Expired {
		v.Optional = priced.OptionalLines(rev)
		// What was typed for an older revision is no answer to this one.
		if f.Values.Has("revision") && f.Text("revision") != v.Revision.Number {
			v.Form.Values = url.Values{"name": f.Values["name"], "note": f.Values["note"]}
		}
	}
}

func customerStatus(found store.LinkPage) string {
	if found.Closed && found.Stage.Exit() {
		return "Your watch has been handed back to you."
	}
	return customerWords[found.Stage]
}

// linkPhotos are the docket's photographs under the address of its private link.
func linkPhotos(token string, photos []store.Photo) []view.PhotoView {
	var views []view.PhotoView
	for i, p := range photos {
		base := "/c/" + token + "/photos/" + strconv.FormatInt(p.ID, 10) + "/"
		v := view.PhotoView{Thumb: base + string(files.Thumb), Full: base + string(files.Full), Caption: p.Caption,
			Alt: cmp.Or(p.Caption, fmt.Sprintf("Photograph %d of your watch", i+1))}
		v.Width, v.Height = page.ThumbSize(p.WidthPx, p.HeightPx)
		views = append(views, v)
	}
	return views
}

func (s *Room) showLinkPhoto(w http.ResponseWriter, r *http.Request) error {
	hideFromSearch(w)
	size, err := page.PathSize(r)
	if err != nil {
		return err
	}
	photoID, err := page.PathID(r, "id")
	if err != nil {
		return err
	}
	id, _, err := s.linkOf(r)
	if err != nil {
		return s.linkFailed(w, r, err)
	}
	p, l, err := s.store.LinkPhoto(r.Context(), id, photoID)
	if err == nil {
		err = l.Check(s.Now())
	}
	if err != nil {
		return s.linkFailed(w, r, err)
	}
	return s.SendPicture(w, r, p.Sum, size)
}

// answerByLink takes the customer's answer to the revision that was before them.
func (s *Room) answerByLink(w http.ResponseWriter, r *http.Request) error {
	hideFromSearch(w)
	id, _, err := s.linkOf(r)
	if err != nil {
		return s.linkFailed(w, r, err)
	}
	f, err := page.ReadForm(w, r)
	if err != nil {
		return err
	}
	found, err := s.store.LinkPage(r.Context(), id)
	if err == nil {
		err = found.Link.Check(s.Now())
	}
	if err != nil {
		return s.linkFailed(w, r, err)
	}
	a := priced.ReadAnswer(f)
	a.By = estimate.ByLink
	f.FailAll(a.Problems())
	if f.OK() {
		c := store.Change{Number: found.Number, By: store.Actor{Customer: true, Name: a.Name}, At: s.Now()}
		sent := found.Row(a.Revision).Shop // the last day for an answer is over by the clock that stood then
		err = s.store.AnswerByLink(r.Context(), c, id, a, page.Civil(s.Now().In(sent.Location())))
	}
	return s.afterLinkAnswer(w, r, f, err)
}

// afterLinkAnswer says what became of the customer's answer. Whoever answers a revision that is no longer the one
// waiting is shown which is, and nothing is taken for an answer to it.
func (s *Room) afterLinkAnswer(w http.ResponseWriter, r *http.Request, f *page.Form, err error) error {
	switch {
	case err != nil && f.Takes(err), err == nil && !f.OK():
		return s.renderLinkPage(w, r, http.StatusUnprocessableEntity, f, "")
	case err == nil:
		return page.SeeOther(w, r, "/c/"+chi.URLParam(r, "token")+"#estimate")
	case errors.Is(err, link.ErrEnded), errors.Is(err, link.ErrExpired):
		return s.linkFailed(w, r, err)
	}
	for _, refusal := range []struct {
		err  error
		said string
	}{
		{estimate.ErrSuperseded, "A newer revision was sent meanwhile, and your answer to the older one was not taken. " +
			"The newer one stands below: please answer that."},
		{estimate.ErrNotWaiting, "This revision was answered already. Your second answer was not taken; what was answered " +
			"stands below."},
		{estimate.ErrExpired, "The time for approving this revision is over, and your answer was not taken. Ask the shop " +
			"for a new estimate."},
		{estimate.ErrNotOptional, "Only lines that are marked so can be left out, and your answer was not taken."},
		{estimate.ErrNoRevision, "There is no such revision, and your answer was not taken."},
		{domain.ErrClosed, "Your watch has left the shop, so there is nothing more to answer."},
	} {
		if errors.Is(err, refusal.err) {
			s.Log.Warn("answer by private link refused", "id", page.RequestIDOf(r.Context()), "error", err)
			return s.renderLinkPage(w, r, http.StatusConflict, f, refusal.said)
		}
	}
	return err
}

// customerWords say where a docket is in words for the owner of its watch.
var customerWords = map[docket.Stage]string{
	docket.StageIntake:     "Your watch is with us and waits for the watchmaker to look at it.",
	docket.StageDiagnosis:  "The watchmaker is looking at your watch.",
	docket.StageEstimate:   "We have looked at your watch and are settling with you what it needs.",
	docket.StageParts:      "We are waiting for parts for your watch.",
	docket.StageService:    "Your watch is on the bench.",
	docket.StageRegulation: "Your watch is put together again and is being regulated.",
	docket.StageFinalTest:  "The work is done. Your watch is being tested.",
	docket.StageReady:      "Your watch is ready to collect.",
	docket.StageHandedOver: "Your watch has been handed over.",
	docket.StageDeclined:   "Your watch goes back to you unrepaired, as you decided. It can be collected.",
	docket.StageWithdrawn:  "You asked for your watch back. It can be collected.",
}

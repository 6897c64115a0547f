package tokens

import (
	"net/http"
	"net/url"
	"strings"

	ics "github.com/arran4/golang-ical"
	"github.com/go-chi/chi/v5"

	"ledgerwheel/domain"
	"ledgerwheel/domain/token"
	"ledgerwheel/store"
)

// The address of a calendar ends like a file, as some programs ask.
const (
	calendarPrefix = "/calendar/"
	calendarSuffix = ".ics"
)

// refreshEvery is how often a calendar is asked to look again (RFC 7986, section 5.7).
const refreshEvery = "PT4H"

// sendCalendar sends the promised days as iCalendar (RFC 5545) to whoever has the private link.
func (s *Room) sendCalendar(w http.ResponseWriter, r *http.Request) error {
	secret, ok := strings.CutSuffix(chi.URLParam(r, "secret"), calendarSuffix)
	if !ok {
		return domain.ErrNotFound
	}
	p, err := s.store.ProgramOf(r.Context(), secret, s.Now())
	if err != nil {
		return err
	}
	if !p.Token.Has(token.Calendar) {
		return domain.ErrNotFound
	}
	list, err := s.store.PromisedDays(r.Context())
	if err != nil {
		return err
	}
	w.Header().Set("Content-Type", "text/calendar; charset=utf-8")
	w.Header().Set("Content-Disposition", `inline; filename="promised.ics"`)
	return calendarOf(p.Shop.Name, s.PublicURL, list).SerializeTo(w, ics.WithNewLineWindows)
}

// calendarOf is the calendar of a shop: a whole day for each watch that is promised, without a word about its customer, as
// calendars lie on other people's machines.
func calendarOf(shop, publicURL string, list []store.PromisedWatch) *ics.Calendar {
	host := publicURL
	if u, err := url.Parse(publicURL); err == nil {
		host = u.Hostname()
	}
	cal := ics.NewCalendar()
	cal.SetProductId("-//Ledgerwheel//promised days//EN")
	cal.SetVersion("2.0")
	cal.SetName("Promised, " + shop)
	cal.SetXWRCalName("Promised, " + shop)
	cal.SetRefreshInterval(refreshEvery)
	for _, d := range list {
		e := cal.AddEvent(d.Number + "@" + host)
		e.SetAllDayStartAt(d.PromisedOn)
		e.SetAllDayEndAt(d.PromisedOn.AddDate(0, 0, 1)) // the end is not part of it (RFC 5545, section 3.6.1)
		e.SetSummary(d.Number + " " + d.Watch)
		e.SetDescription("In the stage " + d.Stage.Label() + ".")
		e.SetURL(publicURL + "/dockets/" + d.Number)
		e.SetDtStampTime(d.ChangedAt)
		e.SetCreatedTime(d.ReceivedAt)
		e.SetModifiedAt(d.ChangedAt)
		e.SetSequence(int(d.Version))
		e.SetTimeTransparency(ics.TransparencyTransparent) // it keeps nobody busy
	}
	return cal
}

package counter

import (
	"errors"
	"fmt"
	"net/http"
	"strconv"

	"github.com/go-chi/chi/v5"

	"ledgerwheel/domain"
	"ledgerwheel/domain/docket"
	"ledgerwheel/domain/money"
	"ledgerwheel/domain/staff"
	"ledgerwheel/domain/visit"
	"ledgerwheel/store"
	"ledgerwheel/web/page"
	"ledgerwheel/web/paper"
	"ledgerwheel/web/sheet"
	"ledgerwheel/web/view"
)

// anotherURL is the form for another watch of the customer of a docket, on the same ticket.
func anotherURL(n docket.Number) string { return "/intake?with=" + n.String() }

// pathVisit reads the visit named in an address. The error wraps domain.ErrNotFound.
func pathVisit(r *http.Request, name string) (visit.Number, error) {
	n, err := visit.Parse(chi.URLParam(r, name))
	if err != nil {
		return 0, fmt.Errorf("%w: %w", domain.ErrNotFound, err)
	}
	return n, nil
}

// followVisit leads from the code on a ticket of several watches to their page, and to the docket where there is but one.
func (s *Room) followVisit(w http.ResponseWriter, r *http.Request) error {
	n, err := pathVisit(r, "code")
	if err != nil {
		return err
	}
	v, err := s.store.Visit(r.Context(), n)
	if err != nil {
		return err
	}
	if len(v.Dockets) == 1 {
		return page.SeeOther(w, r, view.DocketURL(v.Dockets[0].Head.Docket.Number.String(), ""))
	}
	return page.SeeOther(w, r, sheet.VisitURL(n))
}

// showVisit lists the watches that one customer brought at once.
func (s *Room) showVisit(w http.ResponseWriter, r *http.Request) error {
	n, err := pathVisit(r, "visit")
	if err != nil {
		return err
	}
	v, err := s.store.Visit(r.Context(), n)
	if err != nil {
		return err
	}
	return page.Render(w, r, http.StatusOK, visitPage(s.Page(r, "Visit "+n.String()), s.visitView(r, v)))
}

func (s *Room) visitView(r *http.Request, v store.Visit) visitView {
	viewer, _ := page.ViewerOf(r.Context())
	first := v.Customer()
	number := first.Docket.Number.String()
	out := visitView{Number: v.ID.String(), Customer: first.Customer.Name, CustomerURL: sheet.CustomerURL(first.Customer.ID),
		Phone: first.Customer.PhoneIn(viewer.Shop.PhoneRegion), Began: s.Moment(r, v.BeganAt), By: v.BeganBy,
		LeaveURL: sheet.VisitURL(v.ID) + "/hand-over"}
	if page.May(r, staff.PrintPapers) {
		out.PrintURL = view.DocketURL(number, "papers/"+bothPapers)
	}
	if page.May(r, staff.TakeIn) && first.Docket.ReceivedOn.Equal(s.Today(r)) {
		out.AnotherURL = anotherURL(first.Docket.Number)
	}
	if due, ok := v.DueMinor(); ok && due > 0 {
		out.Due = money.Format(due, first.Docket.Currency, viewer.Shop.Locale)
	}
	today := s.Today(r)
	for _, d := range v.Dockets {
		h := d.Head
		row := visitRow{Number: h.Docket.Number.String(), Watch: h.Watch.Title(), Stage: h.Docket.Stage.Label(),
			Place: h.Docket.Place.String(), Promised: h.Docket.PromiseWords(today)}
		if h.Docket.Closed() {
			row.Promised = ""
		} else {
			if _, leaves := docket.LeavingMove(h.Docket.Stage); leaves && page.May(r, staff.HandOver) {
				out.Leaves = true
			}
			if waits := docket.WaitsFor(h.Docket.Stage, h.Facts); waits != row.Stage {
				row.Waits = waits
			}
		}
		if h.Facts.DueMinor > 0 {
			row.Due = money.Format(h.Facts.DueMinor, h.Docket.Currency, viewer.Shop.Locale)
		}
		out.Watches = append(out.Watches, row)
	}
	return out
}

// joinVisit reads which visit the watch being taken in is to join, and has its customer be chosen. A docket that belongs to
// none is let go of.
func (s *Room) joinVisit(r *http.Request, d *desk) error {
	typed := d.form.Text("with")
	if typed == "" {
		return nil
	}
	n, err := docket.ParseNumber(typed)
	if err == nil {
		var v store.Visit
		if v, err = s.store.VisitOf(r.Context(), n); err == nil {
			d.with = &v
			if d.form.Text("customer_choice") == "" {
				setCustomer(d.form, strconv.FormatInt(v.Customer().Customer.ID, 10))
				setWatchUnlessSaid(d.form)
			}
			return nil
		}
		if !errors.Is(err, domain.ErrNotFound) {
			return err
		}
	}
	d.form.Values.Del("with")
	return nil
}

// setWatchUnlessSaid opens the fields of another watch: those that were brought with it are in the shop.
func setWatchUnlessSaid(f *page.Form) {
	if f.Text("watch_choice") == "" {
		setWatch(f, "")
	}
}

// withView says which watches of the visit are kept already.
func (s *Room) withView(d *desk) *withView {
	if d.with == nil {
		return nil
	}
	first := d.with.Customer()
	v := withView{Docket: first.Docket.Number.String(),
		PrintURL: view.DocketURL(first.Docket.Number.String(), "papers/"+bothPapers) + "?print=now",
		AloneURL: "/intake?customer=" + strconv.FormatInt(first.Customer.ID, 10)}
	for _, k := range d.with.Dockets {
		v.Dockets = append(v.Dockets, keptWatch{Number: k.Head.Docket.Number.String(), Watch: k.Head.Watch.Title()})
	}
	return &v
}

// wholeVisit reads the other watches of a docket's ticket; nil where the watch came alone.
func (s *Room) wholeVisit(r *http.Request, h store.Head) (*store.Visit, error) {
	if len(h.With) == 0 {
		return nil, nil
	}
	v, err := s.store.VisitOf(r.Context(), h.Docket.Number)
	return &v, err
}

// visitTicket is the one ticket of several watches, as the shop stood when the first of them was taken in.
func (s *Room) visitTicket(v store.Visit) paper.VisitTicket {
	first := v.Customer()
	say := page.VoiceOf(first.Docket.Tongue, v.Shop)
	t := paper.VisitTicket{Issuer: page.IssuerOf(v.Shop), Lang: say.Lang(), Tongue: say.Tongue, Visit: v.ID.String(),
		Code: s.PublicURL + "/v/" + v.ID.Compact(), Customer: first.Customer.Name, Received: say.Moment(v.BeganAt),
		Count: say.Count("paper.count_of_watches", len(v.Dockets)), Terms: page.NonEmptyLines(v.Shop.TermsFor(say.Tongue)), TakenInBy: v.BeganBy}
	for _, d := range v.Dockets {
		i := d.Head.Docket.Intake
		var details []string
		for _, f := range sheet.PaperDetails(d.Head, say.Tongue) {
			details = append(details, say.Inner(f.Label)+" "+f.Value)
		}
		t.Watches = append(t.Watches, paper.TicketWatch{Docket: d.Head.Docket.Number.String(), Watch: sheet.WatchWords(d.Head),
			Details: joined(details...), Complaint: i.Complaint, Condition: conditionLine(say.Tongue, d.Sheet.Condition),
			Promised:      say.Day(i.PromisedOn),
			DeclaredValue: sheet.Amount(i.DeclaredValueMinor, i.Currency, say.Shop, say.Say("paper.not_declared")),
			ApprovalLimit: sheet.Amount(i.ApprovalLimitMinor, i.Currency, say.Shop, say.Say("paper.always_ask"))})
	}
	return t
}

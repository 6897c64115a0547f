package books

import (
	"fmt"
	"net/http"

	"ledgerwheel/domain/customer"
	"ledgerwheel/domain/figure"
	"ledgerwheel/domain/money"
	"ledgerwheel/web/page"
	"ledgerwheel/web/view"
)

// showOwed lists what is billed and not paid, newest dockets first.
func (s *Room) showOwed(w http.ResponseWriter, r *http.Request) error {
	before := 0
	if typed := r.URL.Query().Get("before"); typed != "" {
		var err error
		if before, err = figure.ParseWhole(typed); err != nil || before < 1 {
			return page.BadRequest(fmt.Errorf("before: %q", typed))
		}
	}
	list, more, err := s.store.Debts(r.Context(), int64(before))
	if err != nil {
		return err
	}
	viewer, _ := page.ViewerOf(r.Context())
	var v owedView
	for _, d := range list {
		who := customer.Customer{Phone: d.Phone, PhoneE164: d.PhoneE164}
		row := owedRow{Number: d.Number.String(), Customer: d.Customer, Phone: who.PhoneIn(viewer.Shop.PhoneRegion), Since: s.Day(r, d.Since),
			Amount: money.Format(d.Minor, d.Currency, viewer.Shop.Locale), Watch: "left"}
		if d.Open {
			row.Watch = "here"
		}
		if d.PhoneE164 != "" {
			row.Tel = "tel:" + d.PhoneE164
		}
		v.Rows = append(v.Rows, row)
	}
	if more {
		v.Pager = view.PagerView{Older: "/owed?before=" + page.Itoa64(list[len(list)-1].ID)}
	}
	return page.Render(w, r, http.StatusOK, owedPage(s.Page(r, "Owed"), v))
}

package counter

import (
	"cmp"
	"net/http"

	"ledgerwheel/domain/money"
	"ledgerwheel/web/page"
	"ledgerwheel/web/view"
)

// sayMoney answers while an amount is typed, with a piece of the page: how it is read, in figures and in words, or why
// it can't be read. The query names what was typed, q, and the currency.
func (s *Room) sayMoney(w http.ResponseWriter, r *http.Request) error {
	f := &page.Form{Values: r.URL.Query(), Problems: map[string]string{}}
	viewer, _ := page.ViewerOf(r.Context())
	code, locale, said := cmp.Or(f.Text("currency"), viewer.Shop.Currency), page.LocaleOf(r), ""
	if typed := f.Text("q"); typed != "" {
		minor, err := money.Parse(typed, code, locale)
		if said = money.Problem(err, code); err == nil {
			said = money.InWords(minor, code, locale)
		}
	}
	return page.Render(w, r, http.StatusOK, view.SaidAmount(said))
}

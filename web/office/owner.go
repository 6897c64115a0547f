package office

import (
	"net/http"
	"strconv"
	"strings"

	"ledgerwheel/domain/estimate"
	"ledgerwheel/domain/figure"
	"ledgerwheel/domain/money"
	"ledgerwheel/domain/shop"
	"ledgerwheel/domain/staff"
	"ledgerwheel/domain/taxnumber"
	"ledgerwheel/domain/text"
	"ledgerwheel/store"
	"ledgerwheel/web/page"
	"ledgerwheel/web/view"
)

func (s *Room) ownerRoutes() []page.Route {
	return []page.Route{
		page.Get("/owner", page.Needs(staff.ManageSettings), s.showOwner),
		page.Get("/settings", page.Needs(staff.ManageSettings), s.showSettings),
		page.Post("/settings", page.Needs(staff.ManageSettings), s.saveSettings),
	}
}

// asks are what is to be looked after now.
func (s *Room) asks(r *http.Request, st store.Standing) (asks []ownerAsk) {
	if n := len(st.Due.Steps(s.Today(r), page.ZoneOf(r))); n > 0 {
		asks = append(asks, ownerAsk{counted(n, "watch that nobody collects asks", "watches that nobody collects ask") + " for a next step.", "See which", "/?show=nobody"})
	}
	if n := len(st.Due.LoansOverdue(s.Today(r))); n > 0 {
		asks = append(asks, ownerAsk{counted(n, "loan watch", "loan watches") + " should be back.", "See which", "/?show=lent"})
	}
	if n := len(st.Risk.Limits.Exceeded(st.Risk.Held)); n > 0 {
		asks = append(asks, ownerAsk{"Declared values: " + counted(n, "limit of the insurer is exceeded.", "limits of the insurer are exceeded."), "See which", "/value-at-risk"})
	}
	if on := st.Uncounted; !on.IsZero() && on.Before(s.Today(r)) {
		asks = append(asks, ownerAsk{"The till of " + s.Day(r, on) + " was never counted.", "Count it", "/till"})
	}
	if n := st.Due.OrdersLate(s.Today(r)); n > 0 {
		asks = append(asks, ownerAsk{counted(n, "part is", "parts are") + " late at suppliers.", "See at whose door", "/orders/late"})
	}
	var mail []string
	if w := st.Mail; w.Waiting > 0 {
		mail = append(mail, counted(w.Waiting, "message waits", "messages wait")+", since "+s.Moment(r, w.Oldest)+".")
	}
	if w := st.Mail; w.Refused > 0 {
		mail = append(mail, counted(w.Refused, "was refused", "were refused")+", since "+s.Moment(r, w.RefusedSince)+".")
	}
	if len(mail) > 0 {
		asks = append(asks, ownerAsk{"Mail: " + strings.Join(mail, " "), "See mail", "/mail"})
	}
	return asks
}

func counted(n int, one, more string) string {
	if n == 1 {
		return "1 " + one
	}
	return strconv.Itoa(n) + " " + more
}

func (s *Room) showSettings(w http.ResponseWriter, r *http.Request) error {
	v, _ := page.ViewerOf(r.Context())
	return s.renderSettings(w, r, http.StatusOK, settingsForm(v.Shop), &v.Shop)
}

// renderSettings shows the form and, where the settings can stand, the papers as they print with them: sh is the shop as
// typed, or nil.
func (s *Room) renderSettings(w http.ResponseWriter, r *http.Request, status int, f *page.Form, sh *shop.Shop) error {
	newest, err := s.store.NewestShop(r.Context())
	if err != nil {
		return err
	}
	viewer, _ := page.ViewerOf(r.Context())
	v := settingsView{Form: f.View(), Logo: viewer.Shop.Logo != "", Saved: s.Moment(r, newest.MadeAt)}
	if newest.MadeBy != "" {
		v.Saved += " by " + newest.MadeBy
	}
	if sh != nil {
		if v.Papers, err = samplePapers(*sh); err != nil {
			return err
		}
		v.Beware = paperWarnings(*sh, v.Papers)
	}
	return page.Render(w, r, status, settings(s.Page(r, "Settings"), v))
}

// settingsForm is the shop as it would be typed.
func settingsForm(sh shop.Shop) *page.Form {
	f := page.EmptyForm()
	rule := "guarded"
	if sh.SimpleAcceptance {
		rule = "simple"
	}
	for name, value := range map[string]string{
		"name": sh.Name, "address": sh.Address, "phone": sh.Phone, "email": sh.Email, "hours": sh.Hours.String(), "time_zone": sh.TimeZone,
		"locale":       sh.Locale,
		"phone_region": sh.PhoneRegion, "currency": sh.Currency, "tax_name": sh.TaxName,
		"tax_rate":      estimate.FormatPercent(sh.TaxBasisPoints),
		"decision_rule": rule, "instrument": sh.Instrument, "instrument_ppm": figure.Plain(sh.InstrumentPPM),
		"warranty_months": strconv.Itoa(sh.WarrantyMonths), "warranty_covers": sh.WarrantyCovers,
		"ticket_terms":       sh.TicketTerms,
		"warranty_covers_en": sh.WarrantyCoversEn, "warranty_covers_de": sh.WarrantyCoversDe, "warranty_covers_fr": sh.WarrantyCoversFr,
		"ticket_terms_en": sh.TicketTermsEn, "ticket_terms_de": sh.TicketTermsDe, "ticket_terms_fr": sh.TicketTermsFr,
		"estimate_days": strconv.Itoa(sh.EstimateDays), "idle_minutes": strconv.Itoa(sh.IdleMinutes), "second_factor": sh.SecondFactor,
		"no_ticket_rule": sh.NoTicketRule, "certified_till": sh.CertifiedTill,
		"tax_number": sh.TaxNumber, "other_tax_number": sh.OtherTaxNumber,
	} {
		f.Values.Set(name, value)
	}
	if sh.BenchHourMinor != 0 {
		f.Values.Set("bench_hour", money.Plain(sh.BenchHourMinor, sh.Currency))
	}
	if sh.InvoiceYears != 0 {
		f.Values.Set("invoice_years", strconv.Itoa(sh.InvoiceYears))
	}
	if sh.PricesIncludeTax {
		f.Values.Set("prices_include_tax", "yes")
	}
	if sh.CardByClerk {
		f.Values.Set("card_by_clerk", "yes")
	}
	return f
}

// readSettings reads the form over the shop as it stands, so that what no form shows is kept.
func readSettings(f *page.Form, sh shop.Shop) shop.Shop {
	sh.Name, sh.Address, sh.Phone, sh.Email = f.Text("name"), f.Text("address"), f.Text("phone"), f.Text("email")
	sh.TimeZone, sh.Locale = f.Text("time_zone"), f.Text("locale")
	sh.PhoneRegion, sh.Currency = strings.ToUpper(f.Text("phone_region")), strings.ToUpper(f.Text("currency"))
	sh.TaxName, sh.PricesIncludeTax = f.Text("tax_name"), f.Checked("prices_include_tax")
	sh.SimpleAcceptance = f.Text("decision_rule") == "simple"
	sh.Instrument, sh.WarrantyCovers, sh.TicketTerms = f.Text("instrument"), f.Text("warranty_covers"),
		f.Text("ticket_terms")
	sh.TicketTermsEn, sh.TicketTermsDe, sh.TicketTermsFr = f.Text("ticket_terms_en"), f.Text("ticket_terms_de"), f.Text("ticket_terms_fr")
	sh.WarrantyCoversEn, sh.WarrantyCoversDe, sh.WarrantyCoversFr = f.Text("warranty_covers_en"), f.Text("warranty_covers_de"),
		f.Text("warranty_covers_fr")
	sh.WarrantyMonths, sh.EstimateDays = f.Int("warranty_months"), f.Int("estimate_days")
	sh.IdleMinutes, sh.SecondFactor = f.Int("idle_minutes"), f.Text("second_factor")
	sh.InvoiceYears = f.Int("invoice_years")
	sh.BenchHourMinor = 0
	if hour := f.Amount("bench_hour", sh.Currency, sh.Locale); hour != nil {
		sh.BenchHourMinor = *hour
	}
	sh.NoTicketRule, sh.CardByClerk = f.Text("no_ticket_rule"), f.Checked("card_by_clerk")
	sh.CertifiedTill = f.Text("certified_till")
	sh.TaxNumber, sh.OtherTaxNumber = taxnumber.Tidied(f.Text("tax_number")), text.Line(f.Text("other_tax_number"))
	var err error
	if sh.TaxBasisPoints, err = estimate.ParsePercent(f.Text("tax_rate")); err != nil {
		f.Fail("tax_rate", "Give a rate such as 8.1, in per cent.")
	}
	if sh.Hours, err = shop.ParseHours(f.Text("hours")); err != nil {
		f.Fail("hours", text.Sentence(err.Error()))
	}
	ppm, err := figure.Parse(f.Text("instrument_ppm"), "ppm")
	if err != nil {
		f.Fail("instrument_ppm", "Give parts per million, such as 50.")
	}
	sh.InstrumentPPM = ppm.Float()
	f.FailAll(sh.Problems())
	return sh
}

func (s *Room) saveSettings(w http.ResponseWriter, r *http.Request) error {
	f, err := page.ReadForm(w, r)
	if err != nil {
		return err
	}
	v, _ := page.ViewerOf(r.Context())
	sh := readSettings(f, v.Shop)
	if !f.OK() {
		return s.renderSettings(w, r, http.StatusUnprocessableEntity, f, nil)
	}
	if f.Text("do") == "show" {
		return s.renderSettings(w, r, http.StatusOK, f, &sh)
	}
	if sh.IdleMinutes != v.Shop.IdleMinutes || sh.SecondFactor != v.Shop.SecondFactor {
		if ok, err := s.Proven(w, r, f, view.SureView{Title: "Change how people sign in?", Button: "Save the settings",
			Text: "The settings say from now on who needs a second factor, or when an unused session ends."}); !ok {
			return err
		}
	}
	if err := s.store.SaveShop(r.Context(), sh, page.Actor(r), s.Now()); err != nil {
		return err
	}
	s.Say(r.Context(), "The settings are saved.")
	return page.SeeOther(w, r, "/settings")
}

package web

import (
	"context"
	"net/http"
	"strconv"
	"strings"

	"ledgerwheel/domain/estimate"
	"ledgerwheel/domain/figure"
	"ledgerwheel/domain/shop"
	"ledgerwheel/domain/staff"
	"ledgerwheel/web/view"
)

type ownerStore interface {
	SaveShop(ctx context.Context, sh shop.Shop) error
}

func (s *Server) ownerRoutes() []route {
	return []route{
		{"GET", "/owner", needs(staff.ManageSettings), s.showOwner},
		{"GET", "/settings", needs(staff.ManageSettings), s.showSettings},
		{"POST", "/settings", needs(staff.ManageSettings), s.saveSettings},
	}
}

// showOwner leads to everything that is the owner's to keep.
func (s *Server) showOwner(w http.ResponseWriter, r *http.Request) error {
	return render(w, r, http.StatusOK, view.Owner(s.page(r, "Owner")))
}

func (s *Server) showSettings(w http.ResponseWriter, r *http.Request) error {
	v, _ := viewerOf(r.Context())
	return s.renderSettings(w, r, http.StatusOK, settingsForm(v.Shop))
}

func (s *Server) renderSettings(w http.ResponseWriter, r *http.Request, status int, f *form) error {
	return render(w, r, status, view.Settings(s.page(r, "Settings"), view.SettingsView{Form: f.view()}))
}

// settingsForm is the shop as it would be typed.
func settingsForm(sh shop.Shop) *form {
	f := emptyForm()
	rule := "guarded"
	if sh.SimpleAcceptance {
		rule = "simple"
	}
	for name, value := range map[string]string{
		"name": sh.Name, "address": sh.Address, "phone": sh.Phone, "email": sh.Email, "time_zone": sh.TimeZone, "locale": sh.Locale,
		"phone_region": sh.PhoneRegion, "currency": sh.Currency, "tax_name": sh.TaxName, "tax_rate": estimate.FormatPercent(sh.TaxBasisPoints),
		"decision_rule": rule, "instrument": sh.Instrument, "instrument_ppm": strconv.FormatFloat(sh.InstrumentPPM, 'f', -1, 64),
		"warranty_months": strconv.Itoa(sh.WarrantyMonths), "warranty_covers": sh.WarrantyCovers, "ticket_terms": sh.TicketTerms,
		"estimate_days": strconv.Itoa(sh.EstimateDays),
	} {
		f.Values.Set(name, value)
	}
	if sh.PricesIncludeTax {
		f.Values.Set("prices_include_tax", "yes")
	}
	return f
}

// readSettings reads the form over the shop as it stands, so that what no form shows is kept.
func readSettings(f *form, sh shop.Shop) shop.Shop {
	sh.Name, sh.Address, sh.Phone, sh.Email = f.Text("name"), f.Text("address"), f.Text("phone"), f.Text("email")
	sh.TimeZone, sh.Locale = f.Text("time_zone"), f.Text("locale")
	sh.PhoneRegion, sh.Currency = strings.ToUpper(f.Text("phone_region")), strings.ToUpper(f.Text("currency"))
	sh.TaxName, sh.PricesIncludeTax = f.Text("tax_name"), f.Checked("prices_include_tax")
	sh.SimpleAcceptance = f.Text("decision_rule") == "simple"
	sh.Instrument, sh.WarrantyCovers, sh.TicketTerms = f.Text("instrument"), f.Text("warranty_covers"), f.Text("ticket_terms")
	sh.WarrantyMonths, sh.EstimateDays = f.Int("warranty_months"), f.Int("estimate_days")
	var err error
	if sh.TaxBasisPoints, err = estimate.ParsePercent(f.Text("tax_rate")); err != nil {
		f.Fail("tax_rate", "Give a rate such as 8.1, in per cent.")
	}
	ppm, err := figure.Parse(f.Text("instrument_ppm"), "ppm")
	if err != nil {
		f.Fail("instrument_ppm", "Give parts per million, such as 50.")
	}
	sh.InstrumentPPM = ppm.Float()
	f.FailAll(sh.Problems())
	return sh
}

func (s *Server) saveSettings(w http.ResponseWriter, r *http.Request) error {
	f, err := readForm(w, r)
	if err != nil {
		return err
	}
	v, _ := viewerOf(r.Context())
	sh := readSettings(f, v.Shop)
	if !f.OK() {
		return s.renderSettings(w, r, http.StatusUnprocessableEntity, f)
	}
	if err := s.store.SaveShop(r.Context(), sh); err != nil {
		return err
	}
	s.say(r.Context(), "The settings are saved.")
	return seeOther(w, r, "/settings")
}

package office

import (
	"net/http"

	"ledgerwheel/domain/shop"
	"ledgerwheel/domain/staff"
	"ledgerwheel/web/page"
)

func (s *Room) logoRoutes() []page.Route {
	return []page.Route{
		page.Get("/settings/logo", page.Needs(staff.ManageSettings), s.showLogo),
		page.Post("/settings/logo", page.Needs(staff.ManageSettings), s.saveLogo),
		page.Post("/settings/logo/none", page.Needs(staff.ManageSettings), s.takeLogoOff),
	}
}

func (s *Room) showLogo(w http.ResponseWriter, r *http.Request) error {
	return s.renderLogo(w, r, http.StatusOK, page.EmptyForm())
}

// renderLogo shows the logo as colour and as black-and-white printers print it, and the papers with it.
func (s *Room) renderLogo(w http.ResponseWriter, r *http.Request, status int, f *page.Form) error {
	viewer, _ := page.ViewerOf(r.Context())
	papers, err := logoPapers(viewer.Shop)
	if err != nil {
		return err
	}
	return page.Render(w, r, status, logoPage(s.Page(r, "Logo"), logoView{Form: f.View(), Logo: page.LogoURL(viewer.Shop),
		None: viewer.Shop.LogoNone, Papers: papers}))
}

// logoPapers are a paper of each size that prints the logo.
func logoPapers(sh shop.Shop) ([]samplePaper, error) {
	if sh.Logo == "" {
		return nil, nil
	}
	all, err := samplePapers(sh)
	if err != nil {
		return nil, err
	}
	var list []samplePaper
	for _, p := range all {
		switch p.Name {
		case "claim ticket", "invoice", "warranty card":
			list = append(list, p)
		}
	}
	return list, nil
}

// saveLogo takes a picture as the logo, with the settings as they stand.
func (s *Room) saveLogo(w http.ResponseWriter, r *http.Request) error {
	f, picture, err := page.ReceiveLogo(w, r)
	if err != nil {
		return err
	}
	if !f.OK() {
		return s.renderLogo(w, r, http.StatusUnprocessableEntity, f)
	}
	viewer, _ := page.ViewerOf(r.Context())
	if err := s.store.SaveLogo(r.Context(), viewer.Shop, picture, page.Actor(r), s.Now()); err != nil {
		return err
	}
	s.Say(r.Context(), "The logo is saved. Papers that are made from now on print it.")
	return page.SeeOther(w, r, "/settings/logo")
}

// takeLogoOff takes the logo off, or says that none is wanted.
func (s *Room) takeLogoOff(w http.ResponseWriter, r *http.Request) error {
	f, err := page.ReadForm(w, r)
	if err != nil {
		return err
	}
	viewer, _ := page.ViewerOf(r.Context())
	sh := viewer.Shop
	sh.Logo, sh.LogoNone = "", f.Text("wanted") == "no"
	said := "The logo is taken off. Papers that were made with it keep it."
	if sh.LogoNone && viewer.Shop.Logo == "" {
		said = "Kept: papers bear the shop’s name alone."
	}
	if err := s.store.SaveShop(r.Context(), sh, page.Actor(r), s.Now()); err != nil {
		return err
	}
	s.Say(r.Context(), said)
	if sh.LogoNone {
		return page.SeeOther(w, r, "/first-steps")
	}
	return page.SeeOther(w, r, "/settings/logo")
}

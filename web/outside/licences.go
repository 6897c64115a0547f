package outside

import (
	"io"
	"net/http"

	"github.com/go-chi/chi/v5"

	"ledgerwheel/domain"
	"ledgerwheel/web/notices"
	"ledgerwheel/web/page"
)

func (s *Room) licenceRoutes() []page.Route {
	return []page.Route{
		page.Get("/licences", page.Public, s.showLicences),
		page.Get("/licences/{notice}", page.Public, s.sendLicence),
	}
}

// showLicences lists what the program is made of.
func (s *Room) showLicences(w http.ResponseWriter, r *http.Request) error {
	var v licencesView
	for _, n := range notices.All() {
		v.Parts = append(v.Parts, licenceView{Name: n.Name, Version: n.Version, Licences: n.Licences,
			Href: "/licences/" + n.Slug()})
	}
	return page.Render(w, r, http.StatusOK, licences(s.Page(r, "Licences"), v))
}

// sendLicence answers with one notice's whole text.
func (s *Room) sendLicence(w http.ResponseWriter, r *http.Request) error {
	slug := chi.URLParam(r, "notice")
	for _, n := range notices.All() {
		if n.Slug() == slug {
			w.Header().Set("Content-Type", "text/plain; charset=utf-8")
			_, _ = io.WriteString(w, n.Text) // a reader that went away is no fault of ours
			return nil
		}
	}
	return domain.ErrNotFound
}

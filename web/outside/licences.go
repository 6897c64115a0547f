package web

import (
	"io"
	"net/http"

	"github.com/go-chi/chi/v5"

	"ledgerwheel/domain"
	"ledgerwheel/web/notices"
	"ledgerwheel/web/view"
)

func (s *Server) licenceRoutes() []route {
	return []route{
		{http.MethodGet, "/licences", public, s.showLicences},
		{http.MethodGet, "/licences/{notice}", public, s.sendLicence},
	}
}

// showLicences lists what the program is made of.
func (s *Server) showLicences(w http.ResponseWriter, r *http.Request) error {
	var v view.LicencesView
	for _, n := range notices.All() {
		v.Parts = append(v.Parts, view.LicenceView{Name: n.Name, Version: n.Version, Licences: n.Licences,
			Href: "/licences/" + n.Slug()})
	}
	return render(w, r, http.StatusOK, view.Licences(s.page(r, "Licences"), v))
}

// sendLicence answers with one notice's whole text.
func (s *Server) sendLicence(w http.ResponseWriter, r *http.Request) error {
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

package office

import (
	"net/http"
	"strconv"

	"ledgerwheel/domain/staff"
	"ledgerwheel/web/page"
)

func (s *Room) accessRoutes() []page.Route {
	return []page.Route{page.Get("/access", page.Needs(staff.SeeAccess), s.showAccess)}
}

// showAccess is the owner's log of sign-ins.
func (s *Room) showAccess(w http.ResponseWriter, r *http.Request) error {
	before, _ := strconv.ParseInt(r.URL.Query().Get("before"), 10, 64) // 0, the newest, for what is no number
	list, older, err := s.store.Accesses(r.Context(), before)
	if err != nil {
		return err
	}
	var v accessView
	for _, e := range list {
		v.Accesses = append(v.Accesses, s.accessRow(r, e))
	}
	if older != 0 {
		v.Older = "/access?before=" + page.Itoa64(older)
	}
	return page.Render(w, r, http.StatusOK, accessPage(s.Page(r, "Sign-ins"), v))
}

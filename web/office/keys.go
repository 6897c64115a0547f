package office

import (
	"encoding/hex"
	"errors"
	"net/http"

	"ledgerwheel/domain"
	"ledgerwheel/domain/staff"
	"ledgerwheel/domain/warranty"
	"ledgerwheel/web/page"
	"ledgerwheel/web/view"
)

func (s *Room) keysRoutes() []page.Route {
	return []page.Route{
		page.Get("/keys", page.Needs(staff.ManageKeys), s.showKeys),
		page.Post("/keys/rotate", page.Needs(staff.ManageKeys), s.rotateKey),
	}
}

func (s *Room) showKeys(w http.ResponseWriter, r *http.Request) error {
	return s.renderKeys(w, r, http.StatusOK, "")
}

// rotateKey retires the key that the owner saw in use and makes another.
func (s *Room) rotateKey(w http.ResponseWriter, r *http.Request) error {
	f, err := page.ReadForm(w, r)
	if err != nil {
		return err
	}
	if current := f.Text("current"); current != "" {
		sure, err := s.Sure(w, r, f, view.SureView{Title: "Retire key " + current + "?", Button: "Retire it and make a new one", Prove: true,
			Text: "Key " + current + " signs no card any more and can't be taken into use again. Cards that it signed stay " +
				"genuine. The next card is signed with a new key."})
		if !sure {
			return err
		}
	}
	id, err := s.store.RotateKey(r.Context(), warranty.KeyID(f.Text("current")), page.Actor(r), s.Now())
	if errors.Is(err, domain.ErrChanged) {
		return s.renderKeys(w, r, http.StatusConflict, "Another key came into use since this page was drawn. Nothing was "+
			"done; the keys below are as they are now.")
	}
	if errors.Is(err, warranty.ErrNoGivenKey) {
		return s.renderKeys(w, r, http.StatusConflict, warranty.NoGivenKey)
	}
	if err != nil {
		return err
	}
	s.Say(r.Context(), "Cards are signed with key "+string(id)+" from now on.")
	return page.SeeOther(w, r, "/keys")
}

func (s *Room) renderKeys(w http.ResponseWriter, r *http.Request, status int, problem string) error {
	keys, err := s.store.SigningKeys(r.Context())
	if err != nil {
		return err
	}
	v := keysView{Problem: problem}
	for _, k := range keys {
		row := keyRowView{ID: string(k.ID), Public: hex.EncodeToString(k.Public), Made: s.Moment(r, k.MadeAt),
			MadeBy:  k.MadeBy,
			Retired: s.Moment(r, k.RetiredAt), RetiredBy: k.RetiredBy, LastUsed: s.Moment(r, k.LastUsed)}
		if row.Retired == "" {
			v.Current = row.ID
			if k.Away != nil {
				v.Away = k.Away.Error()
			}
		}
		row.Left = s.Moment(r, k.LeftAt)
		v.Keys = append(v.Keys, row)
	}
	return page.Render(w, r, status, keysPage(s.Page(r, "Signing keys"), v))
}

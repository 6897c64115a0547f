package web

import (
	"context"
	"encoding/hex"
	"errors"
	"net/http"
	"time"

	"ledgerwheel/domain"
	"ledgerwheel/domain/staff"
	"ledgerwheel/domain/warranty"
	"ledgerwheel/store"
	"ledgerwheel/web/view"
)

type keysStore interface {
	SigningKeys(ctx context.Context) ([]store.KeyRow, error)
	RotateKey(ctx context.Context, current warranty.KeyID, by store.Actor, at time.Time) (warranty.KeyID, error)
}

func (s *Server) keysRoutes() []route {
	return []route{
		{http.MethodGet, "/keys", needs(staff.ManageKeys), s.showKeys},
		{http.MethodPost, "/keys/rotate", needs(staff.ManageKeys), s.rotateKey},
	}
}

func (s *Server) showKeys(w http.ResponseWriter, r *http.Request) error {
	return s.renderKeys(w, r, http.StatusOK, "")
}

// rotateKey retires the key that the owner saw in use and makes another.
func (s *Server) rotateKey(w http.ResponseWriter, r *http.Request) error {
	f, err := readForm(w, r)
	if err != nil {
		return err
	}
	id, err := s.store.RotateKey(r.Context(), warranty.KeyID(f.Text("current")), actor(r), s.now())
	if errors.Is(err, domain.ErrChanged) {
		return s.renderKeys(w, r, http.StatusConflict, "Another key came into use since this page was drawn. Nothing was done; the keys below are as they are now.")
	}
	if err != nil {
		return err
	}
	s.say(r.Context(), "Cards are signed with key "+string(id)+" from now on.")
	return seeOther(w, r, "/keys")
}

func (s *Server) renderKeys(w http.ResponseWriter, r *http.Request, status int, problem string) error {
	keys, err := s.store.SigningKeys(r.Context())
	if err != nil {
		return err
	}
	v := view.KeysView{Problem: problem}
	for _, k := range keys {
		row := view.KeyRowView{ID: string(k.ID), Public: hex.EncodeToString(k.Public), Made: s.moment(r, k.MadeAt), MadeBy: k.MadeBy,
			Retired: s.moment(r, k.RetiredAt), RetiredBy: k.RetiredBy, LastUsed: s.moment(r, k.LastUsed)}
		if row.Retired == "" {
			v.Current = row.ID
		}
		v.Keys = append(v.Keys, row)
	}
	return render(w, r, status, view.Keys(s.page(r, "Signing keys"), v))
}

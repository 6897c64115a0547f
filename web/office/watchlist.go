package web

import (
	"context"
	"net/http"
	"strconv"
	"time"

	"ledgerwheel/domain/staff"
	"ledgerwheel/domain/watch"
	"ledgerwheel/store"
	"ledgerwheel/web/view"
)

type watchListStore interface {
	Listed(ctx context.Context, before int64) ([]store.ListedWatch, error)
	AddToWatchList(ctx context.Context, e watch.WatchListEntry, by store.Actor, at time.Time) error
	RemoveFromWatchList(ctx context.Context, id int64, by store.Actor, at time.Time) error
}

func (s *Server) watchListRoutes() []route {
	return []route{
		{"GET", "/watch-list", needs(staff.ManageWatchList), s.showWatchList},
		{"POST", "/watch-list", needs(staff.ManageWatchList), s.addToWatchList},
		{"POST", "/watch-list/{id}/remove", needs(staff.ManageWatchList), s.removeFromWatchList},
	}
}

func (s *Server) showWatchList(w http.ResponseWriter, r *http.Request) error {
	return s.renderWatchList(w, r, http.StatusOK, emptyForm())
}

func (s *Server) renderWatchList(w http.ResponseWriter, r *http.Request, status int, f *form) error {
	before, _ := strconv.ParseInt(r.URL.Query().Get("before"), 10, 64) // anything else shows the newest
	entries, err := s.store.Listed(r.Context(), before)
	if err != nil {
		return err
	}
	listed := view.WatchListView{Form: f.view()}
	for _, e := range entries {
		listed.Entries = append(listed.Entries, view.ListedEntry{ID: e.ID, Serial: e.Serial, Maker: e.Maker, Source: e.Source, Note: e.Note,
			Reported: s.day(r, e.Reported), Added: e.AddedBy + ", " + s.moment(r, e.AddedAt)})
	}
	if len(entries) == store.ListedPage {
		listed.Older = "/watch-list?before=" + strconv.FormatInt(entries[len(entries)-1].ID, 10)
	}
	return render(w, r, status, view.WatchList(s.page(r, "Watch list"), listed))
}

func (s *Server) addToWatchList(w http.ResponseWriter, r *http.Request) error {
	f, err := readForm(w, r)
	if err != nil {
		return err
	}
	e := watch.WatchListEntry{Serial: f.Text("serial"), Maker: f.Text("maker"), Source: f.Text("source"), Note: f.Text("note"),
		Reported: f.Day("reported")}.Tidied()
	f.FailAll(e.Problems(s.now()))
	if !f.OK() {
		return s.renderWatchList(w, r, http.StatusUnprocessableEntity, f)
	}
	if err := s.store.AddToWatchList(r.Context(), e, actor(r), s.now()); err != nil {
		return err
	}
	s.say(r.Context(), "Serial "+e.Serial+" is on the watch list.")
	return seeOther(w, r, "/watch-list")
}

func (s *Server) removeFromWatchList(w http.ResponseWriter, r *http.Request) error {
	id, err := pathID(r, "id")
	if err != nil {
		return err
	}
	if err := s.store.RemoveFromWatchList(r.Context(), id, actor(r), s.now()); err != nil {
		return err
	}
	s.say(r.Context(), "The entry is withdrawn.")
	return seeOther(w, r, "/watch-list")
}

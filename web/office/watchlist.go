package office

import (
	"net/http"
	"strconv"

	"ledgerwheel/domain/staff"
	"ledgerwheel/domain/watch"
	"ledgerwheel/store"
	"ledgerwheel/web/page"
)

func (s *Room) watchListRoutes() []page.Route {
	return []page.Route{
		page.Get("/watch-list", page.Needs(staff.ManageWatchList), s.showWatchList),
		page.Post("/watch-list", page.Needs(staff.ManageWatchList), s.addToWatchList),
		page.Post("/watch-list/{id}/remove", page.Needs(staff.ManageWatchList), s.removeFromWatchList),
	}
}

func (s *Room) showWatchList(w http.ResponseWriter, r *http.Request) error {
	return s.renderWatchList(w, r, http.StatusOK, page.EmptyForm())
}

func (s *Room) renderWatchList(w http.ResponseWriter, r *http.Request, status int, f *page.Form) error {
	before, _ := strconv.ParseInt(r.URL.Query().Get("before"), 10, 64) // anything else shows the newest
	entries, err := s.store.Listed(r.Context(), before)
	if err != nil {
		return err
	}
	listed := watchListView{Form: f.View()}
	for _, e := range entries {
		listed.Entries = append(listed.Entries, listedEntry{ID: e.ID, Serial: e.Serial, Maker: e.Maker, Source: e.Source,
			Note:     e.Note,
			Reported: s.Day(r, e.Reported), Added: e.AddedBy + ", " + s.Moment(r, e.AddedAt), Twice: e.Twice})
	}
	if len(entries) == store.ListedPage {
		listed.Older = "/watch-list?before=" + strconv.FormatInt(entries[len(entries)-1].ID, 10)
	}
	return page.Render(w, r, status, watchList(s.Page(r, "Watch list"), listed))
}

func (s *Room) addToWatchList(w http.ResponseWriter, r *http.Request) error {
	f, err := page.ReadForm(w, r)
	if err != nil {
		return err
	}
	e := watch.WatchListEntry{Serial: f.Text("serial"), Maker: f.Text("maker"), Source: f.Text("source"),
		Note:     f.Text("note"),
		Reported: f.Day("reported")}.Tidied()
	f.FailAll(e.Problems(s.Now()))
	if f.OK() {
		err = s.store.AddToWatchList(r.Context(), e, page.Actor(r), s.Now())
	}
	if err != nil && !f.Takes(err) {
		return err
	}
	if !f.OK() {
		return s.renderWatchList(w, r, http.StatusUnprocessableEntity, f)
	}
	s.Say(r.Context(), "Serial "+e.Serial+" is on the watch list.")
	return page.SeeOther(w, r, "/watch-list")
}

func (s *Room) removeFromWatchList(w http.ResponseWriter, r *http.Request) error {
	id, err := page.PathID(r, "id")
	if err != nil {
		return err
	}
	if err := s.store.RemoveFromWatchList(r.Context(), id, page.Actor(r), s.Now()); err != nil {
		return err
	}
	s.Say(r.Context(), "The entry is withdrawn.")
	return page.SeeOther(w, r, "/watch-list")
}

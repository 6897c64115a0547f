package comebacks

import (
	"errors"
	"fmt"
	"net/http"
	"net/url"

	"ledgerwheel/domain/figure"
	"ledgerwheel/domain/text"
	"ledgerwheel/store"
	"ledgerwheel/web/page"
	"ledgerwheel/web/view"
)

// showList lists comebacks, newest first: those in the shop, or all.
func (s *Room) showList(w http.ResponseWriter, r *http.Request) error {
	f, err := readFilter(r.URL.Query())
	if err != nil {
		return page.BadRequest(err)
	}
	list, err := s.store.Comebacks(r.Context(), f)
	if err != nil {
		return err
	}
	viewer, _ := page.ViewerOf(r.Context())
	v := listView{Open: f.Open}
	for _, row := range list.Rows {
		c := comebackRow{Number: row.Docket.Number.String(), Of: row.Of.String(), Watch: row.Watch, Customer: row.Customer,
			Stage: text.Capital(row.Docket.Stage.Label()), Cause: "not said yet", Cover: row.Said.Cover.Words(),
			Cost: costWords(row.Spent, row.Currency, viewer.Shop)}
		if row.Said.Any() {
			c.Cause = row.Said.Cause.Words()
		}
		if row.Facts.Closed {
			c.Stage = "left " + s.Day(r, page.Civil(row.Docket.HandedBackAt.In(page.ZoneOf(r))))
		}
		v.Rows = append(v.Rows, c)
	}
	v.Pager = pagerOf(f, list)
	return page.Render(w, r, http.StatusOK, listPage(s.Page(r, "Comebacks"), v))
}

// readFilter reads the query; anything that no page of ours sends is an error.
func readFilter(q url.Values) (f store.ComebackFilter, err error) {
	switch q.Get("show") {
	case "", "open":
		f.Open = true
	case "all":
	default:
		return f, fmt.Errorf("show: %q", q.Get("show"))
	}
	for name, id := range map[string]*int64{"before": &f.Before, "after": &f.After} {
		if typed := q.Get(name); typed != "" {
			n, err := figure.ParseWhole(typed)
			if err != nil || n < 1 {
				return f, fmt.Errorf("%s: %q", name, typed)
			}
			*id = int64(n)
		}
	}
	if f.Before != 0 && f.After != 0 {
		return f, errors.New("both before and after")
	}
	return f, nil
}

func pagerOf(f store.ComebackFilter, list store.ComebackList) view.PagerView {
	var p view.PagerView
	if len(list.Rows) == 0 {
		return p
	}
	base := "/comebacks?show=open"
	if !f.Open {
		base = "/comebacks?show=all"
	}
	first, last := list.Rows[0].Docket, list.Rows[len(list.Rows)-1].Docket
	if list.Newer {
		p.Newer = base + "&after=" + page.Itoa64(first.ID)
	}
	if list.Older {
		p.Older = base + "&before=" + page.Itoa64(last.ID)
	}
	if list.Newer || list.Older {
		p.Here = first.Number.String() + " to " + last.Number.String()
	}
	return p
}

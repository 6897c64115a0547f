package promises

import (
	"encoding/csv"
	"fmt"
	"net/http"

	"ledgerwheel/domain/promise"
	"ledgerwheel/web/page"
)

// said are the counts of the page, each with what it is of.
func (s *Room) said(r *http.Request) (list []counted, tries int, err error) {
	viewer, _ := page.ViewerOf(r.Context())
	k, err := s.store.PromisesKept(r.Context(), viewer.Shop, s.Now())
	if err != nil {
		return nil, 0, err
	}
	list = append(list, counted{ofProposed, promise.CountOf(promise.Percent(promise.Level), k.Proposed)})
	for _, c := range promise.Calibration(k.Tries) {
		list = append(list, counted{ofPast, c})
	}
	for _, c := range promise.MadeWith(k.Made) {
		list = append(list, counted{ofMade, c})
	}
	return list, len(k.Tries), nil
}

func (s *Room) showPromises(w http.ResponseWriter, r *http.Request) error {
	list, tries, err := s.said(r)
	if err != nil {
		return err
	}
	return page.Render(w, r, http.StatusOK, promisesPage(s.Page(r, "Promised days"), promisesView{Counts: list, Watches: tries}))
}

// sendPromises answers with the tables of the page as one CSV.
func (s *Room) sendPromises(w http.ResponseWriter, r *http.Request) error {
	list, _, err := s.said(r)
	if err != nil {
		return err
	}
	h := w.Header()
	h.Set("Content-Type", "text/csv; charset=utf-8; header=present") // RFC 7111 and RFC 4180
	h.Set("Content-Disposition", `attachment; filename="promised-days.csv"`)
	c := csv.NewWriter(w)
	c.UseCRLF = true
	rows := [][]string{{"days", "chance said from %", "to %", "decided", "kept", "share kept %", "interval from %", "to %"}}
	for _, n := range list {
		row := []string{n.Of, fmt.Sprint(n.FromPercent), fmt.Sprint(n.ToPercent), fmt.Sprint(n.N), fmt.Sprint(n.K), "", "", ""}
		if n.N > 0 {
			lo, hi := n.Interval()
			row[5], row[6], row[7] = fmt.Sprintf("%.1f", 100*n.P()), fmt.Sprintf("%.1f", 100*lo), fmt.Sprintf("%.1f", 100*hi)
		}
		rows = append(rows, row)
	}
	return c.WriteAll(rows)
}

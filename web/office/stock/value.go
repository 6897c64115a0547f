package stock

import (
	"encoding/csv"
	"net/http"
	"strconv"
	"time"

	"ledgerwheel/domain/money"
	"ledgerwheel/web/page"
)

func (s *Room) showValue(w http.ResponseWriter, r *http.Request) error {
	v, err := s.store.StockValue(r.Context(), s.Now())
	if err != nil {
		return err
	}
	locale := page.LocaleOf(r)
	out := valueView{More: v.More}
	for _, sum := range v.Sums {
		out.Sums = append(out.Sums, valueSum{Currency: sum.Currency, Parts: sum.Parts, Unpriced: sum.Unpriced, DeadParts: sum.DeadParts, Pieces: sum.Pieces,
			DeadPieces: sum.DeadPieces, Value: money.Format(sum.Minor, sum.Currency, locale), Dead: money.Format(sum.DeadMinor, sum.Currency, locale)})
	}
	for _, d := range v.Dead {
		row := deadRow{Number: d.Number, Name: d.Name, Href: "/stock/" + page.Itoa64(d.ID), Drawer: d.Drawer, Pieces: d.Pieces, Wanted: "never"}
		if d.CostMinor != nil {
			row.Value = money.Format(*d.CostMinor*int64(d.Pieces), d.Currency, locale)
		}
		if !d.WantedAt.IsZero() {
			row.Wanted = s.Day(r, s.CivilDayOf(r, d.WantedAt))
		}
		out.Dead = append(out.Dead, row)
	}
	return page.Render(w, r, http.StatusOK, valuePage(s.Page(r, "Stock value"), out))
}

// sendDead sends the parts that lie dead as CSV (RFC 4180).
func (s *Room) sendDead(w http.ResponseWriter, r *http.Request) error {
	v, err := s.store.StockValue(r.Context(), s.Now())
	if err != nil {
		return err
	}
	w.Header().Set("Content-Type", "text/csv; charset=utf-8")
	w.Header().Set("Content-Disposition", `attachment; filename="dead-stock.csv"`)
	out := csv.NewWriter(w)
	out.UseCRLF = true
	_ = out.Write([]string{"number", "name", "place", "pieces", "value", "currency", "last wanted"}) // Flush tells
	for _, d := range v.Dead {
		value, wanted := "", ""
		if d.CostMinor != nil {
			value = money.Plain(*d.CostMinor*int64(d.Pieces), d.Currency)
		}
		if !d.WantedAt.IsZero() {
			wanted = s.CivilDayOf(r, d.WantedAt).Format(time.DateOnly)
		}
		_ = out.Write([]string{d.Number, d.Name, d.Drawer, strconv.Itoa(d.Pieces), value, d.Currency, wanted})
	}
	out.Flush()
	return out.Error()
}

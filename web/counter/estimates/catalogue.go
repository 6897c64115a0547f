package estimates

import (
	"net/http"
	"strings"

	"ledgerwheel/domain/estimate"
	"ledgerwheel/domain/pricelist"
	"ledgerwheel/domain/text"
	"ledgerwheel/web/page"
)

// linkParts makes of each line that holds a number of the catalogue and nothing else the line of that part. What was
// unlinked has its name by then, and stays so. f has the fields as they are shown again.
func (s *Room) linkParts(r *http.Request, d *draftTyped, f *page.Form) error {
	typed := func(row estimate.LineForm) string {
		if row.PartID != 0 || row.Kind == string(estimate.Discount) {
			return ""
		}
		return text.Line(row.Description)
	}
	var numbers []string
	for _, row := range d.rows {
		if n := typed(row); n != "" {
			numbers = append(numbers, n)
		}
	}
	if len(numbers) == 0 {
		return nil
	}
	parts, err := s.store.PartsNumbered(r.Context(), numbers)
	if err != nil || len(parts) == 0 {
		return err
	}
	n, err := page.PathNumber(r)
	if err != nil {
		return err
	}
	head, err := s.store.Head(r.Context(), n)
	if err != nil {
		return err
	}
	for i, row := range d.rows {
		for _, p := range parts {
			if !strings.EqualFold(typed(row), p.Number) {
				continue
			}
			if d.rows[i], err = pricelist.OfPart(row, p, head.Docket.Currency, estimate.TaxRule{PricesIncludeTax: d.includesTax}); err != nil {
				f.Fail(lineField(i, "unit_price"), "The catalogue's price is too large.")
				d.rows[i] = row
			}
			break
		}
	}
	return nil
}

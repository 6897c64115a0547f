package page

import (
	"fmt"
	"net/http"
	"strconv"

	"github.com/go-chi/chi/v5"

	"ledgerwheel/domain"
	"ledgerwheel/domain/docket"
)

// PathNumber reads the docket's number from the address. Anything else is not found: addresses are not typed.
func PathNumber(r *http.Request) (docket.Number, error) {
	n, err := docket.ParseNumber(chi.URLParam(r, "number"))
	if err != nil {
		return docket.Number{}, fmt.Errorf("%w: %w", domain.ErrNotFound, err)
	}
	return n, nil
}

// PathID reads the id of a record from the address.
func PathID(r *http.Request, name string) (int64, error) {
	id, err := strconv.ParseInt(chi.URLParam(r, name), 10, 64)
	if err != nil || id <= 0 {
		return 0, domain.ErrNotFound
	}
	return id, nil
}

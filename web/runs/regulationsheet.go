package runs

import (
	"context"
	"net/http"

	"ledgerwheel/domain/docket"
	"ledgerwheel/store"
	"ledgerwheel/web/page"
)

// Reader reads the regulation sheet of a docket from the record.
type Reader interface {
	RegulationSheet(ctx context.Context, n docket.Number) (store.RegulationSheet, error)
}

// Read reads the regulation sheet of the docket that the address names.
func Read(r *http.Request, from Reader) (store.RegulationSheet, error) {
	n, err := page.PathNumber(r)
	if err != nil {
		return store.RegulationSheet{}, err
	}
	return from.RegulationSheet(r.Context(), n)
}

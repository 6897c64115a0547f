package web

import (
	"context"
	"net/http"

	"ledgerwheel/domain/docket"
	"ledgerwheel/store"
)

// sheetReader reads the regulation sheet of a docket from the record.
type sheetReader interface {
	RegulationSheet(ctx context.Context, n docket.Number) (store.RegulationSheet, error)
}

// regulationSheet reads the regulation sheet of the docket that the address names.
func regulationSheet(r *http.Request, from sheetReader) (store.RegulationSheet, error) {
	n, err := pathNumber(r)
	if err != nil {
		return store.RegulationSheet{}, err
	}
	return from.RegulationSheet(r.Context(), n)
}

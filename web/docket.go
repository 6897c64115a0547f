package web

import "slices"

// docketStore is what the pages of the docket core ask of the record.
type docketStore interface {
	journalStore
}

// docketRoutes are the pages of finding, listing, moving and following dockets.
func (s *Server) docketRoutes() []route {
	return slices.Concat(
		s.journalRoutes(),
	)
}

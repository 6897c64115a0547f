package web

import "slices"

// workStore is what the pages of the work on a watch ask of the record: diagnosis, estimate, parts, service, and the
// customer's own page.
type workStore interface {
	diagnosisStore
	estimateStore
	partsStore
	serviceStore
	customerLinkStore
}

// workRoutes are those pages.
func (s *Server) workRoutes() []route {
	return slices.Concat(s.diagnosisRoutes(), s.estimateRoutes(), s.partsRoutes(), s.serviceRoutes(), s.customerLinkRoutes())
}

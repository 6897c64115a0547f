package web

import (
	"slices"

	"github.com/go-chi/chi/v5"
)

var ()

// routes is that table. Every page file contributes its own rows, so that who may do what can be
// read, and tested, in one walk.
func (s *Server) routes() []route {
	return slices.Concat(
		s.signInRoutes(),
		s.docketRoutes(),
		s.todayRoutes(),
		s.intakeRoutes(),
		s.diagnosisRoutes(),
		s.estimateRoutes(),
		s.partsRoutes(),
		s.serviceRoutes(),
		s.customerLinkRoutes(),
		s.peopleRoutes(),
		s.ownerRoutes(),
		s.watchListRoutes(),
		s.calibreRoutes(),
		s.benchRoutes(),
		s.recorderRoutes(),
		s.regulationRoutes(),
		s.listenRoutes(),
		s.heardRoutes(),
		s.adviceRoutes(),
		s.trialRoutes(),
		s.rateLimitsRoutes(),
		s.finalTestRoutes(),
		s.handOverRoutes(),
		s.cardRoutes(),
		s.keysRoutes(),
		s.warrantyCheckRoutes(),
		s.licenceRoutes(),
	)
}

func (s *Server) mount(r chi.Router) {
	for _, rt := range s.routes() {
		r.Method(rt.method, rt.pattern, s.serve(rt.who, rt.handle))
	}
}

package web

import (
	"github.com/go-chi/chi/v5"

	"ledgerwheel/web/bench"
	"ledgerwheel/web/bench/calibres"
	"ledgerwheel/web/bench/comebacks"
	"ledgerwheel/web/bench/hearing"
	"ledgerwheel/web/bench/poising"
	"ledgerwheel/web/bench/positions"
	"ledgerwheel/web/bench/recorders"
	"ledgerwheel/web/bench/regulation"
	"ledgerwheel/web/bench/tools"
	"ledgerwheel/web/bench/trials"
	"ledgerwheel/web/counter"
	"ledgerwheel/web/counter/estimates"
	"ledgerwheel/web/counter/handover"
	"ledgerwheel/web/counter/invoices"
	"ledgerwheel/web/counter/loans"
	"ledgerwheel/web/counter/parcels"
	"ledgerwheel/web/counter/persons"
	"ledgerwheel/web/counter/told"
	"ledgerwheel/web/counter/uncollected"
	"ledgerwheel/web/office"
	"ledgerwheel/web/office/atrisk"
	"ledgerwheel/web/office/books"
	"ledgerwheel/web/office/figures"
	"ledgerwheel/web/office/orders"
	"ledgerwheel/web/office/post"
	"ledgerwheel/web/office/prices"
	"ledgerwheel/web/office/promises"
	"ledgerwheel/web/office/stock"
	"ledgerwheel/web/office/takeaway"
	"ledgerwheel/web/office/till"
	"ledgerwheel/web/office/tokens"
	"ledgerwheel/web/office/words"
	"ledgerwheel/web/outside"
	"ledgerwheel/web/page"
	"ledgerwheel/web/sheet"
	"ledgerwheel/web/today"
)

// room answers some of the requests.
type room interface {
	Routes() []page.Route
}

// furnish makes all the rooms, by the doors that people walk through.
func (s *Server) furnish(c Config) {
	host := s.Host
	door := office.New(host, c.Store, c.SetupKey, office.Keeping{Nightly: c.Nightly, Checks: c.Checks, Sealing: c.Sealing})
	host.Prover = door
	frame := sheet.New(host, c.Store, tools.Links)
	s.Hearing = hearing.New(frame, c.Store)
	bills, issued := handover.New(frame, c.Store), invoices.New(frame, c.Store)
	bills.Issued = issued.PaperOf
	s.rooms = []room{
		today.New(host, c.Store),
		frame,
		counter.New(frame, c.Store),
		estimates.New(frame, c.Store),
		bills,
		issued,
		parcels.New(frame, c.Store),
		loans.New(frame, c.Store),
		persons.New(frame, c.Store, s.paperAt, c.NoteErased),
		told.New(frame, c.Store),
		uncollected.New(frame, c.Store),
		bench.New(frame, c.Store),
		comebacks.New(frame, c.Store),
		regulation.New(frame, c.Store),
		poising.New(frame, c.Store),
		positions.New(frame, c.Store),
		trials.New(frame, c.Store),
		s.Hearing,
		recorders.New(host, c.Store),
		tools.New(frame, c.Store),
		calibres.New(host, c.Store),
		door,
		words.New(host, c.Store, c.Post),
		prices.New(host, c.Store),
		promises.New(host, c.Store),
		stock.New(host, c.Store),
		orders.New(host, c.Store),
		atrisk.New(host, c.Store),
		till.New(host, c.Store),
		books.New(host, c.Store),
		figures.New(host, c.Store),
		post.New(host, c.Store, c.Post, c.Letters),
		tokens.New(host, c.Store),
		takeaway.New(host, c.Store, s.paperAt),
		outside.New(host, c.Store, bills),
	}
}

// Routes are the table of everything the program answers, so that who may do what can be read, and tested, in one walk.
func (s *Server) Routes() []page.Route {
	all := s.KeptRoutes()
	for _, room := range s.rooms {
		all = append(all, room.Routes()...)
	}
	return all
}

func (s *Server) mount(r chi.Router) {
	for _, rt := range s.Routes() {
		r.Method(rt.Method, rt.Pattern, s.Serve(rt.Who, rt.Handle))
	}
}

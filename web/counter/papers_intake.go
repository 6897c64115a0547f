package counter

import (
	"cmp"
	"fmt"
	"net/http"
	"strings"

	"github.com/go-chi/chi/v5"

	"ledgerwheel/domain"
	"ledgerwheel/domain/diagnosis"
	"ledgerwheel/domain/docket"
	"ledgerwheel/domain/shop"
	"ledgerwheel/domain/staff"
	"ledgerwheel/domain/text"
	"ledgerwheel/domain/watch"
	"ledgerwheel/store"
	"ledgerwheel/web/page"
	"ledgerwheel/web/paper"
	"ledgerwheel/web/sheet"
	"ledgerwheel/web/view"
)

// intakePaperRoutes are the papers that leave with the customer or stay with the watch, and where their codes lead.
func (s *Room) intakePaperRoutes() []page.Route {
	return []page.Route{
		page.Get("/dockets/{number}/papers/claim-ticket", page.Needs(staff.PrintPapers), s.showTicket),
		page.Get("/dockets/{number}/papers/claim-ticket.pdf", page.Needs(staff.PrintPapers), s.sendTicket),
		page.Get("/dockets/{number}/papers/bag-label", page.Needs(staff.PrintPapers), s.showLabel),
		page.Get("/dockets/{number}/papers/bag-label.pdf", page.Needs(staff.PrintPapers), s.sendLabel),
		page.Get("/d/{code}", page.Needs(staff.ViewDockets), s.followCode),
	}
}

// followCode leads from the code on a ticket or label to the docket.
func (s *Room) followCode(w http.ResponseWriter, r *http.Request) error {
	n, err := docket.ParseNumber(chi.URLParam(r, "code"))
	if err != nil {
		return fmt.Errorf("%w: %w", domain.ErrNotFound, err)
	}
	return page.SeeOther(w, r, view.DocketURL(n.String(), ""))
}

// codeOf is what the QR code of a docket's papers says.
func (s *Room) codeOf(n docket.Number) string { return s.PublicURL + "/d/" + n.Compact() }

// codes are the two codes of a docket as drawings.
func (s *Room) codes(n docket.Number) (codes, error) {
	bars, err := paper.Code128SVG(n.String())
	if err != nil {
		return codes{}, err
	}
	qr, err := paper.QRSVG(s.codeOf(n))
	return codes{Bars: bars, QR: qr}, err
}

// paperSheet reads a docket's intake, and the shop as it stood then, by which its papers are printed.
func (s *Room) paperSheet(r *http.Request) (store.IntakeSheet, shop.Shop, error) {
	n, err := page.PathNumber(r)
	if err != nil {
		return store.IntakeSheet{}, shop.Shop{}, err
	}
	sheet, err := s.store.IntakeSheet(r.Context(), n)
	return sheet, sheet.Shop, err
}

// printView surrounds a paper of a docket on the screen; texts are the paper's.
func (s *Room) printView(r *http.Request, number, heading, slug string, size view.PaperSize,
	texts []string) view.PrintView {
	return view.PrintView{Page: s.Page(r, heading+" "+number), Size: size, Heading: heading,
		BackHref: view.DocketURL(number, "intake"),
		BackText: "Back to the intake sheet", PDF: &view.LinkView{Text: "As PDF", Href: view.DocketURL(number,
			"papers/"+slug+".pdf"), TestID: "pdf"},
		Lacking: page.Lacking(texts)}
}

func (s *Room) showTicket(w http.ResponseWriter, r *http.Request) error {
	record, sh, err := s.paperSheet(r)
	if err != nil {
		return err
	}
	codes, err := s.codes(record.Head.Docket.Number)
	if err != nil {
		return err
	}
	t := s.ticket(r, record, sh)
	p := s.printView(r, t.Docket, "Claim ticket", "claim-ticket", view.PaperA6, t.Texts())
	return page.Render(w, r, http.StatusOK, claimTicket(p, ticketView{
		Shop: sh.Name, Address: strings.Join(t.Issuer.Address, ", "), Contact: strings.Join(t.Issuer.Contact, " · "),
		Number: t.Docket,
		Codes:  codes, Watch: t.Watch, Details: sheet.TicketTerms(t.Details), Customer: t.Customer, Complaint: t.Complaint,
		Condition: t.Condition,
		Received:  t.Received, Promised: t.Promised, DeclaredValue: t.DeclaredValue, ApprovalLimit: t.ApprovalLimit,
		Terms: t.Terms, TakenInBy: t.TakenInBy,
	}))
}

func (s *Room) sendTicket(w http.ResponseWriter, r *http.Request) error {
	sheet, sh, err := s.paperSheet(r)
	if err != nil {
		return err
	}
	pdf, err := s.ticket(r, sheet, sh).PDF(sheet.Head.Docket.ReceivedAt)
	if err != nil {
		return err
	}
	return page.SendPDF(w, "claim-ticket-"+sheet.Head.Docket.Number.String(), pdf)
}

// ticket is what the claim ticket of a docket says.
func (s *Room) ticket(r *http.Request, record store.IntakeSheet, sh shop.Shop) paper.ClaimTicket {
	r = page.AsStood(r, sh)
	h := record.Head
	i := h.Docket.Intake
	return paper.ClaimTicket{
		Issuer: page.IssuerOf(sh), Lang: sh.Locale, Size: paper.TicketA6, Docket: h.Docket.Number.String(),
		Code:     s.codeOf(h.Docket.Number),
		Customer: h.Customer.Name, Watch: sheet.WatchWords(h), Details: sheet.TicketDetails(h.Watch), Complaint: i.Complaint,
		Condition: conditionLine(record.Condition), Received: s.Moment(r, h.Docket.ReceivedAt),
		Promised:      s.Day(r, i.PromisedOn),
		DeclaredValue: sheet.Amount(i.DeclaredValueMinor, i.Currency, sh, "not declared"),
		ApprovalLimit: sheet.Amount(i.ApprovalLimitMinor, i.Currency, sh, "we always ask first"),
		Terms:         page.NonEmptyLines(sh.TicketTerms), TakenInBy: h.ReceivedBy,
	}
}

// conditionLine is the condition in one sentence for a narrow paper.
func conditionLine(c watch.Condition) string {
	var parts []string
	for _, m := range c.Marks {
		parts = append(parts, m.Words())
	}
	if len(c.NoMarksSeen) > 0 {
		var clear []string
		for _, p := range c.NoMarksSeen {
			clear = append(clear, p.Words())
		}
		parts = append(parts, "no marks seen on "+strings.Join(clear, ", "))
	}
	return text.Capital(strings.Join(parts, "; "))
}

func (s *Room) showLabel(w http.ResponseWriter, r *http.Request) error {
	sheet, sh, err := s.paperSheet(r)
	if err != nil {
		return err
	}
	codes, err := s.codes(sheet.Head.Docket.Number)
	if err != nil {
		return err
	}
	l := s.label(sheet, sh)
	p := s.printView(r, l.Docket, "Watch-bag label", "bag-label", view.PaperLabel, l.Texts())
	return page.Render(w, r, http.StatusOK, bagLabel(p, labelView{Number: l.Docket, Codes: codes, Watch: l.Maker + " " +
		l.Model,
		Serial: l.Serial, Promised: l.Promised, Hazards: strings.Join(l.Hazards, " · ")}))
}

func (s *Room) sendLabel(w http.ResponseWriter, r *http.Request) error {
	sheet, sh, err := s.paperSheet(r)
	if err != nil {
		return err
	}
	pdf, err := s.label(sheet, sh).PDF(sheet.Head.Docket.ReceivedAt)
	if err != nil {
		return err
	}
	return page.SendPDF(w, "bag-label-"+sheet.Head.Docket.Number.String(), pdf)
}

// label is what the label of a watch's bag says.
func (s *Room) label(sheet store.IntakeSheet, sh shop.Shop) paper.BagLabel {
	h := sheet.Head
	l := paper.BagLabel{Shop: sh.Name, Lang: sh.Locale, Docket: h.Docket.Number.String(), Code: s.codeOf(h.Docket.Number),
		Maker: h.Watch.Maker, Model: h.Watch.Model, Serial: cmp.Or(h.Watch.Serial, h.Watch.MovementSerial),
		Hazards: bagHazards(sheet.Hazards, h.Watch.Lume)}
	if !h.Docket.PromisedOn.IsZero() {
		l.Promised = h.Docket.PromisedOn.Format("2 Jan")
	}
	return l
}

// bagHazards are the words of what may hurt whoever only opens the bag. What comes up at the bench, such as a wound
// mainspring, is said there.
func bagHazards(slugs []string, lume watch.Lume) []string {
	var words []string
	for _, slug := range slugs {
		switch diagnosis.Hazard(slug) {
		case diagnosis.RadioactiveLume:
			if lume == watch.LumeRadium {
				words = append(words, "RADIUM")
			} else {
				words = append(words, "RADIUM?")
			}
		case diagnosis.TritiumLume:
			words = append(words, "TRITIUM")
		case diagnosis.CoinCell:
			words = append(words, "CELL")
		}
	}
	return words
}

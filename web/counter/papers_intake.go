package counter

import (
	"cmp"
	"fmt"
	"net/http"
	"strconv"
	"strings"
	"time"

	"github.com/go-chi/chi/v5"

	"ledgerwheel/domain"
	"ledgerwheel/domain/diagnosis"
	"ledgerwheel/domain/docket"
	"ledgerwheel/domain/shop"
	"ledgerwheel/domain/staff"
	"ledgerwheel/domain/text"
	"ledgerwheel/domain/tongue"
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
		page.Get("/dockets/{number}/papers/"+bothPapers, page.Needs(staff.PrintPapers), s.showBoth),
		page.Get("/dockets/{number}/papers/bag-label", page.Needs(staff.PrintPapers), s.showLabel),
		page.Get("/dockets/{number}/papers/bag-label.pdf", page.Needs(staff.PrintPapers), s.sendLabel),
		page.Get("/d/{code}", page.Needs(staff.ViewDockets), s.followCode),
	}
}

// followCode leads from the code on a ticket or label to the docket; while it is being taken in, to what is still to be
// noted there: condition and photographs, for which a telephone is at hand.
func (s *Room) followCode(w http.ResponseWriter, r *http.Request) error {
	n, err := docket.ParseNumber(chi.URLParam(r, "code"))
	if err != nil {
		return fmt.Errorf("%w: %w", domain.ErrNotFound, err)
	}
	h, err := s.store.Head(r.Context(), n)
	if err != nil {
		return err
	}
	if h.Docket.Stage == docket.StageIntake {
		return page.SeeOther(w, r, view.DocketURL(n.String(), "intake"))
	}
	return page.SeeOther(w, r, view.DocketURL(n.String(), ""))
}

// codeOf is what the QR code of a docket's papers says.
func (s *Room) codeOf(n docket.Number) string { return s.PublicURL + "/d/" + n.Compact() }

// paperSheet reads a docket's intake, and the shop as it stood then, by which its papers are printed.
func (s *Room) paperSheet(r *http.Request) (store.IntakeSheet, shop.Shop, error) {
	n, err := page.PathNumber(r)
	if err != nil {
		return store.IntakeSheet{}, shop.Shop{}, err
	}
	sheet, err := s.store.IntakeSheet(r.Context(), n)
	return sheet, sheet.Shop, err
}

// printView surrounds a paper of a docket on the screen.
func (s *Room) printView(r *http.Request, number, heading, slug string) view.PrintView {
	return view.PrintView{Page: s.Page(r, heading+" "+number), Heading: heading,
		BackHref: view.DocketURL(number, "intake"),
		BackText: "Back to the intake sheet", PDF: &view.LinkView{Text: "As PDF", Href: view.DocketURL(number,
			"papers/"+slug+".pdf"), TestID: "pdf"}}
}

func (s *Room) showTicket(w http.ResponseWriter, r *http.Request) error {
	record, sh, err := s.paperSheet(r)
	if err != nil {
		return err
	}
	t, err := s.ticketOf(r, record, sh)
	if err != nil {
		return err
	}
	number := record.Head.Docket.Number.String()
	return page.ShowPaper(w, r, s.printView(r, number, "Claim ticket", "claim-ticket"), t)
}

func (s *Room) sendTicket(w http.ResponseWriter, r *http.Request) error {
	sheet, sh, err := s.paperSheet(r)
	if err != nil {
		return err
	}
	t, err := s.ticketOf(r, sheet, sh)
	if err != nil {
		return err
	}
	return s.SendPaper(w, r, "claim-ticket-"+sheet.Head.Docket.Number.String(), t, sheet.Head.Docket.ReceivedAt)
}

// bothPapers is the page that prints ticket and label in one go.
const bothPapers = "ticket-and-label"

// showBoth shows ticket and label on one page, to be printed together or, by a printer for each, one after the other.
func (s *Room) showBoth(w http.ResponseWriter, r *http.Request) error {
	record, sh, err := s.paperSheet(r)
	if err != nil {
		return err
	}
	number := record.Head.Docket.Number.String()
	p := view.PrintView{Page: s.Page(r, "Ticket and label "+number), Heading: "Ticket and label",
		Advice:   "In the print dialogue choose scale 100 %, margins none.",
		BackHref: view.DocketURL(number, "intake"), BackText: "Next: condition and photographs"}
	var notes []noteView
	if page.May(r, staff.SeeWatchList) {
		notes = s.listedNotes(r, record.Listed)
	}
	visit, err := s.wholeVisit(r, record.Head)
	if err != nil {
		return err
	}
	p.Above = afterTakingIn(notes, page.May(r, staff.TakeIn), another(record.Head, s.Today(r)))
	return page.ShowPapers(w, r, p, s.ticketAndLabels(r, record, sh, visit)...)
}

// another is the docket with which another watch of the customer can still be taken in; "" where it came on another day.
func another(h store.Head, today time.Time) string {
	if h.VisitID == 0 || !h.Docket.ReceivedOn.Equal(today) {
		return ""
	}
	return h.Docket.Number.String()
}

// ticketAndLabels are the ticket, and a label for every watch on it.
func (s *Room) ticketAndLabels(r *http.Request, record store.IntakeSheet, sh shop.Shop, visit *store.Visit) []page.Part {
	number := record.Head.Docket.Number.String()
	pdf := func(number, name string) string { return view.DocketURL(number, "papers/"+name+".pdf") }
	ticket := page.Part{Name: "ticket", Heading: "Claim ticket", PDF: pdf(number, "claim-ticket")}
	if visit == nil {
		ticket.Paper = s.ticket(record, sh)
		return []page.Part{ticket, {Name: "label", Heading: "Watch-bag label", PDF: pdf(number, "bag-label"), Paper: s.label(record, sh)}}
	}
	ticket.Paper = s.visitTicket(*visit)
	parts := []page.Part{ticket}
	for i, d := range visit.Dockets {
		number := d.Head.Docket.Number.String()
		parts = append(parts, page.Part{Name: "label-" + strconv.Itoa(i+1), Heading: "Watch-bag label " + number,
			PDF: pdf(number, "bag-label"), Paper: s.label(d.Sheet, d.Sheet.Shop)})
	}
	return parts
}

// ticketOf is the ticket on which a docket stands: its own, or that of all the watches which were brought with it.
func (s *Room) ticketOf(r *http.Request, record store.IntakeSheet, sh shop.Shop) (paper.Paper, error) {
	visit, err := s.wholeVisit(r, record.Head)
	if err != nil || visit == nil {
		return s.ticket(record, sh), err
	}
	return s.visitTicket(*visit), nil
}

// ticket is what the claim ticket of a docket says.
func (s *Room) ticket(record store.IntakeSheet, sh shop.Shop) paper.ClaimTicket {
	h := record.Head
	i := h.Docket.Intake
	say := page.VoiceOf(i.Tongue, sh)
	return paper.ClaimTicket{
		Issuer: page.IssuerOf(sh), Lang: say.Lang(), Tongue: say.Tongue, Size: paper.TicketA6, Docket: h.Docket.Number.String(),
		Code:     s.codeOf(h.Docket.Number),
		Customer: h.Customer.Name, Watch: sheet.WatchWords(h), Details: sheet.PaperDetails(h, say.Tongue), Complaint: i.Complaint,
		Condition: conditionLine(say.Tongue, record.Condition), Received: say.Moment(h.Docket.ReceivedAt),
		Promised:      say.Day(i.PromisedOn),
		DeclaredValue: sheet.Amount(i.DeclaredValueMinor, i.Currency, say.Shop, say.Say("paper.not_declared")),
		ApprovalLimit: sheet.Amount(i.ApprovalLimitMinor, i.Currency, say.Shop, say.Say("paper.always_ask")),
		Terms:         page.NonEmptyLines(sh.TermsFor(i.Tongue)), TakenInBy: h.ReceivedBy,
	}
}

// conditionLine is the condition in one sentence for a narrow paper.
func conditionLine(t tongue.Tongue, c watch.Condition) string {
	var parts []string
	for _, m := range c.Marks {
		words := t.Say("part."+string(m.Part)) + ": " + t.Say("mark."+string(m.Kind))
		if m.Note != "" {
			words += ", " + m.Note
		}
		parts = append(parts, words)
	}
	if len(c.NoMarksSeen) > 0 {
		var clear []string
		for _, p := range c.NoMarksSeen {
			clear = append(clear, t.Say("part."+string(p)))
		}
		parts = append(parts, t.Say("paper.no_marks_seen", "parts", strings.Join(clear, ", ")))
	}
	return text.Capital(strings.Join(parts, "; "))
}

func (s *Room) showLabel(w http.ResponseWriter, r *http.Request) error {
	sheet, sh, err := s.paperSheet(r)
	if err != nil {
		return err
	}
	l := s.label(sheet, sh)
	return page.ShowPaper(w, r, s.printView(r, l.Docket, "Watch-bag label", "bag-label"), l)
}

func (s *Room) sendLabel(w http.ResponseWriter, r *http.Request) error {
	sheet, sh, err := s.paperSheet(r)
	if err != nil {
		return err
	}
	l := s.label(sheet, sh)
	return s.SendPaper(w, r, "bag-label-"+l.Docket, l, sheet.Head.Docket.ReceivedAt)
}

// label is what the label of a watch's bag says.
func (s *Room) label(sheet store.IntakeSheet, sh shop.Shop) paper.BagLabel {
	h := sheet.Head
	l := paper.BagLabel{Shop: sh.Name, Lang: sh.Locale, Docket: h.Docket.Number.String(), Code: s.codeOf(h.Docket.Number),
		Maker: h.Watch.Maker, Model: h.Watch.Model, Serial: cmp.Or(h.Watch.Serial, h.Watch.MovementSerial), Order: h.Docket.OrderNumber,
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

package invoices

import (
	"net/http"
	"strings"
	"time"

	"ledgerwheel/domain"
	"ledgerwheel/domain/invoice"
	"ledgerwheel/domain/text"
	"ledgerwheel/store"
	"ledgerwheel/web/page"
	"ledgerwheel/web/paper"
	"ledgerwheel/web/priced"
	"ledgerwheel/web/view"
)

// paperOf is the paper of the document in the address, and when it was issued.
func (s *Room) paperOf(r *http.Request) (paper.Invoice, store.InvoiceRow, error) {
	record, d, err := s.document(r)
	if err != nil {
		return paper.Invoice{}, d, err
	}
	p, err := s.paper(record.HandOverSheet, d)
	return p, d, err
}

// PaperOf is the paper of a document that was issued on a docket, by its id, and when it was. The error wraps
// domain.ErrNotFound.
func (s *Room) PaperOf(record store.HandOverSheet, id int64) (paper.Invoice, time.Time, error) {
	for _, d := range record.Invoices {
		if d.ID == id {
			p, err := s.paper(record, d)
			return p, d.At, err
		}
	}
	return paper.Invoice{}, time.Time{}, domain.ErrNotFound
}

// paper is a document as it was issued, with how its docket stands.
func (s *Room) paper(record store.HandOverSheet, d store.InvoiceRow) (paper.Invoice, error) {
	say := page.VoiceOf(d.Tongue, record.Shop)
	m := priced.Of(d.Currency, say.Shop).In(say.Tongue)
	var st Standing
	bill, stands := record.Book().Standing()
	if d.Kind == invoice.Bill && stands && bill.ID == d.ID {
		st.DueMinor = record.Head.Facts.DueMinor
		if st.DueMinor > 0 {
			st.HowToPay = []string{say.Say("paper.name_the_docket")}
		}
		for _, p := range record.Payments {
			what := say.Say("method." + string(p.Method))
			if p.Minor < 0 {
				what = say.Say("paper.given_back", "how", what)
			}
			st.Paid = append(st.Paid, paper.Payment{Date: say.Moment(p.At), Method: text.Capital(what), Amount: m.Format(p.Minor)})
		}
		if record.FirstKey != "" {
			_, at, _ := strings.Cut(s.PublicURL+"/card/keys", "://")
			st.Notes = append(st.Notes, say.Say("paper.key_note", "key", record.FirstKey.Grouped(), "at", at))
		}
	}
	if len(record.Seal.Text) > 0 {
		st.Notes = append(st.Notes, say.SealLine(record.Seal))
	}
	return DocumentPaper(d.Document, record.Shop, st)
}

func (s *Room) showPaper(w http.ResponseWriter, r *http.Request) error {
	p, d, err := s.paperOf(r)
	if err != nil {
		return err
	}
	at := "papers/invoices/" + page.Itoa64(d.ID)
	return page.ShowPaper(w, r, view.PrintView{Page: s.Page(r, text.Capital(d.Kind.Words())+" "+d.Number), Heading: text.Capital(d.Kind.Words()) + " " + d.Number,
		BackHref: view.DocketURL(d.Docket, "invoices"), BackText: "Back to the invoices",
		PDF: &view.LinkView{Text: "As PDF", Href: view.DocketURL(d.Docket, at+"/pdf"), TestID: "pdf"}}, p)
}

func (s *Room) sendPaper(w http.ResponseWriter, r *http.Request) error {
	p, d, err := s.paperOf(r)
	if err != nil {
		return err
	}
	return s.SendPaper(w, r, string(d.Kind)+"-"+d.Number, p, d.At)
}

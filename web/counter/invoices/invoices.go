package invoices

import (
	"errors"
	"net/http"
	"strconv"
	"strings"

	"ledgerwheel/domain"
	"ledgerwheel/domain/docket"
	"ledgerwheel/domain/estimate"
	"ledgerwheel/domain/invoice"
	"ledgerwheel/store"
	"ledgerwheel/web/page"
	"ledgerwheel/web/sheet"
	"ledgerwheel/web/view"
)

// The forms of the page.
const (
	formBill    = "bill"
	formDeposit = "deposit"
	formCredit  = "credit"
)

// doCheck only works out what the bill comes to. It stands first in the form, so that Enter presses it.
const doCheck = "check"

func (s *Room) show(w http.ResponseWriter, r *http.Request) error {
	return s.render(w, r, http.StatusOK, sheet.Refused{})
}

// readSeen reads a form that must name the version it was drawn from: what is issued can't be taken back.
func (s *Room) readSeen(w http.ResponseWriter, r *http.Request) (*page.Form, store.Change, error) {
	f, c, err := s.ChangeForm(w, r)
	if err == nil && c.Version == 0 {
		err = page.BadRequest(errors.New("the form needs the version that was seen"))
	}
	return f, c, err
}

// readChoices reads what was chosen of a bill.
func readChoices(f *page.Form, currency, locale string) invoice.Choices {
	c := invoice.Choices{Treatment: treatmentOf(f.Text("treatment")), Sentence: f.Text("sentence"), Reference: f.Text("reference"),
		Supplied: f.Day("supplied_on"), OffBasisPoints: readPercent(f, "off_percent"), LineOffBasisPoints: map[int]int{}}
	if off := f.Amount("off", currency, locale); off != nil {
		c.OffMinor = *off
	}
	for name := range f.Values {
		place, ok := strings.CutPrefix(name, "line_off-")
		if !ok {
			continue
		}
		if i, err := strconv.Atoi(place); err == nil {
			if off := readPercent(f, name); off > 0 {
				c.LineOffBasisPoints[i] = off
			}
		}
	}
	return c
}

// standardWord stands in the form for the treatment that is no word.
const standardWord = "standard"

func treatmentOf(typed string) invoice.Treatment {
	if typed == standardWord {
		return invoice.Standard
	}
	return invoice.Treatment(typed)
}

func readPercent(f *page.Form, name string) int {
	typed := f.Text(name)
	if typed == "" {
		return 0
	}
	off, err := estimate.ParsePercent(typed)
	if err != nil {
		f.Fail(name, "Give a percentage from 0 to 100, with at most two decimals.")
	}
	return off
}

func (s *Room) issueBill(w http.ResponseWriter, r *http.Request) error {
	f, c, err := s.readSeen(w, r)
	if err != nil {
		return err
	}
	record, err := s.store.InvoiceSheet(r.Context(), c.Number)
	if err != nil {
		return err
	}
	v := store.Billing{Issue: store.Issue{Change: c, SeriesID: f.ID("series")}, Choices: readChoices(f, record.Head.Docket.Currency, page.LocaleOf(r)),
		Reason: f.Text("reason"), Word: docket.Word{How: docket.WordHow(f.Text("word")), By: f.Text("word_by")}}
	if v.Word.How != "" && v.Word.How != docket.OwnerDecided {
		v.Word.On = f.Day("word_on")
	}
	if f.Text("do") == doCheck || !f.OK() {
		status := http.StatusOK
		if !f.OK() {
			status = http.StatusUnprocessableEntity
		}
		return s.render(w, r, status, sheet.Refused{What: formBill, Form: f})
	}
	number, err := s.store.IssueBill(r.Context(), v)
	return s.settle(w, r, f, c, formBill, err, "Invoice "+number+" is issued.")
}

func (s *Room) issueDeposit(w http.ResponseWriter, r *http.Request) error {
	f, c, err := s.readSeen(w, r)
	if err != nil {
		return err
	}
	record, err := s.store.InvoiceSheet(r.Context(), c.Number)
	if err != nil {
		return err
	}
	amount := f.Amount("amount", record.Head.Docket.Currency, page.LocaleOf(r))
	if amount == nil {
		f.Fail("amount", "Give the sum of the deposit.")
	}
	if !f.OK() {
		return s.render(w, r, http.StatusUnprocessableEntity, sheet.Refused{What: formDeposit, Form: f})
	}
	choices := invoice.Choices{Treatment: treatmentOf(f.Text("deposit_treatment")), Sentence: f.Text("deposit_sentence")}
	number, err := s.store.IssueDeposit(r.Context(), store.Billing{Issue: store.Issue{Change: c}, Choices: choices}, *amount)
	if invalid := (*domain.InvalidError)(nil); errors.As(err, &invalid) {
		for _, field := range []string{"treatment", "sentence"} {
			if why, ok := invalid.Problems[field]; ok {
				invalid.Problems["deposit_"+field] = why
				delete(invalid.Problems, field)
			}
		}
	}
	return s.settle(w, r, f, c, formDeposit, err, "Deposit invoice "+number+" is issued.")
}

func (s *Room) settle(w http.ResponseWriter, r *http.Request, f *page.Form, c store.Change, what string, err error, said string) error {
	return s.Settle(w, r, sheet.Ending{Form: f, Change: c, Err: err, Said: said, To: view.DocketURL(c.Number.String(), "invoices"),
		Again: func(status int) error { return s.render(w, r, status, sheet.Refused{What: what, Form: f}) }})
}

// document finds the document of the address on its docket; the error wraps domain.ErrNotFound.
func (s *Room) document(r *http.Request) (store.InvoiceSheet, store.InvoiceRow, error) {
	n, err := page.PathNumber(r)
	if err != nil {
		return store.InvoiceSheet{}, store.InvoiceRow{}, err
	}
	id, err := page.PathID(r, "id")
	if err != nil {
		return store.InvoiceSheet{}, store.InvoiceRow{}, err
	}
	record, err := s.store.InvoiceSheet(r.Context(), n)
	if err != nil {
		return record, store.InvoiceRow{}, err
	}
	for _, d := range record.Invoices {
		if d.ID == id {
			return record, d, nil
		}
	}
	return record, store.InvoiceRow{}, domain.ErrNotFound
}

func (s *Room) showCredit(w http.ResponseWriter, r *http.Request) error {
	return s.renderCredit(w, r, http.StatusOK, page.EmptyForm())
}

func (s *Room) issueCredit(w http.ResponseWriter, r *http.Request) error {
	f, c, err := s.readSeen(w, r)
	if err != nil {
		return err
	}
	record, d, err := s.document(r)
	if err != nil {
		return err
	}
	credit := invoice.Crediting{Why: f.Text("why")}
	if amount := f.Amount("amount", record.Head.Docket.Currency, page.LocaleOf(r)); amount != nil {
		credit.GrossMinor = *amount
		if *amount <= 0 {
			f.Fail("amount", "Give an amount above zero.")
		}
	}
	for _, place := range f.Values["lines"] {
		if i, err := strconv.Atoi(place); err == nil {
			credit.Lines = append(credit.Lines, i)
		}
	}
	if credit.GrossMinor > 0 && len(credit.Lines) > 0 {
		f.Fail("amount", "Tick lines or give an amount, not both.")
	}
	if !f.OK() {
		return s.renderCredit(w, r, http.StatusUnprocessableEntity, f)
	}
	number, err := s.store.IssueCredit(r.Context(), store.Issue{Change: c}, d.Number, credit)
	return s.Settle(w, r, sheet.Ending{Form: f, Change: c, Err: err, Said: "Credit note " + number + " is issued. What is too much is given back at the hand-over, under Money.",
		To: view.DocketURL(c.Number.String(), "invoices"), Again: func(status int) error { return s.renderCredit(w, r, status, f) }})
}

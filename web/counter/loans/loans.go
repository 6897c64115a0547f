package loans

import (
	"fmt"
	"net/http"
	"slices"
	"time"

	"ledgerwheel/domain"
	"ledgerwheel/domain/docket"
	"ledgerwheel/domain/loan"
	"ledgerwheel/domain/money"
	"ledgerwheel/domain/staff"
	"ledgerwheel/domain/text"
	"ledgerwheel/store"
	"ledgerwheel/web/page"
	"ledgerwheel/web/paper"
	"ledgerwheel/web/sheet"
	"ledgerwheel/web/view"
)

// The forms of a docket's sheet.
const (
	formOut  = "out"
	formBack = "back"
	formKeep = "keep-out"
)

func (s *Room) showLoans(w http.ResponseWriter, r *http.Request) error {
	return s.renderLoans(w, r, http.StatusOK, page.EmptyForm())
}

// renderLoans lists what the shop lends, and where each is.
func (s *Room) renderLoans(w http.ResponseWriter, r *http.Request, status int, f *page.Form) error {
	list, err := s.store.LoanWatches(r.Context())
	if err != nil {
		return err
	}
	viewer, _ := page.ViewerOf(r.Context())
	v := loansView{Form: f.View(), Currency: viewer.Shop.Currency, May: page.May(r, staff.HandOver)}
	for _, k := range list {
		row := watchRow{ID: page.Itoa64(k.ID), Title: k.Title(), State: k.State, Value: money.Format(k.ValueMinor, k.Currency, viewer.Shop.Locale), May: v.May}
		if k.Out != nil {
			row.Docket, row.With = k.Out.Docket, k.Out.Customer
			row.Until = s.Day(r, k.Out.DueOn)
			row.Overdue = loan.Overdue(k.Out.DueOn, s.Today(r), k.Out.Gone)
		}
		v.Watches = append(v.Watches, row)
	}
	return page.Render(w, r, status, loansPage(s.Page(r, "Loan watches"), v))
}

func (s *Room) keepWatch(w http.ResponseWriter, r *http.Request) error {
	f, err := page.ReadForm(w, r)
	if err != nil {
		return err
	}
	viewer, _ := page.ViewerOf(r.Context())
	k := loan.Watch{Maker: f.Text("maker"), Model: f.Text("model"), Serial: f.Text("serial"), State: f.Text("state"), Currency: viewer.Shop.Currency}.Tidied()
	if value := f.Amount("value", k.Currency, viewer.Shop.Locale); value != nil {
		k.ValueMinor = *value
	}
	f.FailAll(k.Problems())
	if f.OK() {
		err = s.store.KeepLoanWatch(r.Context(), k, page.Actor(r), s.Now())
	}
	if err != nil && !f.Takes(err) {
		return err
	}
	if !f.OK() {
		return s.renderLoans(w, r, http.StatusUnprocessableEntity, f)
	}
	s.Say(r.Context(), k.Title()+" can be lent.")
	return page.SeeOther(w, r, "/loans")
}

func (s *Room) endWatch(w http.ResponseWriter, r *http.Request) error {
	id, err := page.PathID(r, "id")
	if err != nil {
		return err
	}
	f := page.EmptyForm()
	if err := s.store.EndLoanWatch(r.Context(), id, page.Actor(r), s.Now()); err != nil {
		if f.Takes(err) {
			return s.renderLoans(w, r, http.StatusUnprocessableEntity, f)
		}
		return err
	}
	s.Say(r.Context(), "The watch is lent no more.")
	return page.SeeOther(w, r, "/loans")
}

func (s *Room) showLoan(w http.ResponseWriter, r *http.Request) error {
	return s.renderLoan(w, r, http.StatusOK, sheet.Refused{})
}

// renderLoan shows the loan watch of a docket: one to hand out, or the one that is out.
func (s *Room) renderLoan(w http.ResponseWriter, r *http.Request, status int, typed sheet.Refused) error {
	n, err := page.PathNumber(r)
	if err != nil {
		return err
	}
	record, err := s.store.LoanSheet(r.Context(), n)
	if err != nil {
		return err
	}
	viewer, _ := page.ViewerOf(r.Context())
	p, d := s.DocketPage(r, record.Head, "loan")
	v := loanView{Problems: typed.Problems(), May: page.May(r, staff.HandOver), Currency: viewer.Shop.Currency, Closed: d.Closed}
	forms := map[string]*page.Form{formOut: s.freshOut(record), formBack: page.EmptyForm(), formKeep: page.EmptyForm()}
	current := record.Current()
	if current != nil {
		forms[formBack].Values.Set("back_state", current.Out.State)
		if current.InTillMinor > 0 {
			v.InTill = money.Format(current.InTillMinor, current.Watch.Currency, viewer.Shop.Locale)
			v.Currency = current.Watch.Currency
			forms[formBack].Values.Set("deposit_returned", money.Plain(current.InTillMinor, v.Currency))
		}
		v.Current, v.Deposit, v.KeptOut = s.loanTerms(r, *current), current.DepositMinor != nil, current.KeptOut != ""
		v.SlipURL = view.DocketURL(d.Number, "papers/loan-slip")
	}
	if typed.Form != nil {
		forms[typed.What] = typed.Form
	}
	v.Out, v.Back, v.Keep, v.Failed = forms[formOut].View(), forms[formBack].View(), forms[formKeep].View(), typed.What
	v.Ways = []view.Option{{Text: "no deposit"}}
	for _, way := range loan.Ways {
		v.Ways = append(v.Ways, view.Option{Value: way, Text: text.Capital(howWords(way))})
	}
	for _, k := range record.In {
		v.In = append(v.In, view.Option{Value: page.Itoa64(k.ID), Text: k.Title(), Hint: k.State})
	}
	for _, l := range record.Loans {
		if !l.OutOfShop {
			v.Before = append(v.Before, s.loanTerms(r, l))
		}
	}
	return page.Render(w, r, status, loanSheet(p, d, v))
}

func (s *Room) freshOut(record store.LoanSheet) *page.Form {
	f := page.EmptyForm()
	if promised := record.Head.Docket.PromisedOn; !promised.IsZero() {
		f.Values.Set("due_on", promised.Format(time.DateOnly))
	}
	if len(record.In) == 1 {
		f.Values.Set("watch", page.Itoa64(record.In[0].ID))
		f.Values.Set("out_state", record.In[0].State)
	}
	return f
}

// howWords say how a deposit was taken: by a way, or as it was written before there were ways.
func howWords(how string) string {
	if slices.Contains(loan.Ways, how) {
		return docket.Method(how).Words()
	}
	return how
}

// saidHow is that in the customer's language.
func saidHow(say page.Voice, how string) string {
	if slices.Contains(loan.Ways, how) {
		return say.Say("method." + how)
	}
	return how
}

// loanTerms say what was lent, and what became of it.
func (s *Room) loanTerms(r *http.Request, l store.Loan) []view.TermView {
	viewer, _ := page.ViewerOf(r.Context())
	locale := viewer.Shop.Locale
	terms := []view.TermView{view.Term("Watch", l.Watch.Title()), view.Term("Worth", money.Format(l.Watch.ValueMinor, l.Watch.Currency, locale)),
		view.Term("Handed out", s.Moment(r, l.OutAt)+" by "+l.OutBy), view.Term("State then", l.Out.State)}
	if !l.DueOn.IsZero() {
		terms = append(terms, view.Term("Wanted back by", s.Day(r, l.DueOn)))
	}
	if l.DepositMinor != nil {
		terms = append(terms, view.Term("Deposit", money.Format(*l.DepositMinor, l.Watch.Currency, locale)+", "+howWords(l.DepositHow)))
	}
	if l.KeptOut != "" {
		terms = append(terms, view.Term("Stays out because", l.KeptOut))
	}
	if !l.OutOfShop {
		terms = append(terms, view.Term("Came back", s.Moment(r, l.BackAt)+" to "+l.BackBy), view.Term("State now", l.Back.State))
		if l.DepositBack != "" {
			terms = append(terms, view.Term("Deposit afterwards", l.DepositBack))
		}
	}
	return terms
}

func (s *Room) handOut(w http.ResponseWriter, r *http.Request) error {
	f, c, err := s.ChangeForm(w, r)
	if err != nil {
		return err
	}
	viewer, _ := page.ViewerOf(r.Context())
	o := loan.Out{WatchID: f.ID("watch"), State: f.Text("out_state"), DueOn: f.Day("due_on"), DepositHow: f.Text("deposit_how"),
		DepositMinor: f.Amount("deposit", viewer.Shop.Currency, viewer.Shop.Locale)}.Tidied()
	f.FailAll(o.Problems(s.Today(r)))
	if f.OK() {
		err = s.store.HandOutLoan(r.Context(), c, o, s.Today(r))
	}
	return s.settle(w, r, f, c, formOut, err, "The loan watch is written down: print the slip and have it signed.")
}

func (s *Room) takeBack(w http.ResponseWriter, r *http.Request) error {
	f, c, err := s.ChangeForm(w, r)
	if err != nil {
		return err
	}
	record, err := s.store.LoanSheet(r.Context(), c.Number)
	if err != nil {
		return err
	}
	b := loan.Back{State: f.Text("back_state"), DepositBack: f.Text("deposit_back")}
	if l := record.Current(); l != nil && l.InTillMinor > 0 {
		b.ReturnedMinor = f.Amount("deposit_returned", l.Watch.Currency, page.LocaleOf(r))
	}
	if !f.OK() {
		return s.renderLoan(w, r, http.StatusUnprocessableEntity, sheet.Refused{What: formBack, Form: f})
	}
	return s.settle(w, r, f, c, formBack, s.store.TakeLoanBack(r.Context(), c, b), "The loan watch is back.")
}

func (s *Room) keepOut(w http.ResponseWriter, r *http.Request) error {
	f, c, err := s.ChangeForm(w, r)
	if err != nil {
		return err
	}
	return s.settle(w, r, f, c, formKeep, s.store.KeepLoanOut(r.Context(), c, f.Text("kept_out_why")), "It is noted why the loan watch stays out.")
}

func (s *Room) settle(w http.ResponseWriter, r *http.Request, f *page.Form, c store.Change, what string, err error, said string) error {
	return s.Settle(w, r, sheet.Ending{Form: f, Change: c, Err: err, Said: said, To: view.DocketURL(c.Number.String(), "loan"),
		Again: func(status int) error { return s.renderLoan(w, r, status, sheet.Refused{What: what, Form: f}) }})
}

// slip is the paper that the customer signs for the loan watch that is out, or was out last.
func (s *Room) slip(r *http.Request) (p paper.LoanSlip, made time.Time, err error) {
	n, err := page.PathNumber(r)
	if err != nil {
		return p, made, err
	}
	record, err := s.store.LoanSheet(r.Context(), n)
	if err != nil {
		return p, made, err
	}
	if len(record.Loans) == 0 {
		return p, made, fmt.Errorf("no loan watch was handed out: %w", domain.ErrNotFound)
	}
	l := record.Loans[0]
	sh := record.Shop
	say := page.VoiceOf(record.Head.Docket.Tongue, sh)
	p = paper.LoanSlip{Issuer: page.IssuerOf(sh), Lang: say.Lang(), Tongue: say.Tongue, Docket: n.String(), Customer: record.Head.Customer.Name,
		Watch: l.Watch.Title(), State: l.Out.State, Value: money.Format(l.Watch.ValueMinor, l.Watch.Currency, say.Lang()),
		Out: say.Moment(l.OutAt), Due: say.Day(l.DueOn), By: l.OutBy}
	if l.DepositMinor != nil {
		p.Deposit = money.Format(*l.DepositMinor, l.Watch.Currency, say.Lang()) + ", " + saidHow(say, l.DepositHow)
	}
	return p, l.OutAt, nil
}

func (s *Room) showSlip(w http.ResponseWriter, r *http.Request) error {
	p, _, err := s.slip(r)
	if err != nil {
		return err
	}
	return page.ShowPaper(w, r, view.PrintView{Page: s.Page(r, "Loan slip "+p.Docket), Heading: "Loan slip", BackHref: view.DocketURL(p.Docket, "loan"),
		BackText: "Back to the loan watch", PDF: &view.LinkView{Text: "As PDF", Href: view.DocketURL(p.Docket, "papers/loan-slip.pdf"), TestID: "pdf"}}, p)
}

func (s *Room) sendSlip(w http.ResponseWriter, r *http.Request) error {
	p, made, err := s.slip(r)
	if err != nil {
		return err
	}
	return s.SendPaper(w, r, "loan-slip-"+p.Docket, p, made)
}

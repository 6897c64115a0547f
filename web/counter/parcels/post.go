package parcels

import (
	"errors"
	"net/http"
	"strings"
	"time"

	"ledgerwheel/domain/docket"
	"ledgerwheel/domain/message"
	"ledgerwheel/domain/money"
	"ledgerwheel/domain/parcel"
	"ledgerwheel/domain/staff"
	"ledgerwheel/domain/text"
	"ledgerwheel/store"
	"ledgerwheel/web/page"
	"ledgerwheel/web/paper"
	"ledgerwheel/web/sheet"
	"ledgerwheel/web/view"
)

// The forms of the sheet, by the last part of their addresses.
const (
	formPrepare = "post"
	formGive    = "give"
)

func (s *Room) showPost(w http.ResponseWriter, r *http.Request) error {
	return s.renderPost(w, r, http.StatusOK, sheet.Refused{})
}

// renderPost shows how a watch goes by post: first what is agreed, then the label, then that the carrier has it.
func (s *Room) renderPost(w http.ResponseWriter, r *http.Request, status int, typed sheet.Refused) error {
	n, err := page.PathNumber(r)
	if err != nil {
		return err
	}
	record, err := s.store.PostSheet(r.Context(), n)
	if err != nil {
		return err
	}
	p, d := s.DocketPage(r, record.Head, "post")
	_, leaves := docket.LeavingMove(record.Head.Docket.Stage)
	v := postView{Currency: record.Head.Docket.Currency, Problems: typed.Problems(), May: page.May(r, staff.HandOver) && !d.Closed && leaves,
		Radium: record.Holds.Radium, Cell: record.Holds.Cell, Cells: page.Options(parcel.Cells(), parcel.Cell.Words),
		Ways: page.Options(parcel.ConsentWays(), parcel.ConsentHow.Words), OldParts: page.Options(docket.OldPartsAnswers(), docket.OldParts.Words), NoCarrier: len(record.Carriers) == 0,
		MayKeepCarriers: page.May(r, staff.ManageSettings), Due: d.Due, MayOverride: page.May(r, staff.Override)}
	if !leaves && !d.Closed {
		v.Stays = docket.StayProblem(record.Head.Docket.Stage)
	}
	if d.Closed && record.Parcel == nil {
		v.Stays = "This watch left over the counter."
	}
	locale := page.LocaleOf(r)
	for _, c := range record.Carriers {
		v.Carriers = append(v.Carriers, view.Option{Value: page.Itoa64(c.ID), Text: c.Name, Hint: "insures up to " + c.LimitWords(locale) + ", " + c.CellWords()})
	}
	if record.Parcel != nil {
		v.Parcel = s.parcelTerms(r, *record.Parcel)
		v.Given = record.Parcel.Given
		v.LabelURL = view.DocketURL(d.Number, "papers/address-label")
	}
	prepare, give := s.freshPost(r, record), page.EmptyForm()
	switch typed.What {
	case formPrepare:
		prepare = typed.Form
	case formGive:
		give = typed.Form
	}
	v.Failed, v.Prepare, v.Give = typed.What, prepare.View(), give.View()
	v.Tell = sheet.Telling(v.Give, message.Reach{Customer: record.Head.Customer}, sheet.HomeOf(r), "", "That it is on its way, with the number of the parcel.")
	return page.Render(w, r, status, postSheet(p, d, v))
}

// freshPost is the form as it opens: what is known of the customer, or what is ready.
func (s *Room) freshPost(r *http.Request, record store.PostSheet) *page.Form {
	viewer, _ := page.ViewerOf(r.Context())
	h := record.Head
	to := parcel.Guess(h.Customer.Name, h.Customer.Address, viewer.Shop.PhoneRegion)
	if record.Before != nil {
		to = *record.Before
	}
	f := page.EmptyForm()
	set := func(name, value string) { f.Values.Set(name, value) }
	set("contents", "1 watch, "+sheet.WatchWords(h))
	if v := h.Docket.DeclaredValueMinor; v != nil {
		set("value", money.Plain(*v, h.Docket.Currency))
	}
	set("consent_by", h.Customer.Name)
	set("consent_on", s.Today(r).Format(time.DateOnly))
	if p := record.Parcel; p != nil && !p.Given {
		to = p.To
		set("carrier", page.Itoa64(p.Carrier.ID))
		set("value", money.Plain(p.ValueMinor, p.Currency))
		set("contents", p.Contents)
		set("cell", string(p.Cell))
		set("radium_asked", p.RadiumAsked)
		set("consent_by", p.Consent.By)
		set("consent_on", p.Consent.On.Format(time.DateOnly))
		set("consent_how", string(p.Consent.How))
	}
	for name, value := range map[string]string{"to_name": to.Name, "to_firm": to.Firm, "street": to.Street, "town": to.Town,
		"region": to.Region, "postcode": to.Postcode, "country": to.Country} {
		set(name, value)
	}
	return f
}

// parcelTerms say what is ready, or what the carrier has.
func (s *Room) parcelTerms(r *http.Request, p store.ParcelOut) []view.TermView {
	viewer, _ := page.ViewerOf(r.Context())
	value := money.Format(p.ValueMinor, p.Currency, viewer.Shop.Locale)
	terms := []view.TermView{view.Term("By", p.Carrier.Name+", insures up to "+p.Carrier.LimitWords(viewer.Shop.Locale)),
		view.Term("Declared value", value), view.Term("To", strings.Join(p.To.For(viewer.Shop.PhoneRegion), ", ")),
		view.Term("In it", p.Contents), view.Term("Cell", text.Capital(p.Cell.Words()))}
	if p.RadiumAsked != "" {
		terms = append(terms, view.Term("Asked about radium", p.RadiumAsked))
	}
	terms = append(terms, view.Term("Agreed to", p.Consent.By+", "+p.Consent.How.Words()+", "+s.Day(r, p.Consent.On)),
		view.Term("Made ready", s.Moment(r, p.ReadyAt)+" by "+p.ReadyBy))
	if p.Given {
		terms = append(terms, view.Term("Given to the carrier", s.Moment(r, p.SettledAt)+" by "+p.SettledBy),
			view.Term("Number of the parcel", p.Number), view.Term("Proof of posting", p.Proof))
	}
	return terms
}

// prepare writes down by whom, where to and for what value the watch goes.
func (s *Room) prepare(w http.ResponseWriter, r *http.Request) error {
	f, c, err := s.ChangeForm(w, r)
	if err != nil {
		return err
	}
	record, err := s.store.PostSheet(r.Context(), c.Number)
	if err != nil {
		return err
	}
	d := parcel.Dispatch{To: parcel.Address{Name: f.Text("to_name"), Firm: f.Text("to_firm"), Street: f.Text("street"), Town: f.Text("town"),
		Region: f.Text("region"), Postcode: f.Text("postcode"), Country: f.Text("country")}, Currency: record.Head.Docket.Currency,
		ValueMinor: readAmount(f, "value", record.Head.Docket.Currency, page.LocaleOf(r)), Contents: f.Text("contents"), Cell: parcel.Cell(f.Text("cell")),
		RadiumAsked: f.Text("radium_asked"), NothingBarred: f.Checked("nothing_barred"),
		Consent: parcel.Consent{By: f.Text("consent_by"), On: f.Day("consent_on"), How: parcel.ConsentHow(f.Text("consent_how"))}}.Tidied()
	id := f.ID("carrier")
	for _, k := range record.Carriers {
		if k.ID == id {
			d.Carrier = k
		}
	}
	f.FailAll(d.Problems(record.Holds, s.Today(r)))
	if f.OK() {
		err = s.store.PrepareParcel(r.Context(), c, d, s.Today(r))
	}
	return s.settlePost(w, r, f, c, formPrepare, err, "The parcel is ready: print its label.")
}

func (s *Room) withdraw(w http.ResponseWriter, r *http.Request) error {
	f, c, err := s.ChangeForm(w, r)
	if err != nil {
		return err
	}
	return s.settlePost(w, r, f, c, formPrepare, s.store.WithdrawParcel(r.Context(), c), "The parcel is not sent.")
}

// give records that the carrier has the parcel, and closes the docket.
func (s *Room) give(w http.ResponseWriter, r *http.Request) error {
	f, c, err := s.ChangeForm(w, r)
	if err == nil && c.Version == 0 {
		err = page.BadRequest(errors.New("the form needs the version that was seen"))
	}
	if err != nil {
		return err
	}
	c.Tell = sheet.ReadTell(f)
	given := parcel.Posting{Number: f.Text("number"), Proof: f.Text("proof")}
	err = s.store.GiveParcel(r.Context(), c, given, docket.OldParts(f.Text("old_parts")), f.Text("reason"), s.Today(r))
	var refusal *docket.Refusal
	if errors.As(err, &refusal) {
		f.Fail("", strings.Join(refusal.Sentences(), " "))
		return s.renderPost(w, r, page.RefusedStatus(refusal), sheet.Refused{What: formGive, Form: f})
	}
	return s.settlePost(w, r, f, c, formGive, err, "The carrier has the parcel. The docket is closed.")
}

func (s *Room) settlePost(w http.ResponseWriter, r *http.Request, f *page.Form, c store.Change, what string, err error, said string) error {
	return s.Settle(w, r, sheet.Ending{Form: f, Change: c, Err: err, Said: said, To: view.DocketURL(c.Number.String(), "post"),
		Again: func(status int) error { return s.renderPost(w, r, status, sheet.Refused{What: what, Form: f}) }})
}

// label is the address label of the parcel that is ready or was given; ok is false where there is none.
func (s *Room) label(r *http.Request) (l paper.AddressLabel, made time.Time, err error) {
	n, err := page.PathNumber(r)
	if err != nil {
		return l, made, err
	}
	record, err := s.store.PostSheet(r.Context(), n)
	if err != nil {
		return l, made, err
	}
	if record.Parcel == nil {
		return l, made, errNoParcel
	}
	sh := record.Shop
	say := page.VoiceOf(record.Head.Docket.Tongue, sh)
	return paper.AddressLabel{Issuer: page.IssuerOf(sh), Lang: say.Lang(), Tongue: say.Tongue, Docket: n.String(), To: record.Parcel.To.For(sh.PhoneRegion)},
		record.Parcel.ReadyAt, nil
}

func (s *Room) showLabel(w http.ResponseWriter, r *http.Request) error {
	l, _, err := s.label(r)
	if err != nil {
		return err
	}
	return page.ShowPaper(w, r, view.PrintView{Page: s.Page(r, "Address label "+l.Docket), Heading: "Address label",
		Advice: "In the print dialogue choose scale 100 %, margins none.", BackHref: view.DocketURL(l.Docket, "post"), BackText: "Back to the parcel",
		PDF: &view.LinkView{Text: "As PDF", Href: view.DocketURL(l.Docket, "papers/address-label.pdf"), TestID: "pdf"}}, l)
}

func (s *Room) sendLabel(w http.ResponseWriter, r *http.Request) error {
	l, made, err := s.label(r)
	if err != nil {
		return err
	}
	return s.SendPaper(w, r, "address-label-"+l.Docket, l, made)
}

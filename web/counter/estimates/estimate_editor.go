package estimates

import (
	"errors"
	"fmt"
	"ledgerwheel/domain/comeback"
	"ledgerwheel/domain/docket"
	"maps"
	"net/http"
	"slices"
	"strconv"
	"strings"
	"time"

	"ledgerwheel/domain/diagnosis"
	"ledgerwheel/domain/estimate"
	"ledgerwheel/domain/money"
	"ledgerwheel/domain/pricelist"
	"ledgerwheel/domain/shop"
	"ledgerwheel/domain/staff"
	"ledgerwheel/domain/tongue"
	"ledgerwheel/store"
	"ledgerwheel/web/page"
	"ledgerwheel/web/priced"
	"ledgerwheel/web/sheet"
	"ledgerwheel/web/view"
)

// draftTyped is a draft as it stands in the editor, with rows that may be blank or unreadable.
type draftTyped struct {
	rows        []estimate.LineForm
	note        string
	validUntil  string
	includesTax bool // unit prices hold the tax already
	suggested   bool // lines were taken over from the findings and want their prices
}

// freshDraft is what the editor opens with: the open draft, else the last revision to be revised, else what the
// findings suggest.
func freshDraft(sheet store.EstimateSheet, sh shop.Shop, today time.Time) draftTyped {
	d := draftTyped{validUntil: today.AddDate(0, 0, sh.EstimateDays).Format(time.DateOnly),
		includesTax: sh.PricesIncludeTax}
	if n := len(sheet.Estimate.Revisions); n > 0 {
		last := sheet.Estimate.Revisions[n-1]
		d.note, d.includesTax = last.Note, last.Rule.PricesIncludeTax
		if last.State == estimate.Draft || !last.Expired(today) {
			d.validUntil = last.ValidUntil.Format(time.DateOnly)
		}
		for _, l := range last.Lines {
			d.rows = append(d.rows, l.Form(last.Currency))
		}
		return d
	}
	d.suggest(sheet, sh)
	if len(d.rows) == 0 {
		d.rows = append(d.rows, blankLine(sh))
	}
	return d
}

func blankLine(sh shop.Shop) estimate.LineForm {
	return estimate.LineForm{Kind: string(estimate.Labour), Quantity: "1",
		TaxRate: estimate.FormatPercent(sh.TaxBasisPoints)}
}

// suggest takes over what the findings and the parts ask for and no line says yet.
func (d *draftTyped) suggest(sheet store.EstimateSheet, sh shop.Shop) {
	lines := estimate.Suggest(standingFindings(sheet.Findings), sheet.PartLines(), d.rows,
		estimate.FormatPercent(sh.TaxBasisPoints))
	if sheet.Head.Facts.Cover == docket.Covered {
		for i := range lines {
			lines[i].UnitPrice = "0"
		}
	}
	d.rows = slices.DeleteFunc(d.rows, estimate.LineForm.Blank)
	d.rows = append(d.rows, lines...)
	d.suggested = len(lines) > 0
}

func standingFindings(rows []store.FindingRow) []diagnosis.Finding {
	return store.DiagnosisSheet{Findings: rows}.Standing()
}

// maxEditorRows bounds what one form may send: the most lines of a revision and some to spare.
const maxEditorRows = estimate.MaxLines + 20

// readDraft reads the editor.
func readDraft(f *page.Form) (draftTyped, error) {
	n := f.Int("rows")
	if !f.OK() || n < 0 || n > maxEditorRows {
		return draftTyped{}, page.BadRequest(errors.New("rows of the estimate"))
	}
	d := draftTyped{note: f.Text("note"), validUntil: f.Text("valid_until"), includesTax: f.Text("includes_tax") == "yes"}
	for i := range n {
		field := func(name string) string { return f.Raw(lineField(i, name)) }
		d.rows = append(d.rows, estimate.LineForm{Kind: field("kind"), Description: field("description"),
			Quantity:  field("quantity"),
			UnitPrice: field("unit_price"), TaxRate: field("tax_rate"), Optional: f.Checked(lineField(i, "optional")), PartID: f.ID(lineField(i, "part"))})
	}
	return d, nil
}

func lineField(i int, name string) string { return "lines." + strconv.Itoa(i) + "." + name }

// check makes the content of a revision of what was typed, and notes in f what is wrong with it. Rows left blank are
// passed over.
func (d draftTyped) check(f *page.Form, currency, locale string) estimate.Revision {
	content := estimate.Revision{Currency: currency, Rule: estimate.TaxRule{PricesIncludeTax: d.includesTax}, Note: d.note,
		ValidUntil: f.Day("valid_until")}
	if d.validUntil == "" {
		f.Fail("valid_until", "Give the last day on which the estimate may be approved.")
	}
	for i, row := range d.rows {
		if row.Blank() {
			continue
		}
		line, bad := row.Check(currency, locale)
		for name, why := range bad {
			f.Fail(lineField(i, name), why)
		}
		content.Lines = append(content.Lines, line)
	}
	for name, why := range content.Problems() {
		if !strings.HasPrefix(name, "lines.") { // those are numbered without the blank rows, and are noted above
			f.Fail(name, why)
		}
	}
	return content
}

// view draws the editor, with what each line comes to as far as it can be read.
func (d draftTyped) view(f *page.Form, sheet store.EstimateSheet, m priced.Money) *editorView {
	number := 1
	if n := len(sheet.Estimate.Revisions); n > 0 {
		if last := sheet.Estimate.Revisions[n-1]; last.State == estimate.Draft {
			number = last.Number
		} else {
			number = last.Number + 1
		}
	}
	_, saved := sheet.Estimate.OpenDraft()
	e := &editorView{Form: f.View(), Number: strconv.Itoa(number), Saved: saved, Suggested: d.suggested, Note: d.note,
		ValidUntil:  d.validUntil,
		IncludesTax: d.includesTax, Currency: m.Currency, Kinds: page.Options(estimate.Kinds, estimate.Kind.Words),
		TaxName:    m.Shop.TaxName,
		MayDiscard: saved}
	for _, j := range sheet.Offered() {
		if j.For(sheet.Head.Watch.Winding) {
			e.Jobs = append(e.Jobs, j.Title())
		}
	}
	rule := estimate.TaxRule{PricesIncludeTax: d.includesTax}
	var readable []estimate.Line
	for i, row := range d.rows {
		rv := lineRow{Index: i, Kind: row.Kind, Description: row.Description, Quantity: row.Quantity,
			UnitPrice: row.UnitPrice,
			TaxRate:   row.TaxRate, Optional: row.Optional}
		if row.PartID != 0 {
			rv.Part, rv.Linked = page.Itoa64(row.PartID), row.Kind == string(estimate.Part)
		}
		if line, bad := row.Check(m.Currency, m.Shop.Locale); len(bad) == 0 {
			if minor, err := line.AmountMinor(rule.Rounding); err == nil {
				rv.Amount = m.Format(minor)
				readable = append(readable, line)
			}
		} else if !row.Blank() {
			e.Unread = true
		}
		e.Rows = append(e.Rows, rv)
	}
	if totals, err := estimate.Sum(readable, rule); err == nil && len(readable) > 0 {
		e.Totals = m.Totals(totals, rule)
		e.TotalSaid = money.InWords(totals.GrossMinor, m.Currency, m.Shop.Locale)
		e.Beware = comeback.Priced(sheet.Head.Facts.Cover, totals.GrossMinor)
		e.Within = estimate.WithinLimit(totals.GrossMinor, sheet.Head.Docket.ApprovalLimitMinor)
	}
	return e
}

// editEstimate does what a button of the editor says: changes the rows, works out the totals, saves, or saves and
// sends.
func (s *Room) editEstimate(w http.ResponseWriter, r *http.Request) error {
	f, c, err := s.ChangeForm(w, r)
	if err != nil {
		return err
	}
	draft, err := readDraft(f)
	if err != nil {
		return err
	}
	do, argument, _ := strings.Cut(f.Text("do"), ":")
	if do != "follow" { // nothing turns into something else while it is typed
		if err := s.linkParts(r, &draft, f); err != nil {
			return err
		}
	}
	switch do {
	case "save", "send":
		return s.saveEstimate(w, r, f, c, draft, do == "send")
	}
	sheet, err := s.store.EstimateSheet(r.Context(), c.Number)
	if err != nil {
		return err
	}
	viewer, _ := page.ViewerOf(r.Context())
	switch do {
	case "add":
		draft.rows = append(draft.rows, blankLine(viewer.Shop))
	case "suggest":
		draft.suggest(sheet, viewer.Shop)
	case "job", "recount": // Enter in the field presses the form's first button
		if f.Text("job") != "" {
			s.addJob(r, f, &draft, sheet)
		}
	case "unlink", "remove":
		i, err := strconv.Atoi(argument)
		if err != nil || i < 0 || i >= len(draft.rows) {
			return page.BadRequest(fmt.Errorf("%s line %q", do, argument))
		}
		if do == "unlink" {
			draft.rows[i].PartID = 0
		} else {
			draft.rows = slices.Delete(draft.rows, i, i+1)
		}
	}
	return s.renderEstimateSheet(w, r, http.StatusOK, sheet, estimateTyped{form: editorForm(f), draft: &draft})
}

// addJob adds to the draft the lines of the job of the price list that was typed, or notes in f why it can't.
func (s *Room) addJob(r *http.Request, f *page.Form, draft *draftTyped, sheet store.EstimateSheet) {
	j, choices, ok := pricelist.Chosen(sheet.Offered(), f.Text("job"), sheet.Head.Watch.Winding)
	if !ok {
		why := "No job of the price list is called so."
		if len(choices) > 0 {
			codes := make([]string, len(choices))
			for i, c := range choices {
				codes[i] = c.Code
			}
			why = "More than one is called so: type the code, " + strings.Join(codes, ", ") + "."
		}
		f.Fail("job", why)
		return
	}
	currency := sheet.Head.Docket.Currency
	lines, err := j.Drafted(s.Today(r), string(sheet.Head.Docket.Tongue.Or(tongue.Of(page.LocaleOf(r)))), currency, estimate.TaxRule{PricesIncludeTax: draft.includesTax})
	if err != nil {
		f.Fail("job", j.Code+" has no price today in "+currency+".")
		return
	}
	draft.rows = slices.DeleteFunc(draft.rows, estimate.LineForm.Blank)
	for _, l := range lines {
		form := l.Form(currency)
		if l.Kind == estimate.Part && l.UnitMinor == 0 {
			form.UnitPrice = "" // to be priced
		}
		draft.rows = append(draft.rows, form)
	}
	f.Values.Del("job")
}

// editorForm is the editor's form without its rows, which are drawn from the draft.
func editorForm(f *page.Form) *page.Form {
	kept := &page.Form{Values: maps.Clone(f.Values), Problems: map[string]string{}}
	if why := f.Problems["job"]; why != "" {
		kept.Problems["job"] = why
	}
	for name := range kept.Values {
		if strings.HasPrefix(name, "lines.") {
			delete(kept.Values, name)
		}
	}
	return kept
}

func (s *Room) saveEstimate(w http.ResponseWriter, r *http.Request, f *page.Form, c store.Change, draft draftTyped,
	send bool) error {
	head, err := s.store.Head(r.Context(), c.Number)
	if err != nil {
		return err
	}
	content := draft.check(f, head.Docket.Currency, page.LocaleOf(r))
	if f.Text("job") != "" {
		f.Fail("job", "This is not on the estimate yet: put it on, or clear it.")
	}
	switch {
	case !f.OK():
	case send && !page.May(r, staff.SendEstimate):
		return page.ErrForbidden
	case send:
		c.Tell = sheet.ReadTell(f)
		_, err = s.store.SaveAndSend(r.Context(), c, content, s.Today(r))
		return s.afterSending(w, r, f, c, refusedSending(f, err), &draft)
	default:
		_, err = s.store.SaveDraft(r.Context(), c, content)
	}
	return s.Settle(w, r, sheet.Ending{Form: f, Change: c, Err: err, Words: draft.words,
		Said:  "The draft is saved. The customer does not see it before it is sent.",
		To:    view.DocketURL(c.Number.String(), "estimate"),
		Again: func(status int) error { return s.renderEstimate(w, r, status, estimateTyped{form: f, draft: &draft}) }})
}

// words say what was typed in the editor to who came second: a line of text for each line, and nothing of the fields
// that only serve the form. Without a draft there are none.
func (d *draftTyped) words() map[string]string {
	if d == nil {
		return nil
	}
	words := map[string]string{"do": "", "rows": "", "includes_tax": ""}
	for i, row := range d.rows {
		for _, name := range []string{"kind", "quantity", "unit_price", "tax_rate", "optional", "part"} {
			words[lineField(i, name)] = ""
		}
		said := fmt.Sprintf("%s: %s, %s × %s, tax %s %%", estimate.Kind(row.Kind).Words(), row.Description, row.Quantity,
			row.UnitPrice, row.TaxRate)
		if row.Optional {
			said += ", may be left out"
		}
		words[lineField(i, "description")] = said
	}
	return words
}

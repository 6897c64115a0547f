package estimates

import (
	"net/http"
	"net/url"
	"slices"
	"strconv"
	"strings"
	"time"

	"ledgerwheel/domain/estimate"
	"ledgerwheel/domain/message"
	"ledgerwheel/domain/money"
	"ledgerwheel/store"
	"ledgerwheel/web/page"
	"ledgerwheel/web/priced"
	"ledgerwheel/web/sheet"
	"ledgerwheel/web/view"
)

// answerForms are the forms of an answer to the revision that waits: given at the counter, and on the telephone.
func (s *Room) answerForms(r *http.Request, record store.EstimateSheet, shown estimate.Revision, typed estimateTyped) []answerView {
	var forms []answerView
	for _, by := range []estimate.Channel{estimate.AtCounter, estimate.ByTelephone} {
		forms = append(forms, s.answerForm(r, record, shown, typed, by))
	}
	return forms
}

// answeredBy is how the answer came that was typed.
func answeredBy(typed estimateTyped) estimate.Channel {
	if typed.form.Text("by") == string(estimate.ByTelephone) {
		return estimate.ByTelephone
	}
	return estimate.AtCounter
}

func (s *Room) answerForm(r *http.Request, record store.EstimateSheet, shown estimate.Revision, typed estimateTyped,
	by estimate.Channel) answerView {
	mine := typed.form.Values.Has("name") && answeredBy(typed) == by
	form, prefix := typed.form.View(), ""
	if !mine {
		form, prefix = view.Form{Values: s.answerUsual(r, record, shown, by)}, string(by)
		if by == estimate.AtCounter && answeredBy(typed) == by {
			prefix = ""
		}
	}
	field := func(name, label string) view.Field {
		f := form.Field(name, label)
		if prefix != "" {
			f.ID = prefix + "-" + name
			if name != "decision" && name != "leave_out" { // whose choices have names of their own
				f = f.WithAttr("data-testid", f.ID)
			}
		}
		return f
	}
	v := answerView{By: string(by), Revision: strconv.Itoa(shown.Number), Open: mine && len(typed.form.Problems) > 0,
		Heading:  "Write down the answer given at the counter",
		Decision: field("decision", "The customer").Need().WithOptions(answerOptions(shown.Expired(s.Today(page.AsStood(r, record.Row(shown.Number).Shop))))...),
		Name:     field("name", "Name of who decides").Need().WithWidth(view.Half).WithMaxLength(200).WithAttr("dir", "auto"),
		Note:     field("note", "Note").Maybe().WithRows(2).WithAttr("dir", "auto"),
		Tell: sheet.Telling(form, message.Reach{Customer: record.Head.Customer}, sheet.HomeOf(r), prefix,
			"That the estimate is approved; nothing where it is declined.")}
	if optional := priced.OptionalLines(shown); len(optional) > 0 {
		leave := field("leave_out", "Left out of the approval").WithOptions(optional...)
		v.LeaveOut = &leave
	}
	if by == estimate.ByTelephone {
		v.Heading = "Write down the answer given on the telephone"
		v.Call = []view.Field{
			field("agreed_on", "Day of the call").Need().WithWidth(view.Third),
			field("agreed_time", "Hour").Need().WithWidth(view.Third).WithHint("As 14:05, by the shop’s clock."),
			field("number", "Number called").Need().WithWidth(view.Third).WithMaxLength(60),
			field("called_by", "Who called").Need().WithWidth(view.Half).WithMaxLength(200).WithAttr("dir", "auto"),
			field("agreed_total", "New total that was said, "+shown.Currency).WithWidth(view.Half).WithHint("Of what is approved, tax included."),
		}
		v.Added = field("added", "What was added: work and parts").WithRows(3).WithAttr("dir", "auto")
	}
	return v
}

// answerUsual is what a form of an answer opens with.
func (s *Room) answerUsual(r *http.Request, record store.EstimateSheet, shown estimate.Revision, by estimate.Channel) url.Values {
	values := url.Values{"name": {record.Head.Customer.Name}}
	if by != estimate.ByTelephone {
		return values
	}
	viewer, _ := page.ViewerOf(r.Context())
	now := s.Now().In(page.ZoneOf(r))
	values.Set("agreed_on", now.Format(time.DateOnly))
	values.Set("agreed_time", now.Format("15:04"))
	values.Set("number", record.Head.Customer.PhoneIn(sheet.HomeOf(r)))
	values.Set("called_by", viewer.Member.Name)
	values.Set("added", strings.Join(record.Estimate.Added(shown.Number), "\n"))
	if !slices.ContainsFunc(shown.Lines, func(l estimate.Line) bool { return l.Optional }) {
		values.Set("agreed_total", money.Plain(priced.AgreedOrOffered(shown).GrossMinor, shown.Currency))
	}
	return values
}

// readConsent reads what was written of a call, by the shop's clock.
func readConsent(f *page.Form, zone *time.Location, currency, locale string, approve bool) *estimate.Consent {
	c := estimate.Consent{Number: f.Text("number"), CalledBy: f.Text("called_by"), Added: f.Text("added")}
	day := f.Day("agreed_on")
	if clock, ok := f.Clock("agreed_time"); ok && !day.IsZero() {
		y, m, d := day.Date()
		c.At = time.Date(y, m, d, int(clock.Hours()), int(clock.Minutes())%60, 0, 0, zone).UTC()
	}
	if approve {
		var err error
		if c.TotalMinor, err = money.Parse(f.Text("agreed_total"), currency, locale); err != nil {
			f.Fail("agreed_total", money.Problem(err, currency))
		}
	}
	tidy := c.Tidied()
	return &tidy
}

// consentTerms are what is kept of a call in which a revision was answered.
func (s *Room) consentTerms(r *http.Request, rev estimate.Revision, m priced.Money) []view.TermView {
	if rev.Answer == nil || rev.Answer.Consent == nil {
		return nil
	}
	c := rev.Answer.Consent
	terms := []view.TermView{view.Term("Agreed on the telephone", s.Moment(r, c.At)), view.Term("Number called", c.Number),
		view.Term("Called by", c.CalledBy)}
	if c.Added != "" {
		terms = append(terms, sheet.TypedTerm("What was added", c.Added))
	}
	if rev.Answer.Approve {
		terms = append(terms, view.Term("New total said", m.Format(c.TotalMinor)))
	}
	return terms
}

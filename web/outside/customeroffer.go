package outside

import (
	"encoding/json"
	"net/url"
	"slices"
	"strconv"
	"time"

	"ledgerwheel/domain/docket"
	"ledgerwheel/domain/estimate"
	"ledgerwheel/store"
	"ledgerwheel/web/page"
	"ledgerwheel/web/priced"
	"ledgerwheel/web/view"
)

// thanksFor is how long an answer is thanked for, at the top of its sheet.
const thanksFor = 48 * time.Hour

// offerOf is the revision that the customer has before them, as it was sent, and the form for its answer while it waits.
func (s *Room) offerOf(o opened, rev estimate.Revision, f *page.Form) *offerView {
	sent := o.found.Row(rev.Number).Shop
	today := page.Civil(s.Now().In(sent.Location())) // the last day is over by the clock that stood then
	m := priced.Of(rev.Currency, inReaders(sent, o.in)).In(o.in)
	v := &offerView{Number: strconv.Itoa(rev.Number), Heading: o.say("page.estimate", "number", rev.Number), Action: o.at("/answer"),
		Note: rev.Note, Waiting: rev.State == estimate.Sent && !o.found.Closed && !rev.Expired(today)}
	if !rev.ValidUntil.IsZero() {
		v.Until = o.say("page.until", "day", o.in.DayOfWeek(rev.ValidUntil))
		if rev.State == estimate.Sent && !v.Waiting {
			v.Over = o.say("page.over.text", "day", o.in.DayOfWeek(rev.ValidUntil))
		}
	}
	leftOut := leftOutOf(rev, f)
	if v.Waiting {
		forgetOther(f, v)
	}
	v.Lines = s.offerLinesOf(o, m, rev, leftOut)
	v.Choosing = v.Waiting && slices.ContainsFunc(rev.Lines, func(l estimate.Line) bool { return l.Optional })
	total, err := rev.AgreedTotals()
	if v.Waiting {
		total, err = rev.Without(leftOut)
	}
	if err != nil { // what can't be summed is never kept
		s.Log.Error("an estimate that is kept can't be summed", "revision", rev.ID, "error", err)
	}
	v.Sums, v.Total, v.TotalMinor = sumsOf(m, rev, total), m.Format(total.GrossMinor), strconv.FormatInt(total.GrossMinor, 10)
	if v.Choosing {
		v.Choices = choicesOf(m, rev)
	}
	s.addAnswer(v, o, m, rev, sent.Location())
	return v
}

// leftOutOf are the optional lines that were not ticked on the form; of a form about another revision, or none, no line.
func leftOutOf(rev estimate.Revision, f *page.Form) []int {
	if f.Text("revision") != strconv.Itoa(rev.Number) {
		return nil
	}
	var out []int
	for i, l := range rev.Lines {
		if l.Optional && !slices.Contains(f.Values["take"], strconv.Itoa(i)) {
			out = append(out, i)
		}
	}
	return out
}

// forgetOther takes what was answered to an older revision out of the form: it is no answer to this one.
func forgetOther(f *page.Form, v *offerView) {
	if f.Values.Has("revision") && f.Text("revision") != v.Number {
		f.Values = url.Values{"name": f.Values["name"], "note": f.Values["note"]}
	}
}

// offerLinesOf are the lines for reading. A quantity of one goes without saying.
func (s *Room) offerLinesOf(o opened, m priced.Money, rev estimate.Revision, leftOut []int) []offerLine {
	var lines []offerLine
	for i, l := range rev.Lines {
		line := offerLine{Index: strconv.Itoa(i), Description: l.Description, LeftOut: l.Declined,
			Optional: l.Optional && rev.State == estimate.Sent, Taken: !slices.Contains(leftOut, i)}
		if amount, err := l.AmountMinor(rev.Rule.Rounding); err == nil {
			line.Amount = m.Format(amount)
		}
		if l.QuantityMilli != 1000 {
			line.Quantity = o.say("page.line.quantity", "quantity", m.Quantity(l.QuantityMilli), "each", m.Format(l.UnitMinor))
		}
		if finding, ok := estimate.FindingOf(l, o.found.Findings); ok {
			line.Photo = photoOf(o, finding.PhotoID)
		}
		lines = append(lines, line)
	}
	return lines
}

// photoOf is one of the photographs that the customer sees; nil where it is not among them.
func photoOf(o opened, id int64) *view.PhotoView {
	i := slices.IndexFunc(o.found.Photos, func(p store.Photo) bool { return p.ID == id })
	if i < 0 {
		return nil
	}
	v := linkPhoto(o, o.found.Photos[i], i)
	return &v
}

// sumsOf are the sums below the lines but the total. The rates of tax are those of all lines that were offered, so that the
// rows stay the same whatever is left out.
func sumsOf(m priced.Money, rev estimate.Revision, t estimate.Totals) []priced.TotalRow {
	all, err := rev.Totals()
	if err == nil && rev.State == estimate.Sent {
		for i := range all.ByRate {
			all.ByRate[i] = estimate.RateTotal{TaxBasisPoints: all.ByRate[i].TaxBasisPoints}
		}
		t.ByRate = estimate.Totals{ByRate: all.ByRate}.Plus(t).ByRate
	}
	rows := m.Totals(t, rev.Rule)
	return rows[:len(rows)-1]
}

// mostChoices bounds how many optional lines have the sums of all their choices on the page: 2 to that power.
const mostChoices = 6

// choice is what one choice of lines comes to.
type choice struct {
	Minor string   `json:"minor"`
	Total string   `json:"total"`
	Sums  []string `json:"sums"`
}

// choicesOf are the sums of every choice of optional lines, for the script that follows the ticks: bit i of a choice's place
// stands for the i-th optional line taken. "" where there are too many.
func choicesOf(m priced.Money, rev estimate.Revision) string {
	var optional []int
	for i, l := range rev.Lines {
		if l.Optional {
			optional = append(optional, i)
		}
	}
	if len(optional) > mostChoices {
		return ""
	}
	all := make([]choice, 1<<len(optional))
	for bits := range all {
		var out []int
		for i, line := range optional {
			if bits>>i&1 == 0 {
				out = append(out, line)
			}
		}
		t, err := rev.Without(out)
		if err != nil {
			return ""
		}
		c := choice{Minor: strconv.FormatInt(t.GrossMinor, 10), Total: m.Format(t.GrossMinor)}
		for _, row := range sumsOf(m, rev, t) {
			c.Sums = append(c.Sums, row.Amount)
		}
		all[bits] = c
	}
	text, err := json.Marshal(all)
	if err != nil {
		return ""
	}
	return string(text)
}

// addAnswer says how the revision was answered, thanks for an answer that is fresh, and names what stays agreed.
func (s *Room) addAnswer(v *offerView, o opened, m priced.Money, rev estimate.Revision, zone *time.Location) {
	if a := rev.Answer; a != nil {
		at := o.in.Moment(a.At.In(zone))
		v.Mark, v.Word, v.Fold = view.Fail, o.say("page.declined"), o.say("page.lines.declined")
		v.Answered = o.say("page.answered.declined", "name", a.Name, "at", at)
		if a.Approve {
			v.Mark, v.Word, v.Fold = view.Pass, o.say("page.approved"), o.say("page.lines.shown")
			v.Answered = o.say("page.answered.approved", "name", a.Name, "total", v.Total, "at", at)
		}
		if a.By == estimate.ByLink && s.Now().Sub(a.At) < thanksFor && !o.found.Closed {
			v.Thanks = o.say("page.thanks", "name", a.Name)
		}
	}
	if inForce, ok := o.found.Estimate.InForce(); ok && inForce.Number != rev.Number && o.found.Stage != docket.StageHandedOver {
		was := priced.Of(inForce.Currency, inReaders(o.found.Row(inForce.Number).Shop, o.in))
		v.InForce = o.say("page.inforce", "number", inForce.Number, "total", was.Format(priced.AgreedOrOffered(inForce).GrossMinor))
	}
}

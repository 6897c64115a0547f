package orders

import (
	"errors"
	"net/http"
	"net/url"
	"slices"
	"strconv"
	"strings"
	"time"

	"ledgerwheel/domain"
	"ledgerwheel/domain/message"
	"ledgerwheel/domain/money"
	"ledgerwheel/domain/purchase"
	"ledgerwheel/domain/staff"
	"ledgerwheel/domain/stock"
	"ledgerwheel/store"
	"ledgerwheel/web/page"
	"ledgerwheel/web/sheet"
	"ledgerwheel/web/view"
)

// plainFields are the problems of an event of one line beside the fields of a form that has no other line.
func plainFields(err error, lineID int64) error {
	var invalid *domain.InvalidError
	if !errors.As(err, &invalid) {
		return err
	}
	bad := map[string]string{}
	for field, why := range invalid.Problems {
		bad[strings.TrimSuffix(field, "."+page.Itoa64(lineID))] = why
	}
	return domain.Invalid(bad)
}

// dueWords says when something is expected, and whether that is over.
func (s *Room) dueWords(r *http.Request, day time.Time) (words string, late bool) {
	if day.IsZero() {
		return "no day named", false
	}
	st := purchase.Standing{ToCome: 1, DueOn: day}
	if days := st.DaysLate(s.Today(r)); days > 0 {
		return plural(days, "day", "days") + " late", true
	}
	return s.Day(r, day), false
}

// renderOrder shows an order; typed is the form of that name as it was refused.
func (s *Room) renderOrder(w http.ResponseWriter, r *http.Request, status int, name string, typed *page.Form) error {
	o, err := s.orderOf(r)
	if err != nil {
		return err
	}
	v := orderView{ID: page.Itoa64(o.ID), URL: orderURL(o.ID, ""), Number: o.Number, Version: page.Itoa64(o.Version), Supplier: o.Supplier.Name, Phone: o.Supplier.Phone,
		Stage: o.Stands.Words(), Mark: stageMark(o.Stands), Drafted: o.Stands == purchase.Drafted, Sent: o.IsSent(), Currency: o.Currency,
		MayOrder: page.May(r, staff.ManageStock), MayReceive: page.May(r, staff.OrderParts) && o.IsSent(), Note: o.Note,
		Problems: typed.Problems, Failed: name}
	v.Seen = strconv.Itoa(len(o.Happened))
	switch {
	case status == http.StatusConflict:
		saySince(o, name, typed)
	case name != "" && name != formPromise && typed.Text("version") != "": // what others did since was not shown yet
		v.Version, v.Seen = typed.Text("version"), typed.Text("seen")
	}
	v.Problems = typed.Problems
	v.Form = map[string]view.Form{}
	for _, form := range []string{formDraft, formCame, formWrong, formHeard, formAgain, formKept, formCount} {
		v.Form[form] = view.Form{Values: url.Values{}}
	}
	if name != "" && typed.Values != nil {
		v.Form[name] = typed.View()
	}
	s.showLines(r, o, &v)
	s.showStanding(r, o, &v)
	if o.Stands == purchase.Drafted {
		s.showDraft(o, &v, name, typed)
	}
	v.LineOptions, v.AllLines = lineOptions(o, false), lineOptions(o, true)
	s.showAfterwards(o, &v)
	if page.May(r, staff.TakeIn) {
		s.showWaiting(r, o, &v, name, typed)
	} else {
		s.showWaiting(r, o, &v, "", page.EmptyForm())
		for i := range v.Waiting {
			v.Waiting[i].May = false
		}
	}
	for _, e := range slices.Backward(o.Happened) {
		v.Happened = append(v.Happened, happenedRow{At: s.Moment(r, e.At), What: o.Said(e.Event), By: e.By})
	}
	return page.Render(w, r, status, orderPage(s.Page(r, "Order "+o.Number), v))
}

// showLines are the lines as they stand.
func (s *Room) showLines(r *http.Request, o store.Order, v *orderView) {
	for _, l := range o.Lines {
		st, leads := o.Standing(l.ID), o.Parts[l.ID]
		row := lineRow{ID: page.Itoa64(l.ID), Part: l.Description, Number: l.Number, Pieces: strconv.Itoa(l.Pieces), Came: strconv.Itoa(st.Came), ToCome: strconv.Itoa(st.ToCome),
			Open: st.ToCome > 0, Ages: leads.Ages, Stock: l.PartID != 0}
		if l.CostMinor != nil {
			row.Cost = money.Format(*l.CostMinor, o.Currency, page.LocaleOf(r))
		}
		for _, n := range []struct {
			pieces int
			words  string
		}{{st.Cancelled, "called off"}, {st.Surplus, "more than ordered"}, {st.Wrong, "came wrong"}} {
			if n.pieces > 0 {
				row.Notes = append(row.Notes, strconv.Itoa(n.pieces)+" "+n.words)
			}
		}
		if st.ToCome > 0 && o.IsSent() {
			row.Due, row.Late = s.dueWords(r, st.DueOn)
			if st.BackOrder {
				row.Due = "back order, " + row.Due
			}
		}
		if leads.DocketID != 0 {
			row.Docket = leads.Docket.String()
			if leads.State != stock.Ordered && st.ToCome > 0 && o.IsSent() {
				row.Notes = append(row.Notes, "there it is "+leads.State.Words()+" by now")
			}
		}
		v.Lines = append(v.Lines, row)
	}
	if sum, known := o.TotalMinor(); known && len(o.Lines) > 0 {
		v.Total = money.Format(sum, o.Currency, page.LocaleOf(r))
	}
}

// showStanding says how the order went out, and what is next.
func (s *Room) showStanding(r *http.Request, o store.Order, v *orderView) {
	if !o.IsSent() {
		return
	}
	v.Went = "Sent " + o.Way.Words() + " on " + s.Day(r, o.SentOn)
	if m := o.Mail; m != nil {
		switch m.State {
		case message.Queued:
			v.Went += "; the mail to " + m.To + " is on its way"
			if m.Said != "" {
				v.Went += ", not taken yet: " + strings.TrimSuffix(m.Said, ".")
			}
		case message.Sent:
			v.Went += "; the mail server took it for " + m.To
		case message.Refused:
			v.Refused, v.Went = m.Said, "The mail to "+m.To+" was refused"
			v.Ways = waysOf(o.Supplier.Email)
		}
	}
	v.Went += "."
	late := 0
	for _, l := range o.Lines {
		late = max(late, o.Standing(l.ID).DaysLate(s.Today(r)))
	}
	if late > 0 {
		v.LateWords = plural(late, "day", "days") + " late."
	}
}

// showDraft puts the draft's lines into the form, as they were typed or as they are kept.
func (s *Room) showDraft(o store.Order, v *orderView, name string, typed *page.Form) {
	f := page.EmptyForm()
	if name == formDraft && typed.Values != nil {
		f = typed
		for _, l := range o.Lines { // somebody else put it on meanwhile
			if at := "line-" + page.Itoa64(l.ID); !f.Values.Has(at + ".description") {
				setLine(f, at, l, o.Currency)
			}
		}
	} else {
		f.Problems = typed.Problems
		f.Values.Set("note", o.Note)
		for _, l := range o.Lines {
			setLine(f, "line-"+page.Itoa64(l.ID), l, o.Currency)
		}
	}
	v.Form[formDraft], v.Ways = f.View(), waysOf(o.Supplier.Email)
}

// showAfterwards is what can be put right or settled after a delivery.
func (s *Room) showAfterwards(o store.Order, v *orderView) {
	for _, option := range v.AllLines {
		for _, l := range o.Lines {
			if came := o.Standing(l.ID).Came; page.Itoa64(l.ID) == option.Value && came > 0 {
				v.CameLines = append(v.CameLines, view.Option{Value: option.Value, Text: option.Text + ": " + strconv.Itoa(came) + " came"})
				v.CameAges = v.CameAges || o.Parts[l.ID].Ages
			}
		}
	}
	for _, e := range o.Kept() {
		v.Kept = append(v.Kept, view.Option{Value: page.Itoa64(e.ID), Text: strconv.Itoa(e.Pieces) + " × " + e.Note})
	}
	if f := v.Form[formKept]; len(o.Kept()) == 1 && v.Failed != formKept {
		f.Values.Set("pieces", strconv.Itoa(o.Kept()[0].Pieces))
	}
}

func setLine(f *page.Form, at string, l purchase.Line, currency string) {
	for field, value := range map[string]string{"number": l.Number, "description": l.Description, "pieces": strconv.Itoa(l.Pieces), "cost": amountTyped(l.CostMinor, currency)} {
		f.Values.Set(at+"."+field, value)
	}
}

// saySince says what somebody else saved since a form was opened, which keeps what was typed.
func saySince(o store.Order, name string, typed *page.Form) {
	said := []string{"Someone else saved first."}
	seen := 0
	if typed.Text("seen") != "" {
		seen = max(0, min(typed.Int("seen"), len(o.Happened)))
	}
	for _, e := range o.Happened[seen:] {
		said = append(said, o.Said(e.Event)+" ("+e.By+").")
	}
	if name == formDraft && !o.IsSent() {
		said = append(said, purchase.DraftSummary(o.Number, o.Supplier.Name, o.Lines))
		for _, id := range typed.Values["line"] {
			if !slices.ContainsFunc(o.Lines, func(l purchase.Line) bool { return page.Itoa64(l.ID) == id }) {
				said = append(said, "Taken off by now: "+typed.Text("line-"+id+".description")+".")
			}
		}
	}
	typed.Problems[""] = strings.Join(append(said, "What you typed is kept: send it again if it still holds."), " ")
}

// showWaiting are the dockets that wait for the order's parts, with the day that is proposed for each.
func (s *Room) showWaiting(r *http.Request, o store.Order, v *orderView, name string, typed *page.Form) {
	if !o.IsSent() {
		return
	}
	today := s.Today(r)
	for _, d := range o.Waiting {
		number := d.Number.String()
		w := waitingView{Docket: number, Watch: d.Watch, Customer: d.Reach.Customer.Name, Version: page.Itoa64(d.Version), May: true}
		if !d.PromisedOn.IsZero() {
			w.Promised = s.Day(r, d.PromisedOn)
		}
		last := today
		switch {
		case d.ToCome == 0:
			w.Words = "All its parts are here."
		case d.Unknown:
			w.Words = plural(d.ToCome, "part is", "parts are") + " still to come; no day is known for all of them."
		default:
			w.Words = plural(d.ToCome, "part is", "parts are") + " still to come, the last on " + s.Day(r, d.DueOn) + "."
			if d.DueOn.After(today) {
				last = d.DueOn
			}
		}
		proposed, ok := purchase.Propose(last, d.PromisedOn)
		w.Proposes = ok && !d.Stage.Exit() && !(d.Unknown && d.ToCome > 0)
		w.Past = !d.PromisedOn.IsZero() && !last.Before(d.PromisedOn) && w.Proposes
		f := page.EmptyForm()
		if name == formPromise && typed.Text("docket") == number {
			f, w.Failed = typed, true
		} else {
			f.Values.Set("promised_on", proposed.Format(time.DateOnly))
		}
		w.Form = f.View()
		w.Tell = sheet.Telling(w.Form, d.Reach, sheet.HomeOf(r), "docket-"+number, "where the day is later than promised")
		v.Waiting = append(v.Waiting, w)
	}
}

// Package loan has the rules of the watches that the shop lends to customers while theirs is here.
package loan

import (
	"fmt"
	"slices"
	"time"

	"ledgerwheel/domain/money"
	"ledgerwheel/domain/text"
)

// Watch is one of the shop's own that it lends.
type Watch struct {
	ID                   int64
	Maker, Model, Serial string
	ValueMinor           int64 // in minor units of Currency
	Currency             string
	State                string // how it looks now
}

const (
	maxName  = 100
	maxState = 1000
	maxMinor = 99_999_999_999 // a slip of typing beyond any watch
)

// Tidied returns w with its texts fit to be kept.
func (w Watch) Tidied() Watch {
	w.Maker, w.Model, w.Serial, w.State = text.Line(w.Maker), text.Line(w.Model), text.Line(w.Serial), text.Lines(w.State)
	return w
}

// Problems says, by form field, what stops w being kept: "maker", "model", "serial", "value", "state".
func (w Watch) Problems() map[string]string {
	bad := map[string]string{}
	if w.Maker == "" {
		bad["maker"] = "Write the maker."
	}
	for name, value := range map[string]string{"maker": w.Maker, "model": w.Model, "serial": w.Serial} {
		if text.TooLong(value, maxName) {
			bad[name] = "Keep this to 100 characters."
		}
	}
	if w.ValueMinor < 1 || w.ValueMinor > maxMinor {
		bad["value"] = "Write what it is worth."
	}
	if why := stateProblem(w.State); why != "" {
		bad["state"] = why
	}
	return bad
}

func stateProblem(state string) string {
	switch {
	case state == "":
		return "Write how it looks: marks, or that there are none."
	case text.TooLong(state, maxState):
		return "Keep the state to 1000 characters."
	}
	return ""
}

// Title names the watch.
func (w Watch) Title() string {
	title := w.Maker
	if w.Model != "" {
		title += " " + w.Model
	}
	if w.Serial != "" {
		title += ", serial " + w.Serial
	}
	return title
}

// KeptSummary says in the shop's journal that it is lent from now on.
func (w Watch) KeptSummary() string { return "Loan watch kept: " + w.Title() + "." }

// EndedSummary says that it is lent no more.
func (w Watch) EndedSummary() string { return "Loan watch lent no more: " + w.Title() + "." }

// Out is a loan watch being handed out.
type Out struct {
	WatchID      int64
	State        string    // as the customer sees and signs it
	DueOn        time.Time // a civil day; zero for when their own watch is handed over
	DepositMinor *int64    // nil for none
	DepositHow   string    // how it was taken: one of Ways, or in words where that was written before there were any
}

// Cash is the way of a deposit that lies in the till.
const Cash = "cash"

// Ways are how a deposit is taken, in the order of a form, as payments name them.
var Ways = []string{Cash, "card", "transfer", "other"}

// TillMinor is what of the deposit goes into the till; 0 for nothing.
func (o Out) TillMinor() int64 {
	if o.DepositMinor == nil || o.DepositHow != Cash {
		return 0
	}
	return *o.DepositMinor
}

// Tidied returns o with its texts fit to be kept.
func (o Out) Tidied() Out {
	o.State, o.DepositHow = text.Lines(o.State), text.Line(o.DepositHow)
	return o
}

// Problems says, by form field, what the handing out lacks: "watch", "out_state", "due_on", "deposit", "deposit_how". today is
// the civil day in the shop.
func (o Out) Problems(today time.Time) map[string]string {
	bad := map[string]string{}
	if o.WatchID == 0 {
		bad["watch"] = "Choose the watch that is lent."
	}
	if why := stateProblem(o.State); why != "" {
		bad["out_state"] = why
	}
	if !o.DueOn.IsZero() && o.DueOn.Before(today) {
		bad["due_on"] = "This day has passed."
	}
	if o.DepositMinor != nil {
		if *o.DepositMinor < 1 || *o.DepositMinor > maxMinor {
			bad["deposit"] = "Write the deposit that was taken, or leave this empty."
		}
		if !slices.Contains(Ways, o.DepositHow) {
			bad["deposit_how"] = "Say how the deposit was taken."
		}
	}
	return bad
}

// OutSummary says on the docket which watch is lent.
func OutSummary(w Watch) string { return "Loan watch handed out: " + w.Title() + "." }

// Back is a loan watch that comes back.
type Back struct {
	State       string
	DepositBack string // what became of the deposit, in words
	// ReturnedMinor is the cash that goes back out of the till where the deposit lies there; nil where nobody said.
	ReturnedMinor *int64
}

// Tidied returns b with its texts fit to be kept.
func (b Back) Tidied() Back {
	b.State, b.DepositBack = text.Lines(b.State), text.Line(b.DepositBack)
	return b
}

// GivenBack are the words for a deposit that was given back whole.
const GivenBack = "given back"

// Settled is b with the words for a deposit of tillMinor that goes back out of the till whole, where nobody wrote others.
func (b Back) Settled(tillMinor int64) Back {
	if tillMinor > 0 && b.ReturnedMinor != nil && *b.ReturnedMinor == tillMinor && b.DepositBack == "" {
		b.DepositBack = GivenBack
	}
	return b
}

// Problems says, by form field, what the coming back lacks: "back_state", "deposit_back" where a deposit was taken, and
// "deposit_returned" where so much of it, in minor units, lies in the till.
func (b Back) Problems(deposit bool, tillMinor int64) map[string]string {
	bad := map[string]string{}
	if why := stateProblem(b.State); why != "" {
		bad["back_state"] = why
	}
	switch {
	case tillMinor == 0:
	case b.ReturnedMinor == nil:
		bad["deposit_returned"] = "Write what goes back out of the till: 0 where all of it is kept."
	case *b.ReturnedMinor < 0 || *b.ReturnedMinor > tillMinor:
		bad["deposit_returned"] = "No more can go back than was taken."
	}
	if deposit && b.DepositBack == "" && bad["deposit_returned"] == "" {
		bad["deposit_back"] = "Say what becomes of the deposit: given back, or what for it is kept."
	}
	if text.TooLong(b.DepositBack, 300) {
		bad["deposit_back"] = "Keep this to 300 characters."
	}
	return bad
}

// BackSummary says on the docket that the watch came back.
func BackSummary(w Watch) string { return "Loan watch came back: " + w.Title() + "." }

// KeptOutProblem says why a reason does not do for letting a loan watch stay out; "" when it does.
func KeptOutProblem(why string) string {
	switch {
	case why == "":
		return "Write why it stays out: the reason goes into the journal."
	case text.TooLong(why, 500):
		return "Keep the reason to 500 characters."
	}
	return ""
}

// KeptOutSummary says on the docket that the watch stays out.
func KeptOutSummary(w Watch) string { return "Loan watch stays out: " + w.Title() + "." }

// Overdue reports whether a watch lent until dueOn should be back, today being the civil day in the shop and gone whether the
// customer's own watch has left it.
func Overdue(dueOn, today time.Time, gone bool) bool {
	return gone || !dueOn.IsZero() && today.After(dueOn)
}

// Amount is an amount in minor units as journals write it.
func Amount(minor int64, currency string) string {
	return fmt.Sprintf("%s %s", money.Plain(minor, currency), currency)
}

// TillNote says at a move of the till for which docket's loan the deposit passed.
func TillNote(docket string) string { return "Loan watch of docket " + docket }

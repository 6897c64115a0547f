package sheet

import (
	"cmp"
	"net/http"

	"ledgerwheel/domain/customer"
	"ledgerwheel/domain/message"
	"ledgerwheel/store"
	"ledgerwheel/web/page"
	"ledgerwheel/web/view"
)

// HomeOf is the country by which the shop reads telephone numbers.
func HomeOf(r *http.Request) string {
	viewer, _ := page.ViewerOf(r.Context())
	return viewer.Shop.PhoneRegion
}

// What a form says of telling besides a way.
const (
	tellNobody = "nobody"
	tellDone   = "done"
)

// Telling asks how the customer is told of what a form does. home is the country in which numbers are read, prefix keeps the
// ids of one form apart from those of another, and when says in a few words of what they are told.
func Telling(f view.Form, r message.Reach, home, prefix, when string) view.TellView {
	who := r.Customer.Named().Name
	way := f.Field("tell", "Tell "+who).WithHint(when).WithWidth(view.Half)
	own := f.Field("tell_own", "In your own words").Maybe().WithRows(2).WithHint("Added to the usual words, in the customer’s language.").WithAttr("dir", "auto")
	if prefix != "" {
		way.ID, own.ID = prefix+"-tell", prefix+"-tell-own"
		way, own = way.WithAttr("data-testid", way.ID), own.WithAttr("data-testid", own.ID)
	}
	ways := r.Ways()
	for _, w := range ways {
		if text := wayOption(w, r, home); text != "" {
			way.Options = append(way.Options, view.Option{Value: string(w), Text: text})
		}
	}
	way.Options = append(way.Options, view.Option{Value: tellDone, Text: "They know already: I have told them"},
		view.Option{Value: tellNobody, Text: "Nobody is told now"})
	usual := string(ways[0])
	if ways[0] == message.InPerson {
		usual = tellNobody
	}
	way.Value = cmp.Or(way.Value, usual)
	return view.TellView{Way: way, Own: own}
}

// wayOption says what choosing a way does.
func wayOption(w message.Way, r message.Reach, home string) string {
	switch w {
	case message.Mail:
		return "By e-mail to " + r.Customer.Email
	case message.Text:
		return "By text message to " + r.Customer.PhoneIn(home) + ": Today keeps it to do"
	case message.Telephone:
		return "By telephone, " + cmp.Or(r.Customer.PhoneIn(home), r.Customer.Phone) + ": Today keeps it to do"
	case message.Letter:
		return "By letter, to print: Today keeps it to do"
	}
	return "When they come: Today keeps it to do"
}

// ReadTell reads how the customer is told; a form that does not ask tells nobody.
func ReadTell(f *page.Form) store.Tell {
	t := store.Tell{Way: message.Way(f.Text("tell")), Own: f.Text("tell_own")}
	switch f.Text("tell") {
	case tellNobody:
		t.Way = ""
	case tellDone:
		t.Way, t.Done = message.InPerson, true
	}
	return t
}

// ToldWords add to what is said after a change how the customer is told of it.
func ToldWords(t store.Tell, c customer.Customer) string {
	who := c.Named().Name
	switch {
	case t.Way == "":
		return ""
	case t.Done:
		return " Written down that " + who + " knows."
	case t.Way == message.Mail:
		return " " + who + " is told by e-mail."
	}
	return " " + who + " is still to be told " + t.Way.Words() + ": Today keeps it."
}

// toldByNext is how the customer is told where one press does a move, and what stands beside the button.
func toldByNext(r message.Reach) (way, words string) {
	w := r.Way()
	who := r.Customer.Named().Name
	switch w {
	case message.InPerson:
		return tellNobody, ""
	case message.Mail:
		return string(w), who + " is told by e-mail. Other ways: What next."
	}
	return string(w), "Today keeps it to tell " + who + " " + w.Words() + "."
}

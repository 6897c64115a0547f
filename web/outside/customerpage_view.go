package outside

import (
	"strings"

	"github.com/a-h/templ"

	"ledgerwheel/domain/tongue"
	"ledgerwheel/web/chart"
	"ledgerwheel/web/priced"
	"ledgerwheel/web/view"
)

// customerPageView is what a customer sees behind their private link, and nothing else. Its words are in their language,
// but for what people of the shop typed.
type customerPageView struct {
	T       tongue.Tongue
	Typed   string // language of what the shop typed, where it is another than the page's; else ""
	Number  string
	Watch   string
	Status  string // in plain words
	Stay    chart.StayLine
	Promise []string
	Next    string
	// Comeback says whether the warranty covers what brought the watch back, ComebackWhy why, as the shop typed it.
	Comeback, ComebackWhy string
	Done                  bool   // it is ready, or has left: what is due comes before what was agreed
	Notice                string // why an answer was not taken
	Form                  view.Form
	Offer                 *offerView
	Before                []view.PhotoView // as the watch came in
	After                 []view.PhotoView
	Shop                  shopView

	Account  *accountView
	Warranty *warrantyView
	Service  string // when the next one is advised
	Ask      askView
	Tested   string // how the watch was tested against water; "" for not
	Measured *measuredView
	Train    *trainView
}

// overView says why there is nothing to be seen.
type overView struct {
	Title, Text, Request, RequestID string
}

// shopView is how to reach the shop, and when.
type shopView struct {
	Name, Phone, Tel, Mail string // Tel is a tel: address, "" where the number can't be dialled from anywhere
	Address, Hours         []string
}

// offerView is the revision that the customer has before them, as it was sent.
type offerView struct {
	Number, Heading, Action string
	Lines                   []offerLine
	Sums                    []priced.TotalRow // below the lines, without the total
	Total, TotalMinor       string
	// Choices are the sums of every choice of lines, as JSON for js/customer.js: see [choice]. "" where nothing can be
	// chosen, and where there are too many choices.
	Choices  string
	Choosing bool // a line can be left out
	Note     string
	Until    string
	Waiting  bool // for an answer that may be given
	Over     string
	Answered string // who answered how and when
	Mark     view.MarkKind
	Word     string // beside the mark
	Thanks   string // while the answer is fresh
	InForce  string
	Fold     string // what the lines are folded under, once answered
}

// offerLine is one priced line.
type offerLine struct {
	Index, Description, Quantity, Amount string
	Optional, Taken                      bool
	LeftOut                              bool
	Photo                                *view.PhotoView
}

// id is of the line's tick.
func (l offerLine) id() string { return view.FieldID("take-" + l.Index) }

// Thanked reports whether an answer is thanked for: what happens next is then said beside it.
func (v customerPageView) Thanked() bool { return v.Offer != nil && v.Offer.Thanks != "" }

// mailTo is the address that writes a mail to the shop.
func (s shopView) mailTo() string { return "mailto:" + s.Mail }

// approveWords are what stands before and after the total on the button.
func (v customerPageView) approveWords() (words [2]string) {
	const gap = "\x00"
	words[0], words[1], _ = strings.Cut(v.T.Say("page.approve", "total", gap), gap)
	return words
}

// typedIn marks what the shop typed with its language, where that is not the page's; "" marks nothing.
func typedIn(lang string) templ.Attributes {
	if lang == "" {
		return nil
	}
	return templ.Attributes{"lang": lang}
}

// noteField is named by the fold that it stands in.
func (v customerPageView) noteField() view.Field {
	f := v.Form.Field("note", v.T.Say("page.note")).WithRows(3).WithAttr("dir", "auto")
	f.HideName = true
	return f
}

// accountView is what is due.
type accountView struct {
	Terms            []view.TermView
	Words            string
	Invoice, Receipt string // addresses, "" where there is none
}

// warrantyView is how the warranty stands.
type warrantyView struct {
	Mark               view.MarkKind
	Words, Check, Href string
}

// measuredView is what was measured before and after the work.
type measuredView struct {
	Chart chart.BeforeAfter
	Words []string
	Note  string
}

// trainView is the train, turning. Styles is the address of what turns it.
type trainView struct {
	Drawing             chart.TrainMotion
	Styles, Text, Speed string
}

// askView is what the customer asked, and where more is asked.
type askView struct {
	Asked  []askedView
	Action string
	Field  view.Field
	Open   bool // the form was refused
}

// askedView is one question with its answer, "" while it waits.
type askedView struct {
	Words, Asked, Answer, Answered string
}

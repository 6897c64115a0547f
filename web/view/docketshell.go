package view

// DocketView is what stands at the head of every sheet of a docket.
type DocketView struct {
	Number   string
	Watch    string // maker and model
	Customer string
	Phone    string // the customer's; Tel is its link, empty where the number was not read
	Tel      string
	Speaks   string // the customer's language; "" where it is the shop's own
	Waits    string // what it waits for, in words; "" when closed
	Place    string // with who has it in hand
	Promised string // as one reads it today, "8 days late"
	Late     bool
	Due      string // still to pay; "" for nothing
	Next     *NextView
	Rail     RailView
	Hazards  []string // words of hazards not yet acknowledged
	Version  string   // carried by every form that changes the docket
	Closed   bool
	// With says with which dockets the watch was taken in, at TogetherHref; "" for none.
	With, TogetherHref string
	LoanOut            bool        // a watch of the shop is out with the customer
	Bench              []BenchLink // bench tools opened from this sheet
}

// NextView is the one next thing that the reader can do: on the sheet at Href, or at once as a move.
type NextView struct {
	Text, Href string
	Here       bool // it is done on this very sheet
	Corrects   bool // it is to correct what the advice says
	Move       *NextMove
}

// NextMove is a move that asks nothing more: the watch stays where it is.
type NextMove struct {
	To, Place, Detail, Bench string
	Tell, Told               string // how the customer is told of it, and that in words; "" for nobody
}

// DocketURL is the address of a docket, or of one of its sheets.
func DocketURL(number, sheet string) string {
	if sheet == "" {
		return "/dockets/" + number
	}
	return "/dockets/" + number + "/" + sheet
}

// BenchLink leads to a bench tool.
type BenchLink struct{ Title, Purpose, Href, TestID string }

package view

// DocketView is what stands at the head of every sheet of a docket.
type DocketView struct {
	Number   string
	Watch    string // maker and model
	Customer string
	Waits    string // what it waits for, in words; "" when closed
	Place    string
	Promised string
	Overdue  bool
	Rail     RailView
	Tabs     []TabView
	Hazards  []string // words of hazards not yet acknowledged
	Version  string   // carried by every form that changes the docket
	Closed   bool
	Bench    []BenchLink // bench tools opened from this sheet
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

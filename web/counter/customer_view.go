package view

// CustomersView is the list of customers, or what a search found.
type CustomersView struct {
	Query     string
	Customers []CustomerRow
	TooMany   bool   // the search found more than are shown
	Next      string // address of the next page; "" at the end
	Later     bool   // this is not the first page
	MayTakeIn bool
}

// CustomerRow is one customer in the list; Open counts the dockets of watches in the shop.
type CustomerRow struct {
	Href, Name, Phone, Email string
	Open                     int
}

// CustomerView is one customer's page.
type CustomerView struct {
	Name      string
	Terms     []TermView
	EditURL   string
	TakeInURL string
	MayEdit   bool
	MayTakeIn bool
	Watches   []WatchRow
	Dockets   []HistoryRow
	Older     string // address of older dockets; "" when there are none
	Newest    string // address of the newest; "" when they are shown
}

// WatchRow is one watch of a customer, with the docket opened for it last.
type WatchRow struct {
	Href, Title, Serial, Docket string
	InShop                      bool
}

// CustomerFormView corrects a customer.
type CustomerFormView struct {
	Form         Form
	Action, Back string
	Contacts     []Option
	Theirs       []Difference // nil unless somebody else saved meanwhile
}

// Difference is a particular of which two people said different things.
type Difference struct{ Label, Theirs, Mine string }

// WatchView is one watch's page.
type WatchView struct {
	Title       string
	Terms       []TermView
	Calibre     string // figures of its calibre, when that is in the shop's list
	Customer    string
	CustomerURL string
	EditURL     string
	TakeInURL   string
	MayEdit     bool
	MayTakeIn   bool
	InShop      string // docket under which it is in the shop; "" when it is not
	Dockets     []HistoryRow
	Older       string
	Newest      string
}

// WatchFormView corrects a watch's particulars.
type WatchFormView struct {
	Title, Action, Back             string
	InShop                          string
	Form                            Form
	Lumes, Windings, Crowns         []Option
	Calibres, CaseMaterials, Straps []string
	Theirs                          []Difference
}

// lede says where a correction will be told.
func (v WatchFormView) lede() string {
	if v.InShop == "" {
		return ""
	}
	return "The watch is in the shop: the journal of docket " + v.InShop + " will tell of the correction, and its hazards are worked out anew."
}

func (v CustomersView) rows() []Row {
	rows := make([]Row, len(v.Customers))
	for i, c := range v.Customers {
		open := ""
		if c.Open > 0 {
			open = itoa(c.Open)
		}
		rows[i] = Row{Head: true, TestID: "customer-row", Cells: []Cell{{Text: c.Name, Href: c.Href, Auto: true}, Txt(c.Phone), Txt(c.Email), Txt(open)}}
	}
	return rows
}

func (v CustomerView) watchRows() []Row {
	rows := make([]Row, len(v.Watches))
	for i, w := range v.Watches {
		last := Txt("none")
		if w.Docket != "" {
			last = Lnk(w.Docket, DocketURL(w.Docket, ""))
			last.Note = when(w.InShop, "in the shop")
		}
		rows[i] = Row{Head: true, TestID: "watch-row", Cells: []Cell{{Text: w.Title, Href: w.Href, Auto: true}, Txt(w.Serial), last}}
	}
	return rows
}

// typed gives a field its type, such as "tel" or "email", by which a telephone shows the right keys.
func typed(f Field, kind string) Field {
	f.Type, f.InputMode = kind, kind
	return f
}

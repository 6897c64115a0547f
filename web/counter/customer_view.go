package counter

import "ledgerwheel/web/view"

// customersView is the list of customers, or what a search found.
type customersView struct {
	Query     string
	Customers []customerRow
	TooMany   bool   // the search found more than are shown
	Next      string // address of the next page; "" at the end
	Later     bool   // this is not the first page
	MayTakeIn bool
}

// customerRow is one customer in the list; Open counts the dockets of watches in the shop.
type customerRow struct {
	Href, Name, Phone, Email string
	Open                     int
}

// customerView is one customer's page.
type customerView struct {
	Name      string
	Terms     []view.TermView
	EditURL   string
	TakeInURL string
	MayEdit   bool
	MayTakeIn bool
	Mail      mailView
	Watches   []watchRow
	Dockets   []historyRow
	Older     string // address of older dockets; "" when there are none
	Newest    string // address of the newest; "" when they are shown

	Alike    []alikeRow // records that may be of the same person
	MergeURL string     // "" for those who may not merge
	Merges   []mergeLine
	Erasure  []string // what was erased and what stays, a sentence each; nil where nothing was
	Data     []view.LinkView
}

// alikeRow is a record that may be of the same person, and where both are laid side by side.
type alikeRow struct{ Name, Why, Href string }

// mergeLine says what was merged into the record, and how both read before.
type mergeLine struct {
	When, Why string
	Was       []difference // Theirs the kept record's, Mine the other's
}

// watchRow is one watch of a customer, with the docket opened for it last.
type watchRow struct {
	Href, Title, Serial, Docket string
	InShop                      bool
}

// customerFormView corrects a customer.
type customerFormView struct {
	Form         view.Form
	Action, Back string
	Contacts     []view.Option
	Tongues      []view.Option
	Theirs       []difference // nil unless somebody else saved meanwhile
}

// firm unfolds what is said of firms.
func (v customerFormView) firm() bool {
	return v.Form.Values.Get("firm") != "" || v.Form.Values.Get("tax_number") != "" || v.Form.Problems["tax_number"] != ""
}

// difference is a particular of which two people said different things.
type difference struct{ Label, Theirs, Mine string }

// watchView is one watch's page.
type watchView struct {
	Title       string
	Terms       []view.TermView
	Calibre     string // figures of its calibre, when that is in the shop's list
	Customer    string
	CustomerURL string
	EditURL     string
	TakeInURL   string
	MayEdit     bool
	MayTakeIn   bool
	InShop      string // docket under which it is in the shop; "" when it is not
	Dockets     []historyRow
	Older       string
	Newest      string
}

// watchFormView corrects a watch's particulars.
type watchFormView struct {
	Title, Action, Back             string
	InShop                          string
	Form                            view.Form
	Lumes, Windings, Crowns         []view.Option
	Calibres, CaseMaterials, Straps []string
	Theirs                          []difference
}

// lede says where a correction will be told.
func (v watchFormView) lede() string {
	if v.InShop == "" {
		return ""
	}
	return "The watch is in the shop: the journal of docket " + v.InShop +
		" will tell of the correction, and its hazards are worked out again."
}

func (v customersView) rows() []view.Row {
	rows := make([]view.Row, len(v.Customers))
	for i, c := range v.Customers {
		open := ""
		if c.Open > 0 {
			open = view.Itoa(c.Open)
		}
		rows[i] = view.Row{Head: true, TestID: "customer-row", Cells: []view.Cell{{Text: c.Name, Href: c.Href, Auto: true},
			view.Txt(c.Phone), view.Txt(c.Email), view.Txt(open)}}
	}
	return rows
}

func (v customerView) watchRows() []view.Row {
	rows := make([]view.Row, len(v.Watches))
	for i, w := range v.Watches {
		last := view.Txt("none")
		if w.Docket != "" {
			last = view.Lnk(w.Docket, view.DocketURL(w.Docket, ""))
			last.Note = view.When(w.InShop, "in the shop")
		}
		rows[i] = view.Row{Head: true, TestID: "watch-row", Cells: []view.Cell{{Text: w.Title, Href: w.Href, Auto: true},
			view.Txt(w.Serial), last}}
	}
	return rows
}

// typed gives a field its type, such as "tel" or "email", by which a telephone shows the right keys.
func typed(f view.Field, kind string) view.Field {
	f.Type, f.InputMode = kind, kind
	return f
}

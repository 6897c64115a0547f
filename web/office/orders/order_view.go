package orders

import "ledgerwheel/web/view"

// orderView is one order.
type orderView struct {
	ID, URL, Number, Version, Seen, Supplier, Phone, Stage, Currency, Note, Total string
	Mark                                                                          view.MarkKind
	Drafted, Sent, MayOrder, MayReceive                                           bool
	Went                                                                          string // how and when it went out
	Refused                                                                       string // what the mail server said; "" for not
	LateWords                                                                     string
	Problems                                                                      map[string]string
	Failed                                                                        string               // the form that was refused
	Form                                                                          map[string]view.Form // by their names
	Lines                                                                         []lineRow
	LineOptions, AllLines, CameLines                                              []view.Option // those still to come, all, and those of which pieces came
	CameAges                                                                      bool          // one of the last is kept in lots
	Kept                                                                          []view.Option // what lies aside, until the supplier says
	Ways                                                                          []view.Option
	Waiting                                                                       []waitingView
	Happened                                                                      []happenedRow
}

type lineRow struct {
	ID, Part, Number, Pieces, Cost, Came, ToCome, Due, Docket string
	Notes                                                     []string
	Open, Late, Ages, Stock                                   bool
}

// waitingView is a docket that waits for parts of the order.
type waitingView struct {
	Docket, Watch, Customer, Promised, Words, Version string
	Proposes                                          bool // another day than the promised one
	Past                                              bool // the parts come no earlier than the promised day
	May, Failed                                       bool
	Form                                              view.Form
	Tell                                              view.TellView
}

type happenedRow struct{ At, What, By string }

// toCome reports whether pieces are still to come.
func (v orderView) toCome() bool { return len(v.LineOptions) > 0 }

func (v orderView) table() view.DataView {
	d := view.DataView{TableView: view.TableView{Caption: "Lines", HideCaption: true, TestID: "lines"}, Stack: true,
		Columns: []view.Column{{Text: "Part"}, {Text: "For"}, {Text: "Unit price", Numeric: true}, {Text: "Ordered", Numeric: true}, {Text: "Came", Numeric: true}, {Text: "To come"}}}
	for _, l := range v.Lines {
		part := view.Cell{Text: l.Part, Auto: true, Note: l.Number}
		waits := view.Txt("the drawer")
		switch {
		case l.Docket != "":
			waits = view.Cell{Text: l.Docket, Code: true, Href: view.DocketURL(l.Docket, "parts")}
		case !l.Stock:
			waits = view.Txt("the shop")
		}
		came := view.Cell{Text: l.Came}
		for i, n := range l.Notes {
			if i > 0 {
				came.Note += ", "
			}
			came.Note += n
		}
		toCome := view.Txt("–")
		if l.Open {
			toCome = view.Cell{Text: l.ToCome, Note: l.Due}
			if l.Late {
				toCome = view.Cell{Text: l.ToCome + ", " + l.Due, Mark: view.Fail}
			}
		}
		d.Rows = append(d.Rows, view.Row{Head: true, TestID: "line", Cells: []view.Cell{part, waits, view.Txt(l.Cost), view.Txt(l.Pieces), came, toCome}})
	}
	return d
}

func (v orderView) happenedTable() view.DataView {
	d := view.DataView{TableView: view.TableView{Caption: "What happened", HideCaption: true, TestID: "happened"}, Stack: true,
		Columns: []view.Column{{Text: "When"}, {Text: "What"}, {Text: "By"}}}
	for _, h := range v.Happened {
		d.Rows = append(d.Rows, view.Row{Head: true, TestID: "event", Cells: []view.Cell{view.Txt(h.At), {Text: h.What, Auto: true}, view.Txt(h.By)}})
	}
	return d
}

// lineField is a field of a line of the draft.
func (v orderView) lineField(l lineRow, name, label string) view.Field {
	f := v.Form[formDraft].Field("line-"+l.ID+"."+name, label)
	return f
}

// named gives a field of one form an id that no other form of the page has.
func (v orderView) named(form, name, label string) view.Field {
	f := v.Form[form].Field(name, label)
	f.ID = form + "-" + name
	if v.Failed == form {
		f.ID = "" // what is refused is found by its name
	}
	return f
}

func (v orderView) open(form string) bool { return v.Failed == form }

func (w waitingView) promisedField() view.Field {
	f := w.Form.Field("promised_on", "Promised for").WithWidth(view.Half)
	if !w.Failed {
		f.ID = "docket-" + w.Docket + "-promised"
	}
	return f.WithAttr("data-testid", "promised-"+w.Docket)
}

var saidKinds = []view.Option{{Value: "confirmed", Text: "Confirmed: it comes on the day below"}, {Value: "back-ordered", Text: "Back order: they have none now", Hint: "The day is empty where none is named."},
	{Value: "cancelled", Text: "Called off: pieces are not to come", Hint: "What a docket needs of them is to be ordered again."}}

var settledFates = []view.Option{{Value: "sent-back", Text: "sent back"}, {Value: "drawer", Text: "put into the drawer, as a part of the catalogue"}}

var fates = []view.Option{{Value: "sent-back", Text: "sent back"}, {Value: "kept", Text: "kept aside, until the supplier says"}, {Value: "drawer", Text: "put into the drawer, as a part of the catalogue"}}

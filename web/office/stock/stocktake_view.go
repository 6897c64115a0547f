package stock

import "ledgerwheel/web/view"

// stocktakeView is the stocktake under way.
type stocktakeView struct {
	Under          bool
	Begun          string
	Counted, All   int // parts
	Label, Unknown string
	Drawer         *drawerView // whose label was scanned; nil for none
	Next, NextURL  string      // the first by its place that was not counted
	Differ         []differView
	Lately         []string
	Problems       map[string]string
}

// drawerView is a drawer being counted.
type drawerView struct {
	Form                         view.Form
	ID, Title, Drawer, Unit, Seq string
	Lots                         []drawerLot
	Counted                      bool
}

type drawerLot struct{ ID, Label string }

// differView is a difference that waits to be explained.
type differView struct {
	ID, Title, Said, By, AgainURL string
	Form                          view.Form
}

func (v stocktakeView) lede() string {
	if !v.Under {
		return "Drawer by drawer: scan its label, or type its number, and count. Nothing is booked before a difference is explained."
	}
	return view.Itoa(v.Counted) + " of " + view.Itoa(v.All) + " parts are counted. " + v.Begun
}

func (d drawerView) field(i int, l drawerLot) view.Field {
	f := d.Form.Field("counted."+l.ID, l.Label).Need().WithUnit(d.Unit).WithWidth(view.Third)
	f.Focus = i == 0
	return f
}

func (d drawerView) over() string {
	if d.Drawer == "" {
		return "Drawer"
	}
	return "Drawer " + d.Drawer
}

func (v stocktakeView) scan() view.Field {
	f := view.Field{Name: "label", Label: "Label or number", Hint: "scan the next label"}
	f.Focus = v.Drawer == nil && len(v.Problems) == 0
	return f.WithAttr("autocomplete", "off").WithAttr("spellcheck", "false").WithAttr("autocapitalize", "characters")
}

func (d differView) why() view.Field {
	f := d.Form.Field("why", "Why it differs").Need().WithHint("or that nobody knows").WithAttr("dir", "auto")
	if len(d.Form.Problems) == 0 {
		f.ID = "why-" + d.ID
	}
	return f
}

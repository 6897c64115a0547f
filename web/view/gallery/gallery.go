// Package gallery is the pattern book: pages that show every component of web/view together, with invented
// content. Its test opens them in a browser, and pictures them when told where:
//
//	GALLERY_SHOTS=/some/folder go test ./web/view/gallery
//
// The program itself doesn't import it.
package gallery

import (
	"net/url"

	"github.com/a-h/templ"

	"ledgerwheel/web/view"
)

// Pages are the pattern book's pages by path.
func Pages(theme view.Theme) map[string]templ.Component {
	return map[string]templ.Component{
		"/today":      todayPage(page("Today", theme)),
		"/docket":     docketPage(page("26-00143-K", theme)),
		"/intake":     intakePage(page("Take in", theme), refused()),
		"/regulation": regulationPage(page("Regulation", theme)),
		"/marks":      marksPage(page("Marks", theme)),
		"/listening":  listeningPage(page("Listening", theme)),
		"/at-bench":   atBenchPage(page("At the bench", theme)),
		"/bench":      benchPage(page("Bench tools", theme)),
		"/customer":   customerPage(view.Page{Title: "Your watch", Shop: shop, Theme: theme}),
		"/sign-in":    signInPage(view.Page{Title: "Sign in", Shop: shop, Theme: theme}),
		"/rtl":        rtlPage(rtl(theme)),
		"/papers":     papersPage(paper(theme, "Warranty card")),
	}
}

const shop = "Tern Quay Watch Works"

func page(title string, theme view.Theme) view.Page {
	return view.Page{Title: title, Shop: shop, Theme: theme, Path: "/today",
		Nav: []view.NavItem{
			{Text: "Today", Href: "/today", Current: title == "Today", Count: 3},
			{Text: "Dockets", Href: "/docket", Current: title == "26-00143-K" || title == "Regulation"},
			{Text: "Take in", Href: "/intake", Current: title == "Take in"},
			{Text: "Customers", Href: "/customers"},
			{Text: "Bench tools", Href: "/marks", Current: title == "Marks"},
			{Text: "Owner", Href: "/owner"},
		},
		Find: &view.Find{},
		Who:  &view.Who{Name: "Odile Marchbank", Role: "watchmaker", Href: "/me"},
	}
}

func rtl(theme view.Theme) view.Page {
	p := page("Today", theme)
	p.Lang, p.Dir = "ar", "rtl"
	return p
}

func paper(theme view.Theme, heading string) view.PrintView {
	return view.PrintView{Page: view.Page{Title: heading, Shop: shop, Theme: theme}, Heading: heading,
		BackHref: "/docket", PDF: &view.LinkView{Text: "As PDF", Href: "/card.pdf"}}
}

// refused is an intake form as it comes back with three fields to mend.
func refused() view.Form {
	return view.Form{
		Values: url.Values{"name": {"Ńína O’Brien-Çelik"}, "phone": {"0555 12"}, "declared": {"about 900"},
			"service": {"full"}, "wants": {"strap", "photos"},
			"complaint": {"Stops on the night stand, dial up. Runs in the pocket."}},
		Problems: map[string]string{"phone": "Give the phone number with its area code.",
			"declared": "Give an amount in francs, digits only.", "service": "Choose what the customer wants done."},
	}
}

var stages = []string{"Intake", "Diagnosis", "Estimate", "Parts", "Service", "Regulation", "Final test", "Ready",
	"Handed over"}

func rail(now int) view.RailView {
	r := view.RailView{Watch: view.StageView{Name: "Watch", Href: "#o"}, Journal: view.StageView{Name: "Journal", Href: "#j"},
		Within: []view.TabView{{Text: "Readings", Href: "#r", Current: true, TestID: "within-r"},
			{Text: "Advice", Href: "#a", TestID: "within-a"}}}
	for i, name := range stages {
		s := view.StageView{Name: name, State: view.StageNext, Href: "#s" + view.Itoa(i), Current: i == now}
		switch {
		case i < now:
			s.State = view.StageDone
		case i == now:
			s.State = view.StageNow
		}
		r.Stages = append(r.Stages, s)
	}
	return r
}

func declined() view.RailView {
	r := rail(3)
	r.Stages[3].State = view.StageSkipped
	r.Exit = &view.ExitView{Name: "Declined", Note: "6 November: goes back unrepaired."}
	return r
}

func positions() []view.PositionView {
	return []view.PositionView{{Symbol: "CH", Words: "dial up"}, {Symbol: "FH", Words: "dial down"},
		{Symbol: "3H", Words: "crown up"}, {Symbol: "6H", Words: "crown left"},
		{Symbol: "9H", Words: "crown down"}, {Symbol: "12H", Words: "crown right"}}
}

func figures() []view.FigureView {
	return []view.FigureView{
		{Label: "Mean rate", Value: "+3.2", Uncertainty: "0.6", Unit: "s/d", Mark: view.Pass, Note: "limit −2 to +6"},
		{Label: "Delta, six positions", Value: "11.4", Uncertainty: "0.9", Unit: "s/d", Mark: view.Undecided,
			Note: "limit 12"},
		{Label: "Amplitude, dial up", Value: "291", Uncertainty: "4", Unit: "°", Mark: view.Pass, Note: "at least 270"},
		{Label: "Beat error, worst", Value: "0.9", Uncertainty: "0.1", Unit: "ms", Mark: view.Fail, Note: "limit 0.6"},
		{Label: "Isochronism", Value: "–", Unit: "s/d", Mark: view.NotMeasured, Note: "needs the 24 h readings"},
	}
}

func waiting() view.DataView {
	row := func(no, watch, customer, waits, due string, m view.MarkKind, word string) view.Row {
		return view.Row{Head: true, Cells: []view.Cell{{Text: no, Href: "/docket", Code: true},
			{Text: watch, Note: "serial 40 112 86"},
			{Text: customer, Auto: true}, view.Txt(waits), {Mark: m, Text: word}, view.Txt(due)}}
	}
	rows := []view.Row{
		row("26-00143-K", "Halloran & Pike Estuary", "Ńína O’Brien-Çelik", "Bench: Odile", "28 Nov", view.Undecided,
			"undecided"),
		row("26-00139-2", "Vessel Tidemaster 36", "נועה בן־דוד", "Part arriving", "1 Dec", view.NotMeasured, "not measured"),
		row("26-00131-Q", "Corvane Observatory", "Θεοδώρα Παππά", "Customer’s answer", "3 Dec", view.Fail, "fail"),
		row("26-00127-8", "Saltby Clock Guild pocket watch", "Wilhelmina Achterberg", "Collection", "today", view.Pass,
			"pass"),
	}
	rows[0].Now = true
	return view.DataView{TableView: view.TableView{Caption: "On your bench"}, Stack: true, Rows: rows,
		Columns: []view.Column{{Text: "Docket"}, {Text: "Watch"}, {Text: "Customer"}, {Text: "Waits for"}, {Text: "Last run"},
			{Text: "Promised", Numeric: true}}}
}

func prices() view.DataView {
	row := func(what, hours, price string) view.Row {
		return view.Row{Head: true, Cells: []view.Cell{view.Txt(what), view.Txt(hours), view.Txt(price)}}
	}
	return view.DataView{TableView: view.TableView{Caption: "Estimate, revision 2"},
		Columns: []view.Column{{Text: "Work"}, {Text: "Time", Unit: "h", Numeric: true}, {Text: "Unit price", Unit: "CHF",
			Numeric: true}},
		Rows: []view.Row{row("Full service", "4.0", "480.00"), row("Mainspring", "", "36.50"), row("Balance staff, turned",
			"2.5", "300.00")},
		Foot: []view.Row{row("To pay", "6.5", "816.50")}}
}

func journal() []view.EntryView {
	return []view.EntryView{
		{Seq: "14", Hash: "9c41 e07d", At: "24 Nov, 14:05", Datetime: "2026-11-24T14:05:00Z", Who: "Odile Marchbank",
			Summary: "Run “after adjustment 2” kept: six positions at full wind.",
			Facts:   []view.TermView{view.Term("Instrument", "Bench recorder 2"), view.Term("Temperature", "22.5 °C")}},
		{Seq: "13", Hash: "1f00 2ab8", At: "24 Nov, 11:40", Datetime: "2026-11-24T11:40:00Z", Who: "Odile Marchbank",
			Summary: "Stage moved from service to regulation. The watch lies on bench 2."},
		{Seq: "12", Hash: "77d2 90ce", At: "19 Nov, 09:12", Datetime: "2026-11-19T09:12:00Z", Who: "Piet Lansdowne",
			Summary: "Revision 2 of the estimate approved at the counter.", Why: "“Please keep the old mainspring for me.”"},
	}
}

func marks() []view.OutlineMark {
	return []view.OutlineMark{
		{Part: view.PartDial, Kind: "stain", KindText: "Stain", Note: "by the 4", X: 0.57, Y: 0.56, Placed: true},
		{Part: view.PartCrystal, Kind: "scratch", KindText: "Scratch", Note: "hairline, near the edge", X: 0.30, Y: 0.44,
			Placed: true},
		{Part: view.PartCase, Kind: "dent", KindText: "Dent", Note: "lower left lug", X: 0.345, Y: 0.70, Placed: true},
		{Part: view.PartBracelet, Kind: "worn", KindText: "Worn"},
	}
}

func kinds() []view.Option {
	return []view.Option{{Value: "scratch", Text: "Scratch"}, {Value: "dent", Text: "Dent"}, {Value: "chip", Text: "Chip"},
		{Value: "crack", Text: "Crack"}, {Value: "stain", Text: "Stain"}, {Value: "worn", Text: "Worn"},
		{Value: "missing", Text: "Missing"}}
}

func photos() []view.PhotoView {
	return []view.PhotoView{
		{Thumb: "/photo.svg", Full: "/photo.svg", Alt: "Dial with a stain by the four", Caption: "Dial, as received",
			Width: 320, Height: 240},
		{Thumb: "/photo.svg", Full: "/photo.svg", Alt: "Case back with light scratches", Caption: "Case back", Width: 320,
			Height: 240},
		{Thumb: "/photo.svg", Full: "/photo.svg", Alt: "Crown side", Width: 320, Height: 240},
	}
}

// cell is one number of the regulation grid.
func cell(symbol, column, value, problem string) view.NumberCell {
	return view.NumberCell{Name: column + "-" + symbol, Value: value, Error: problem,
		RowID: "pos-" + symbol, ColumnID: "col-" + column}
}

var gridValues = map[string][6]string{
	"rate-0":  {"+5", "+4", "-2", "+1", "+6", "-5"},
	"amp-0":   {"291", "288", "262", "265", "259", "266"},
	"beat-0":  {"0.2", "0.2", "0.4", "0.9", "0.3", "0.4"},
	"rate-24": {"+2", "+1", "", "", "", ""},
	"amp-24":  {"252", "249", "", "", "", ""},
	"beat-24": {"0.2", "0.3", "", "", "", ""},
}

var gridColumns = []string{"rate-0", "amp-0", "beat-0", "rate-24", "amp-24", "beat-24"}

func columnName(column string) string {
	return map[byte]string{'r': "Rate", 'a': "Amplitude", 'b': "Beat error"}[column[0]]
}

func columnUnit(column string) string {
	return map[byte]string{'r': "s/d", 'a': "degrees", 'b': "ms"}[column[0]]
}

func signInField(name, label, kind string) view.Field {
	f := view.Form{}.Field(name, label).Need()
	f.Type = kind
	return f.WithAutocomplete(map[string]string{"email": "username", "password": "current-password"}[kind])
}

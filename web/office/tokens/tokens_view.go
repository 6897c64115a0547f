package tokens

import "ledgerwheel/web/view"

// tokensView is the owner's page of access tokens.
type tokensView struct {
	Form     view.Form
	Scopes   []view.Option
	Bench    []view.Option
	Tokens   []tokenRow
	Made     madeView
	Document string // where the API is described
}

// madeView is a token that was just made; Link says that Secret is the address of a calendar.
type madeView struct {
	Name, Secret string
	Link         bool
}

type tokenRow struct {
	ID                                  int64
	Name, Does, Hint, Made, Used, State string
	Serves                              bool
}

func (t tokenRow) endURL() string { return "/tokens/" + view.Itoa(int(t.ID)) + "/end" }

func (m madeView) title() string {
	if m.Link {
		return "The calendar’s private link. It is shown this once."
	}
	return "The token. It is shown this once."
}

func (m madeView) text() string {
	if m.Link {
		return "Give it to your calendar as the address of a calendar to subscribe to. Whoever has it sees which watches are promised when, and no customer."
	}
	return "Put it into the other program’s settings. Whoever has it may do what it may do, so treat it like a password."
}

func (v tokensView) table() view.DataView {
	d := view.DataView{TableView: view.TableView{Caption: "Access tokens", HideCaption: true}, Stack: true,
		Columns: []view.Column{{Text: "For"}, {Text: "Made"}, {Text: "Last used"}, {Text: "State"}, {Text: "End", Hide: true}}}
	for _, t := range v.Tokens {
		end := view.Txt("")
		if t.Serves {
			end = view.Show(endForm(t))
		}
		d.Rows = append(d.Rows, view.Row{Head: true, TestID: "token", Cells: []view.Cell{{Text: t.Name, Note: t.Does, Auto: true},
			{Text: t.Made, Note: t.Hint}, view.Txt(t.Used), view.Txt(t.State), end}})
	}
	return d
}

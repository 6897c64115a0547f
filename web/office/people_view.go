package office

import "ledgerwheel/web/view"

// staffView is the owner's page of people. Link is a link that was just made, shown this once.
type staffView struct {
	Form      view.Form
	People    []staffMember
	Roles     []view.Option
	Table     []permissionRow
	Link      string
	LinkHours int
}

// staffMember is one person of the list. Self is whoever looks.
type staffMember struct {
	ID                                int64
	Name, Email, Role, RoleKey, State string
	Disabled, Self                    bool
}

func (m staffMember) url(what string) string { return "/staff/" + view.Itoa(int(m.ID)) + "/" + what }

// permissionRow is one line of the table of what each role may do; Held is in the order of the roles.
type permissionRow struct {
	Words string
	Held  []bool
}

// joinView is the page behind an invitation.
type joinView struct {
	Form                view.Form
	Name, Email, Action string
}

// accountView is a person's own page.
type accountView struct {
	Form              view.Form
	Name, Email, Role string
	May               []string
}

func (v staffView) roleColumns() []view.Column {
	columns := []view.Column{{Text: "May"}}
	for _, r := range v.Roles {
		columns = append(columns, view.Column{Text: r.Text})
	}
	return columns
}

func (v staffView) roleRows() []view.Row {
	var rows []view.Row
	for _, p := range v.Table {
		row := view.Row{Head: true, Cells: []view.Cell{view.Txt(p.Words)}}
		for _, held := range p.Held {
			text := "no"
			if held {
				text = "yes"
			}
			row.Cells = append(row.Cells, view.Txt(text))
		}
		rows = append(rows, row)
	}
	return rows
}

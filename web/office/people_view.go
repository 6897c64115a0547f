package view

// StaffView is the owner's page of people. Link is a link that was just made, shown this once.
type StaffView struct {
	Form      Form
	People    []StaffMember
	Roles     []Option
	Table     []PermissionRow
	Link      string
	LinkHours int
}

// StaffMember is one person of the list. Self is whoever looks.
type StaffMember struct {
	ID                                int64
	Name, Email, Role, RoleKey, State string
	Disabled, Self                    bool
}

func (m StaffMember) url(what string) string { return "/staff/" + itoa(int(m.ID)) + "/" + what }

// PermissionRow is one line of the table of what each role may do; Held is in the order of the roles.
type PermissionRow struct {
	Words string
	Held  []bool
}

// JoinView is the page behind an invitation.
type JoinView struct {
	Form                Form
	Name, Email, Action string
}

// AccountView is a person's own page.
type AccountView struct {
	Form              Form
	Name, Email, Role string
	May               []string
}

func (v StaffView) roleColumns() []Column {
	columns := []Column{{Text: "May"}}
	for _, r := range v.Roles {
		columns = append(columns, Column{Text: r.Text})
	}
	return columns
}

func (v StaffView) roleRows() []Row {
	var rows []Row
	for _, p := range v.Table {
		row := Row{Head: true, Cells: []Cell{Txt(p.Words)}}
		for _, held := range p.Held {
			text := "no"
			if held {
				text = "yes"
			}
			row.Cells = append(row.Cells, Txt(text))
		}
		rows = append(rows, row)
	}
	return rows
}

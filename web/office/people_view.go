package office

import (
	"strings"

	"ledgerwheel/web/view"
)

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
	Disabled, Self, Second            bool
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
	Slash             bool // the key "/" leads to the find box
	Form              view.Form
	Name, Email, Role string
	May               []string
}

// people sets each person as a small card on a phone, so that no button lies off the screen.
func (v staffView) people() view.DataView {
	d := view.DataView{TableView: view.TableView{Caption: "Staff of the shop", HideCaption: true}, Stack: true,
		Columns: []view.Column{{Text: "Name"}, {Text: "Role"}, {Text: "State"}, {Text: "Change", Hide: true}}}
	for _, m := range v.People {
		d.Rows = append(d.Rows, view.Row{Head: true, TestID: "member", Cells: []view.Cell{view.Show(memberName(m)),
			view.Txt(m.Role), view.Show(memberState(m)), view.Show(memberChanges(m, v.Roles))}})
	}
	return d
}

// permissions says of each act who may do it, in two columns that fit any screen.
func (v staffView) permissions() view.DataView {
	d := view.DataView{TableView: view.TableView{Caption: "What each role may do", HideCaption: true, Dense: true},
		Columns: []view.Column{{Text: "May"}, {Text: "Who"}}}
	for _, p := range v.Table {
		var who []string
		for i, held := range p.Held {
			if held && i < len(v.Roles) {
				who = append(who, v.Roles[i].Text)
			}
		}
		words := strings.Join(who, ", ")
		if len(who) == len(v.Roles) {
			words = "all"
		}
		d.Rows = append(d.Rows, view.Row{Head: true, Cells: []view.Cell{view.Txt(p.Words), view.Txt(words)}})
	}
	return d
}

// slashField asks whether the key "/" is to lead to the find box.
func slashField(on bool) view.Field {
	f := view.Form{}.Field("slash", "The key / goes to the find box").WithHint("Unless you are typing into a field.")
	return f.WithValue(view.When(on, "yes"))
}

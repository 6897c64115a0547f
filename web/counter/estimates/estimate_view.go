package estimates

import (
	"cmp"
	"strconv"
	"strings"

	"ledgerwheel/web/priced"
	"ledgerwheel/web/view"
)

// estimateView is the estimate sheet of a docket.
type estimateView struct {
	Form      view.Form
	Limit     string // up to which amount the customer need not be asked, in words
	Editor    *editorView
	Standing  *priced.RevisionView // shown for reading
	Call      []view.TermView      // what is kept of a call in which it was answered
	Answers   []answerView         // the forms of an answer, at the counter and by telephone
	SendURL   string               // of sending the draft shown, for those who can't price it
	Tell      view.TellView        // of that sending
	ReviseURL string               // of a new revision from the last
	Link      *linkPanel
	History   []revisionRow
}

// editorView is the draft as it is being typed.
type editorView struct {
	Form        view.Form
	Number      string
	Saved       bool // the record has this draft
	Suggested   bool
	Rows        []lineRow
	Totals      []priced.TotalRow
	TotalSaid   string // the total in figures and in words
	Unread      bool   // some line can't be read yet and is left out of the totals
	Beware      string // that a covered comeback is charged for all the same
	Within      bool   // the total lies within the approval limit
	Note        string
	ValidUntil  string
	IncludesTax bool
	Currency    string
	TaxName     string
	Kinds       []view.Option
	MayDiscard  bool
	Jobs        []string      // of the price list, as they are chosen
	Tell        view.TellView // of sending it; the zero value for those who may not
}

// lineRow is a line as typed; Amount is what it comes to, where it can be read.
type lineRow struct {
	Index                                           int
	Kind, Description, Quantity, UnitPrice, TaxRate string
	Optional                                        bool
	Amount                                          string
	Part                                            string // the id of the part of the catalogue; "" for none
	Linked                                          bool   // to it: the line is a part's
}

// answerView is a form of the customer's answer, as it came.
type answerView struct {
	By, Heading, Revision string
	Open                  bool
	Decision, Name, Note  view.Field
	LeaveOut              *view.Field  // lines that may be left out; nil for none
	Call                  []view.Field // what is asked of a call; none at the counter
	Added                 view.Field
	Tell                  view.TellView
}

// testID tells the parts of the form on the telephone from those at the counter.
func (a answerView) testID(name string) string {
	if len(a.Call) == 0 {
		return name
	}
	return name + "-" + a.By
}

// revisionRow is a line of the history.
type revisionRow struct {
	Number, State, Total, Made, Sent, Answer, PaperURL string
}

// linkPanel is the private link as the shop hands it out. Address is "" when none serves.
type linkPanel struct {
	URL              string // of making and ending it
	Address, QR      string
	Message, MailURL string
	Until, Made      string
	Ended            string // why the last one no longer serves
}

func (r lineRow) name(field string) string { return "lines." + strconv.Itoa(r.Index) + "." + field }

// field is one field of a line. Its label is read with the line's number; on wide screens the column's heading
// stands in for it.
func (e editorView) field(r lineRow, field, label, value string) view.Field {
	f := e.Form.Field(r.name(field), label)
	f.Value, f.Values = value, nil
	return f
}

// order is that of the fields, for the summary of problems.
func (e *editorView) order() []string {
	names := []string{"", "decision", "name", "leave_out", "agreed_on", "agreed_time", "number", "called_by", "added", "agreed_total", "tell", "tell_own", "lines"}
	if e != nil {
		for _, r := range e.Rows {
			for _, field := range []string{"kind", "description", "quantity", "unit_price", "tax_rate", "optional"} {
				names = append(names, r.name(field))
			}
		}
	}
	return append(names, "job", "valid_until", "note")
}

// summary is what is to be mended, each with the number of its line.
func (v estimateView) summary() map[string]string {
	said := map[string]string{}
	for name, why := range v.Form.Problems {
		if rest, ok := strings.CutPrefix(name, "lines."); ok {
			if i, err := strconv.Atoi(rest[:strings.IndexByte(rest+".", '.')]); err == nil {
				why = "Line " + view.Itoa(i+1) + ": " + why
			}
		}
		said[name] = why
	}
	return said
}

func historyTable(rows []revisionRow) view.DataView {
	d := view.DataView{TableView: view.TableView{Caption: "Revisions of the estimate", HideCaption: true,
		TestID: "history"}, Stack: true,
		Columns: []view.Column{{Text: "Revision"}, {Text: "State"}, {Text: "Total", Numeric: true}, {Text: "Made"},
			{Text: "Sent"}, {Text: "Answer"}, {Text: "Paper"}}}
	for _, r := range rows {
		cells := []view.Cell{view.Txt(r.Number), view.Txt(r.State), view.Txt(r.Total), {Text: r.Made, Auto: true},
			{Text: cmp.Or(r.Sent, "–"), Auto: true}, {Text: cmp.Or(r.Answer, "–"), Auto: true}, view.Txt("–")}
		if r.PaperURL != "" {
			cells[6] = view.Lnk("Print", r.PaperURL)
		}
		d.Rows = append(d.Rows, view.Row{Head: true, TestID: "revision", Cells: cells})
	}
	return d
}

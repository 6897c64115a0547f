package words

import "ledgerwheel/web/view"

// messagesView lists what customers are told.
type messagesView struct {
	Form view.Form // of what is told by itself
	Rows []topicRow
}

// topicRow is a message and its words in each language.
type topicRow struct {
	Name, When string
	Words      []wordsLink
}

type wordsLink struct {
	Language, Href string
	Own            bool // the shop's own words stand
}

func (v messagesView) table() view.DataView {
	d := view.DataView{TableView: view.TableView{Caption: "Messages", HideCaption: true, TestID: "messages"}, Stack: true,
		Columns: []view.Column{{Text: "Message"}, {Text: "Told"}, {Text: "Words"}}}
	for _, row := range v.Rows {
		d.Rows = append(d.Rows, view.Row{Head: true, TestID: "message", Cells: []view.Cell{view.Txt(row.Name), view.Txt(row.When),
			view.Show(wordsLinks(row.Words))}})
	}
	return d
}

// wordsView is the editor of a message's words in a language.
type wordsView struct {
	Form             view.Form
	Action           string
	Topic, When      string
	Language, Stands string
	Own              bool // the shop's own words stand, and can be set back
	Languages        []view.TabView
	Placeholders     []placeholderView
	Dockets          []view.Option
	Preview          *previewView // nil where the words can't stand, or there is no docket
	MayTest          bool         // mail is sent here
	Tested           string       // what came of a test mail; "" for none
	TestTaken        bool
}

// placeholderView is what may be inserted, and what it becomes.
type placeholderView struct{ Written, Words string }

// previewView is the message as it would be written.
type previewView struct{ Subject, Text, Short, Lang string }

func (v wordsView) testMark() view.MarkKind {
	if v.TestTaken {
		return view.Pass
	}
	return view.Fail
}

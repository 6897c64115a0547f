package sheet

import "ledgerwheel/web/view"

// conflictView is the page for whoever came second: what the others changed, what this person typed, and the
// one button that does it all the same.
type conflictView struct {
	Number  string
	Action  string           // where the form was going and goes again
	Version string           // of the docket with every change shown here
	Changes []view.EntryView // oldest first
	More    bool             // further changes follow those shown
	Typed   []view.TermView  // what was filled in, for reading
	Fields  []view.FieldValue
	Files   bool // files were chosen, which a browser doesn't send twice
	Back    view.LinkView
}

// TypedTerm is a line of a definition list that shows text exactly as typed, with its line ends.
func TypedTerm(term, text string) view.TermView {
	return view.TermView{Term: term, Cell: view.Cell{Component: typedText(text)}}
}

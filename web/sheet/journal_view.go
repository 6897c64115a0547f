package sheet

import "ledgerwheel/web/view"

// journalView is a page of a docket's journal, newest entry first.
type journalView struct {
	Entries []view.EntryView
	Sound   bool   // the chain of these entries holds
	Verdict string // says so, or where it breaks
	Pager   view.PagerView
}

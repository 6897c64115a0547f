package view

// JournalView is a page of a docket's journal, newest entry first.
type JournalView struct {
	Entries []EntryView
	Sound   bool   // the chain of these entries holds
	Verdict string // says so, or where it breaks
	Pager   PagerView
}

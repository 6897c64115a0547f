package uncollected

import "ledgerwheel/web/view"

// waitingView is the page of a watch that nobody has collected yet.
type waitingView struct {
	Problems map[string]string
	Days     string // how long it has waited
	Since    string
	Mark     view.MarkKind
	Word     string // how far things are
	Says     string // what the profile asks next
	Next     string // on which day, "" for none
	Profile  string // which profile counts the days, and who confirmed it
	NoAdvice string
	ToSet    *view.LinkView // to where the profile is confirmed

	Letters []letterRow
	Collect *letterForm // nil where no reminder can be written now
	Formal  *letterForm
	Why     string // why none can be
	Blocks  []blockRow
	Block   *blockForm
}

// letterRow is a letter that was written; Post asks for the proof of its posting while there is none.
type letterRow struct {
	Title, Written, Posted string
	Print                  view.LinkView
	Post                   *postForm
}

type postForm struct {
	Notice            string
	On, Number, Photo view.Field
}

type letterForm struct {
	Slug, Heading, Note string
	Fields              []view.Field // the first is the addressee
	Button              view.ButtonView
}

type blockRow struct {
	What, Words, Noted, Lifted string
	ID                         string
	Why                        *view.Field // asks why it no longer stands; nil where it can't be lifted
}

type blockForm struct{ Kind, Words view.Field }

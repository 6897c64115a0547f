package counter

import "ledgerwheel/web/view"

// mailView is what stands against writing to a customer by mail, and what may be changed of it.
type mailView struct {
	Form          view.Form
	Action        string
	Address       bool   // there is one
	Stopped       string // since when they want no mail, "" for they may be written to
	Back, BackWhy string // when mail came back, "" for it did not, and what was said
}

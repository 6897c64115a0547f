package office

import (
	"fmt"

	"ledgerwheel/web/view"
)

// recordView is the owner's page of whether the record is whole.
type recordView struct {
	Checks  standingView
	Checked string   // when and by whom, as a sentence; "" for never
	Words   []string // what was looked at
	Said    []string // the first findings
	More    int64    // findings beyond those
	Failed  string   // why the newest check could not be made; "" where it was
	Earlier []checkLine

	Running     bool
	Done, Total int64 // dockets, of a check under way

	Sealing string    // what stands against the newest seal; "" where nothing does
	Seal    *sealLine // the newest; nil for none
	Folders []string
}

// checkLine is one check of the list.
type checkLine struct {
	When, Who, Failed string
	Findings          int64
}

// sealLine is a seal in short.
type sealLine struct{ Made, Over, Short string }

// next is the step that is to be done now, "" where nothing is.
func (v recordView) next() string {
	switch {
	case v.Running:
		return ""
	case len(v.Said) > 0:
		return "Keep the data folder as it is, restore a backup from before beside it, and compare. Each sentence below says what differs."
	case v.Failed != "":
		return "Put right what stands above, then check again; the program tries by itself in an hour."
	case v.Checks.Alarming:
		return "Check it now. The program also does so by itself every night, or a minute after the next start."
	}
	return ""
}

func (v recordView) progress() string {
	if v.Total == 0 {
		return "A check is under way."
	}
	return fmt.Sprintf("A check is under way: %d of %d dockets.", v.Done, v.Total)
}

func (v recordView) more() string {
	if v.More == 1 {
		return "And 1 more."
	}
	return fmt.Sprintf("And %d more.", v.More)
}

func (v recordView) table() view.DataView {
	d := view.DataView{TableView: view.TableView{Caption: "Checks", HideCaption: true}, Stack: true,
		Columns: []view.Column{{Text: "When"}, {Text: "Found"}, {Text: "Asked for"}}}
	for _, c := range v.Earlier {
		d.Rows = append(d.Rows, view.Row{Head: true, TestID: "earlier-check", Cells: []view.Cell{view.Txt(c.When), c.found(), view.Txt(c.Who)}})
	}
	return d
}

func (c checkLine) found() view.Cell {
	switch {
	case c.Failed != "":
		return view.Cell{Text: "not checked", Mark: view.NotMeasured, Note: c.Failed}
	case c.Findings > 0:
		return view.Cell{Text: "differs", Mark: view.Fail, Note: fmt.Sprintf("%d", c.Findings)}
	}
	return view.Cell{Text: "whole", Mark: view.Pass}
}

// shopJournalView is a page of the shop's own journal, newest entry first.
type shopJournalView struct {
	Entries []view.EntryView
	Pager   view.PagerView
}

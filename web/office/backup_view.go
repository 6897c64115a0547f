package office

import "ledgerwheel/web/view"

// standingView says how far the last proven backup can be relied on. Place is where it lies, "" for none.
type standingView struct {
	Words, Place string
	Alarming     bool
}

// backupsView is the owner's page of backups.
type backupsView struct {
	Standing standingView
	Nightly  string // what is done every night; "" for nothing
	Demo     bool
	Kept     []backupLine
	Failed   []backupLine
}

// backupLine is one backup. Proven is when it was proven, "" for not; Failed says why there is none or why it is not
// proven.
type backupLine struct {
	Made, Place, Size, Proven, Proof, Failed string
	Encrypted                                bool
}

// next is the step that is to be done now, "" where nothing is.
func (v backupsView) next() string {
	switch {
	case v.Demo:
		return "The demo is backed up only by hand, as below."
	case v.Nightly == "":
		return "Start the program with --backup-to and a folder on another disk: it then makes a backup every night, proves it, and " +
			"keeps those of 7 days, 5 weeks and 12 months."
	case v.Standing.Alarming && len(v.Failed) > 0:
		return "See below why the last one failed, and put that right: another is tried within the hour."
	case v.Standing.Alarming:
		return "The first is made in the night, or a minute after the next start."
	}
	return ""
}

// table sets each backup as a small card on a phone.
func (v backupsView) table() view.DataView {
	d := view.DataView{TableView: view.TableView{Caption: "Backups that are kept", HideCaption: true}, Stack: true,
		Columns: []view.Column{{Text: "Made"}, {Text: "Proven"}, {Text: "Size"}, {Text: "Where"}}}
	for _, b := range v.Kept {
		d.Rows = append(d.Rows, view.Row{Head: true, TestID: "backup", Cells: []view.Cell{view.Txt(b.Made), b.proven(), view.Txt(b.Size),
			{Text: b.Place, Auto: true, Note: view.When(b.Encrypted, "Encrypted.")}}})
	}
	return d
}

func (b backupLine) proven() view.Cell {
	if b.Proven != "" {
		return view.Cell{Text: b.Proven, Note: b.Proof}
	}
	if b.Failed != "" {
		return view.Cell{Text: "failed", Mark: view.Fail, Note: "See below."}
	}
	return view.Cell{Text: "not proven", Mark: view.NotMeasured}
}

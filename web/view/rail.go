package view

// StageState says where a stage stands on the rail.
type StageState string

const (
	StageDone    StageState = "done"
	StageNow     StageState = "now"
	StageNext    StageState = "next"
	StageSkipped StageState = "skipped" // passed without stopping, or never to be reached
)

// StageView is one station of the rail: a stage, and the sheet it leads to. Current is the sheet being read.
type StageView struct {
	Name, Href, TestID string
	State              StageState
	Current            bool
}

// RailView is a docket's road through the shop and the way between its sheets. At its ends stand the watch, and what the
// customer was told with the journal; Within are the sheets that belong to the station being read.
type RailView struct {
	Watch, Told, Journal StageView
	Stages               []StageView
	Within               []TabView
	Exit                 *ExitView
}

// ExitView says how a docket left the road ("declined").
type ExitView struct{ Name, Note string }

// stageWord is read after the name, since the drawing can't be.
func (s StageView) stageWord() string {
	switch s.State {
	case StageDone:
		return "done"
	case StageNow:
		return "now"
	case StageSkipped:
		return "not taken"
	}
	return "to come"
}

// TabView is one of a few views of the same thing. Count, when above nought, is how many things wait on it.
type TabView struct {
	Text, Href, TestID string
	Current            bool
	Count              int
}

// EntryView is one journal entry as shown. At is for people, Datetime for machines (RFC 3339).
type EntryView struct {
	Seq          string
	At, Datetime string
	Who          string
	Summary      string
	Why          string
	Facts        []TermView // what exactly was written, folded away
	Hash         string     // shortened
	Href         string
}

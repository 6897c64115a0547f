package view

import "strconv"

// StageState says where a stage stands on the rail.
type StageState string

const (
	StageDone    StageState = "done"
	StageNow     StageState = "now"
	StageNext    StageState = "next"
	StageSkipped StageState = "skipped" // passed without stopping, or never to be reached
)

// StageView is one stage of the rail, in order. Note is small and below: a date, a name.
type StageView struct {
	Name, Note, Href string
	State            StageState
}

// RailView is a docket's road through the shop. Exit, when set, says how it left the road ("declined").
type RailView struct {
	Stages []StageView
	Exit   *StageView
}

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

// whereText is the line that stands in for the labels on narrow screens.
func (r RailView) whereText() string {
	for i, s := range r.Stages {
		if s.State == StageNow {
			return s.Name + ", stage " + strconv.Itoa(i+1) + " of " + strconv.Itoa(len(r.Stages))
		}
	}
	if r.Exit != nil {
		return r.Exit.Name
	}
	return ""
}

// TabView is one sheet of a docket. Count, when above nought, is how many things wait on it.
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

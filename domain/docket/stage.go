// Package docket is the rule book of one watch's stay in the shop: its number, the stages it passes and
// the moves allowed between them, where the watch physically is, and the journal of what happened.
// It is pure: no database, no requests, no clock of its own.
package docket

import "slices"

// Stage is how far a docket has come. The value is the slug kept in the database and used in addresses.
type Stage string

// The stages. Declined and withdrawn are exits: the watch is still in the shop's keeping until it is
// handed back, which closes the docket without changing its stage (see [Docket.Closed]).
const (
	StageIntake     Stage = "intake"
	StageDiagnosis  Stage = "diagnosis"
	StageEstimate   Stage = "estimate"
	StageParts      Stage = "parts"
	StageService    Stage = "service"
	StageRegulation Stage = "regulation"
	StageFinalTest  Stage = "final-test"
	StageReady      Stage = "ready"
	StageHandedOver Stage = "handed-over"
	StageDeclined   Stage = "declined"
	StageWithdrawn  Stage = "withdrawn"
)

// Rail returns the stages of a finished repair in order, as the docket's page shows them.
func Rail() []Stage {
	return []Stage{StageIntake, StageDiagnosis, StageEstimate, StageParts, StageService,
		StageRegulation, StageFinalTest, StageReady, StageHandedOver}
}

// Exits returns the stages in which a watch goes back without the repair being finished.
func Exits() []Stage { return []Stage{StageDeclined, StageWithdrawn} }

// Stages returns every stage: the rail, then the exits.
func Stages() []Stage { return append(Rail(), Exits()...) }

// Known reports whether s is a stage.
func (s Stage) Known() bool { return slices.Contains(Stages(), s) }

// Order is s's place on the rail, from 0; -1 for an exit or an unknown stage.
func (s Stage) Order() int { return slices.Index(Rail(), s) }

// Exit reports whether s is declined or withdrawn.
func (s Stage) Exit() bool { return slices.Contains(Exits(), s) }

// Terminal reports whether no move at all leaves s. Only handed over is terminal by itself; a declined or
// withdrawn docket ends when its watch is handed back.
func (s Stage) Terminal() bool { return s == StageHandedOver }

// Label is s in plain words.
func (s Stage) Label() string {
	switch s {
	case StageFinalTest:
		return "final test"
	case StageHandedOver:
		return "handed over"
	}
	if s.Known() {
		return string(s)
	}
	return "unknown stage"
}

package docket

// TakeInPlaces returns where a watch may be put when it is taken in.
func TakeInPlaces() []PlaceKind { return []PlaceKind{PlaceCounter, PlaceSafe} }

// ConditionOpen reports whether the condition at intake may still be noted or corrected: until diagnosis is done.
// Later the watch has been opened, and what is seen on it then is no longer how it came in.
func (d Docket) ConditionOpen() bool {
	return !d.Closed() && (d.Stage == StageIntake || d.Stage == StageDiagnosis)
}

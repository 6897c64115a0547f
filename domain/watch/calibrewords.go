package watch

import "fmt"

// What is wrong with a change of the list of calibres.
const (
	NameTaken     = "The list has a calibre of this name already."
	SaysSoAlready = "The calibre says so already."
	NoDrawing     = "Say what the drawing shows."
)

// DrawingsProblem says that a calibre with so many drawings takes no more.
func DrawingsProblem(most, kept int) string {
	return fmt.Sprintf("A calibre takes %d drawings; this one has %d.", most, kept)
}

// NoCalibreReason is said where a calibre is corrected without a reason once runs rest on it.
const NoCalibreReason = "Runs were taken with this calibre: say why it is corrected. It stands with the correction."

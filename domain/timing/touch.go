package timing

import (
	"slices"
	"strings"
)

// Touch is something that was touched on the watch before a run. What an adjustment touched says which of the earlier
// readings still hold.
type Touch string

// What an adjustment may touch.
const (
	TouchedRegulator Touch = "regulator"
	TouchedPins      Touch = "pins"
	TouchedSpring    Touch = "spring"
	TouchedPoise     Touch = "poise"
	TouchedBeat      Touch = "beat"
	TouchedCleaned   Touch = "cleaned"
)

// Touches returns what may be touched, in the order of the work.
func Touches() []Touch {
	return []Touch{TouchedCleaned, TouchedBeat, TouchedPins, TouchedSpring, TouchedPoise, TouchedRegulator}
}

// Words says what was touched: "regulator pins".
func (t Touch) Words() string {
	switch t {
	case TouchedCleaned:
		return "cleaned or parts replaced"
	case TouchedBeat:
		return "beat"
	case TouchedPins:
		return "regulator pins"
	case TouchedSpring:
		return "hairspring"
	case TouchedPoise:
		return "poise of the balance"
	}
	return string(t)
}

// TouchedWords says what was touched, in the order of the work: "hairspring, poise of the balance".
func TouchedWords(list []Touch) string {
	var words []string
	for _, t := range Touches() {
		if slices.Contains(list, t) {
			words = append(words, t.Words())
		}
	}
	return strings.Join(words, ", ")
}

// TouchField names the box of the form that says an adjustment touched t.
func TouchField(t Touch) string { return "touched_" + string(t) }

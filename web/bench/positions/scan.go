package positions

import (
	"ledgerwheel/domain/timing"
	"ledgerwheel/web/runs"
)

// A code on the sheet is ScanPrefix and a word, and the scanner types it and presses Enter. The prefix is of letters that
// lie on the same keys of QWERTY, QWERTZ and AZERTY keyboards, so that a scan is known as one even where the scanner is
// set to another keyboard than the machine, and the page can say so.
const (
	scanPrefix = "BENCH"

	scanNext, scanBack, scanKeep = "NEXT", "BACK", "KEEP"
	scanListen, scanUndo         = "LISTEN", "UNDO"
	scanFull, scanDay            = "FULL", "DAY"
	scanTest                     = "TEST"
)

// dayHours is the second state of wind that the sheet has a code for, hours after winding.
const dayHours = 24

// scanWord is what the sheet has a code for.
type scanWord struct {
	Word string
	Says string // beside the code
	Does string
	At   timing.Position // of those that are a position
}

// code is what the bars say.
func (w scanWord) code() string { return scanPrefix + w.Word }

func scanWords(crownHour int) []scanWord {
	words := []scanWord{
		{Word: scanNext, Says: "Next position", Does: "Goes on."},
		{Word: scanBack, Says: "Back", Does: "Goes back."},
		{Word: scanListen, Says: "Listen", Does: "Begins to listen, or stops."},
		{Word: scanUndo, Says: "Undo", Does: "Takes the last act back."},
		{Word: scanFull, Says: "Full wind", Does: "Readings at full wind."},
		{Word: scanDay, Says: "After 24 h", Does: "Readings a day later."},
		{Word: scanKeep, Says: "Keep", Does: "Keeps the run. To a question: yes, it is so."},
		{Word: scanTest, Says: "Test", Does: "Shows whether the scanner is set up."},
	}
	for _, p := range timing.Positions() {
		words = append(words, scanWord{Word: string(p), Says: string(p), Does: runs.PositionView(p, crownHour).Words, At: p})
	}
	return words
}

// wordOfState is the word of a state of wind, "" where the sheet has none.
func wordOfState(hours float64) string {
	switch hours {
	case 0:
		return scanFull
	case dayHours:
		return scanDay
	}
	return ""
}

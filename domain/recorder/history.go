package recorder

import "fmt"

// What a recorder's history says, in sentences.

// AddedWords tell that r was added.
func (r Recorder) AddedWords() string {
	return fmt.Sprintf("Added, usually at %d samples a second.", r.UsualRateHz)
}

// DescribedWords tell what a description anew has changed since before; "" when nothing.
func (r Recorder) DescribedWords(before Recorder) string {
	words := ""
	if before.Note != r.Note {
		words = fmt.Sprintf("Described again; before: “%s”.", before.Note)
		if before.Note == "" {
			words = "Described."
		}
	}
	if before.UsualRateHz != r.UsualRateHz {
		if words != "" {
			words += " "
		}
		words += fmt.Sprintf("Usual rate %d → %d samples a second.", before.UsualRateHz, r.UsualRateHz)
	}
	return words
}

// RetiredWords tell that a recorder was taken out of use.
func RetiredWords(why string) string { return "Taken out of use: " + why }

// UsedWords tell that it is in use again.
const UsedWords = "Put back in use."

// KeptWords tell what a calibration found.
func (c Calibration) KeptWords() string {
	words := fmt.Sprintf("Calibrated, %s: %s.", c.Method.Words(), c.Value().FormatSigned())
	if c.Asked != "" {
		words += " " + c.Asked
	}
	return words
}

// RetiredWords tell that a calibration no longer counts.
func (c Calibration) RetiredWords(why string) string {
	return fmt.Sprintf("Calibration of %s (%s) retired: %s", c.At.Format("2 Jan 2006"), c.Value().FormatSigned(), why)
}

// What is wrong with a recorder that is out of use, and with a name that is taken.
const (
	OutOfUse  = "This recorder is out of use; put it back in use first."
	NameTaken = "There is a recorder of this name already."
)

package service

import (
	"strings"

	"ledgerwheel/domain/oscillator"
)

// replacing are the parts that change what readings mean, as the parts sheet of a docket names them.
var replacing = map[string]oscillator.Work{"hairspring": oscillator.HairspringReplaced,
	"balance spring": oscillator.HairspringReplaced, "mainspring": oscillator.MainspringReplaced,
	"balance staff": oscillator.StaffReplaced}

// PartWork is what a fitted part says to the advice on rates; ok is false for one that says nothing there. A part is told
// by the words its description is, or begins with before a comma or bracket: "Mainspring, automatic" but not "hairspring
// stud".
func PartWork(description string) (w oscillator.Work, ok bool) {
	name, _, _ := strings.Cut(strings.NewReplacer("(", ",", ";", ",", ":", ",").Replace(description), ",")
	w, ok = replacing[strings.ToLower(strings.Join(strings.Fields(name), " "))]
	return w, ok
}

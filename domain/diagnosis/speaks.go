package diagnosis

import (
	"strings"

	"ledgerwheel/domain/oscillator"
)

// speaks is what the usual faults say to one who reads rates; faults that say nothing to the rates are left out.
var speaks = map[Component]map[string]oscillator.Seen{
	Mainspring: {"set": oscillator.SeenMainspring, "tired: too weak": oscillator.SeenMainspring,
		"wrong size fitted": oscillator.SeenMainspring},
	Barrel: {"lubricant dried": oscillator.SeenDirt},
	Train:  {"dirty": oscillator.SeenDirt},
	Jewels: {"dry": oscillator.SeenDirt},
	Escapement: {"dry": oscillator.SeenDirt, "lock too light": oscillator.SeenEscapement,
		"lock too deep": oscillator.SeenEscapement, "pallet stone chipped": oscillator.SeenEscapement,
		"pallet stone loose": oscillator.SeenEscapement, "no draw": oscillator.SeenEscapement,
		"banking pins bent": oscillator.SeenEscapement, "escape tooth damaged": oscillator.SeenEscapement},
	BalanceStaff: {"pivot worn or flat": oscillator.SeenPivots, "pivot bent": oscillator.SeenPivots},
	Hairspring: {"magnetised": oscillator.SeenMagnetised, "coils touch or stick": oscillator.SeenCoilsTouch,
		"out of flat": oscillator.SeenSpringOutOfTrue, "out of true at the collet": oscillator.SeenSpringOutOfTrue,
		"bent at the stud": oscillator.SeenSpringOutOfTrue, "regulator pins too open": oscillator.SeenPinsOpen},
}

// Speaks is what the finding says to the advice on rates; ok is false for one that says nothing there. Free words are
// left to the reader.
func (f Finding) Speaks() (seen oscillator.Seen, ok bool) {
	seen, ok = speaks[f.Component][strings.ToLower(f.Tidied().Fault)]
	return seen, ok
}

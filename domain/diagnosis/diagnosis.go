// Package diagnosis holds what the watchmaker finds wrong with a watch, and
// the hazards that must be acknowledged before it is opened.
package diagnosis

import (
	"slices"
	"strings"

	"ledgerwheel/domain/text"
)

// Component is a group of parts that a finding is about.
type Component string

// The components, from the power source along the train to the outside.
const (
	Mainspring    Component = "mainspring"
	Barrel        Component = "barrel"
	Train         Component = "train"
	Jewels        Component = "jewels"
	Escapement    Component = "escapement"
	BalanceStaff  Component = "balance-staff"
	Hairspring    Component = "hairspring"
	MotionWork    Component = "motion-work"
	DialAndHands  Component = "dial-and-hands"
	CaseAndSeals  Component = "case-and-seals"
	CrownAndStem  Component = "crown-and-stem"
	AutomaticWork Component = "automatic-work"
	Calendar      Component = "calendar"
)

// Components lists every Component in the order a form shows them.
var Components = []Component{
	Mainspring, Barrel, Train, Jewels, Escapement, BalanceStaff, Hairspring, MotionWork,
	DialAndHands, CaseAndSeals, CrownAndStem, AutomaticWork, Calendar,
}

// Words says c in plain words.
func (c Component) Words() string {
	return strings.ReplaceAll(string(c), "-", " ")
}

// usualFaults are offered on the form; other words may be typed.
var usualFaults = map[Component][]string{
	Mainspring: {"set", "broken", "tired: too weak", "wrong size fitted", "end slips or is torn", "bridle worn"},
	Barrel:     {"teeth worn or bent", "arbor worn in its hole", "lid loose", "wall scored", "lubricant dried"},
	Train: {"dirty", "pivot worn or scored", "pivot bent", "teeth worn or bent", "no end shake",
		"too much end shake"},
	Jewels: {"cracked", "chipped", "loose in its setting", "dry", "shock setting displaced", "missing"},
	Escapement: {"lock too light", "lock too deep", "pallet stone chipped", "pallet stone loose", "no draw",
		"banking pins bent", "escape tooth damaged", "dry"},
	BalanceStaff: {"pivot worn or flat", "pivot broken", "pivot bent", "loose in the balance", "roller loose",
		"impulse jewel loose or chipped"},
	Hairspring: {"magnetised", "coils touch or stick", "out of flat", "out of true at the collet", "bent at the stud",
		"rusty", "regulator pins too open"},
	MotionWork:   {"cannon pinion loose", "cannon pinion tight", "teeth worn", "no freedom under the dial"},
	DialAndHands: {"hands foul", "hands loose", "lume crumbling", "dial foot broken", "dial marked", "hands corroded"},
	CaseAndSeals: {"gasket hardened", "gasket missing", "gasket seat pitted", "crystal cracked", "crystal loose",
		"back thread worn", "case tube worn", "spring bar worn", "leaks at the dry test"},
	CrownAndStem: {"stem broken", "stem worn", "crown worn", "crown seal hardened", "setting lever worn",
		"sliding pinion worn", "will not hold its position"},
	AutomaticWork: {"rotor bearing worn", "rotor rubs", "reverser worn", "does not wind", "screws loose"},
	Calendar: {"date does not change", "date changes late or early", "jumper weak", "finger broken", "disc marked",
		"quick setting fails"},
}

// UsualFaults returns the faults commonly found in c (common practice), for a
// form to offer.
func UsualFaults(c Component) []string {
	return slices.Clone(usualFaults[c])
}

// Severity is how much a finding matters to the repair.
type Severity string

// The severities, least first.
const (
	Observe Severity = "observe" // noted; nothing need be done now
	Advise  Severity = "advise"  // should be mended
	Require Severity = "require" // must be mended before the watch can run or be warranted
)

// Severities lists every Severity, least first.
var Severities = []Severity{Observe, Advise, Require}

// Words says s in plain words.
func (s Severity) Words() string {
	switch s {
	case Observe:
		return "noted only"
	case Advise:
		return "should be repaired"
	case Require:
		return "must be repaired"
	}
	return string(s)
}

// The longest values that may be saved, in characters.
const (
	MaxFault = 120
	MaxNote  = 2000
)

// Finding is one thing seen at diagnosis.
type Finding struct {
	ID        int64
	Component Component
	Fault     string // a usual fault or free words
	Severity  Severity
	Note      string
	PhotoID   int64 // 0 when there is no photograph
}

// Tidied returns f with stray spaces and control characters removed.
func (f Finding) Tidied() Finding {
	f.Fault, f.Note = text.Line(f.Fault), text.Lines(f.Note)
	return f
}

// Problems says, by form field, what stops f being saved.
func (f Finding) Problems() map[string]string {
	bad := map[string]string{}
	if !slices.Contains(Components, f.Component) {
		bad["component"] = "Choose the component."
	}
	switch {
	case f.Fault == "":
		bad["fault"] = "Say what is wrong, or 'sound' if nothing is."
	case text.TooLong(f.Fault, MaxFault):
		bad["fault"] = "Keep the fault to at most 120 characters: the note holds more."
	}
	if !slices.Contains(Severities, f.Severity) {
		bad["severity"] = "Choose how much it matters."
	}
	if text.TooLong(f.Note, MaxNote) {
		bad["note"] = "Keep the note to at most 2000 characters."
	}
	return bad
}

// Words is f in a phrase: "balance staff, worn".
func (f Finding) Words() string { return f.Component.Words() + ", " + f.Fault }

// AddedSummary is what the journal tells of a new finding.
func (f Finding) AddedSummary() string { return "Finding: " + f.Words() + "." }

// StruckSummary is what it tells of one struck out.
func (f Finding) StruckSummary() string { return "Finding struck out: " + f.Words() + "." }

// CorrectedSummary is what it tells of one that stands in place of another.
func (f Finding) CorrectedSummary() string { return "Finding corrected: " + f.Words() + "." }

// OtherPhoto is what is wrong with a photograph of another docket.
const OtherPhoto = "Choose one of this docket's photographs."

package shop

import "math"

// Begun is what the record holds already of what a new shop needs.
type Begun struct {
	People   int  // who may sign in, or were invited
	Calibres int  // movements the shop knows
	Backed   bool // a backup was made, or one is made every night
	Mailing  bool // a mail server carries messages on
	Dockets  int
	Jobs     int // of the price list
}

// StepKey names one of the first steps.
type StepKey string

// The first steps of a new shop.
const (
	StepPlace   StepKey = "place"
	StepAddress StepKey = "address"
	StepTax     StepKey = "tax"
	StepLogo    StepKey = "logo"
	StepPrint   StepKey = "print"
	StepMail    StepKey = "mail"
	StepBackup  StepKey = "backup"
	StepCalibre StepKey = "calibre"
	StepPeople  StepKey = "people"
	StepPrices  StepKey = "prices"
	StepWatch   StepKey = "watch"
)

// Step is one thing that a new shop needs.
type Step struct {
	Key  StepKey
	Done bool
}

// FirstSteps are what a new shop needs, in the order in which it is best done, each ticked by what the record holds.
func (s Shop) FirstSteps(b Begun) []Step {
	return []Step{
		{StepPlace, true}, // asked of the first owner, before anything is kept
		{StepAddress, s.Address != "" && s.Hours.Said()},
		{StepTax, s.TaxSaid || s.TaxBasisPoints > 0},
		{StepLogo, s.Logo != "" || s.LogoNone},
		{StepPrint, s.RulerMM > 0},
		{StepMail, b.Mailing},
		{StepBackup, b.Backed},
		{StepCalibre, b.Calibres > 0},
		{StepPrices, b.Jobs > 0},
		{StepPeople, b.People > 1},
		{StepWatch, b.Dockets > 0},
	}
}

// RulerLengthMM is how long the ruler of the test print is, in mm.
const RulerLengthMM = 100

// The bounds of what a ruler can have measured, in mm.
const (
	leastRulerMM = 50
	mostRulerMM  = 200
)

// rulerWithinMM is how far the ruler may be off for codes and cards to come out right: a reader of rules sees half a mm.
const rulerWithinMM = 0.5

// RulerProblem says why a ruler can't have measured so many mm; "" where it can.
func RulerProblem(mm float64) string {
	if !(mm >= leastRulerMM && mm <= mostRulerMM) {
		return "Give what the ruler measures, in mm, such as 97.5."
	}
	return ""
}

// PrintScale is the scale to set in the print dialogue, in whole per cent, for a printer on which the ruler measured so
// many mm when it was printed at 100 %; 100 where it is right.
func PrintScale(measuredMM float64) int {
	if measuredMM <= 0 || math.Abs(measuredMM-RulerLengthMM) <= rulerWithinMM {
		return 100
	}
	return int(math.Round(100 * RulerLengthMM / measuredMM))
}

package fit

import (
	"fmt"
	"math"

	"ledgerwheel/domain/metrology"
)

// EscapementPart is what is looked at of a lever escapement.
type EscapementPart string

// The parts of the action, in the order in which they are looked at: what depends on another comes after it.
const (
	Banking EscapementPart = "banking"
	Drop    EscapementPart = "drop"
	Lock    EscapementPart = "lock"
	Draw    EscapementPart = "draw"
	Run     EscapementPart = "run"
	Fork    EscapementPart = "fork"
)

// EscapementAmount is how much there is of something, beside what is usual.
type EscapementAmount string

// The amounts. Of the banking Little is one that sticks or holds the fork, Much one whose sides are unlike.
const (
	NotSeen EscapementAmount = ""
	Little  EscapementAmount = "little"
	AsUsual EscapementAmount = "usual"
	Much    EscapementAmount = "much"
)

// usualDeg are the usual angles, degrees of pallet arbor (of the escape wheel for the drop; of the stone's face for the
// draw). Playtner, Analysis of the Lever Escapement (Gutenberg 21978): lock 1½°, drop 1½° with club teeth and 2° with
// ratchet teeth, draw 12° and by others 15°, run ¼° to ½°. Watch and Clock Escapements (Gutenberg 17021): lock 1° to ¾°,
// drop ¾°, draw 10°. Both as a collection of excerpts gives them.
var usualDeg = map[EscapementPart][2]float64{Lock: {0.75, 1.5}, Drop: {0.75, 2}, Draw: {10, 15}, Run: {0.25, 0.5}}

// UsualDeg returns the usual range of a part, degrees; ok is false for one that is only judged.
func UsualDeg(p EscapementPart) (least, most float64, ok bool) {
	r, ok := usualDeg[p]
	return r[0], r[1], ok
}

// EscapementSeen is what was found of one part: an angle with its uncertainty, or else a judgement by eye and feel.
type EscapementSeen struct {
	Part   EscapementPart
	Deg    *metrology.Value // nil where it was judged
	Judged EscapementAmount
}

// Problem says why the finding can't be used, or "".
func (s EscapementSeen) Problem() string {
	_, most, measured := UsualDeg(s.Part)
	switch {
	case s.Deg == nil:
		return ""
	case !measured:
		return "This is judged, not measured."
	case s.Deg.Check() != nil || s.Deg.Value < 0 || s.Deg.Value > 4*most:
		return fmt.Sprintf("Give an angle from 0° to %.0f°.", 4*most)
	}
	return ""
}

// Amount is how the part stands beside the usual. A measured one counts as little or much only where its expanded
// uncertainty leaves no doubt of it (JCGM 106:2012, 8.3.3, a guarded rejection).
func (s EscapementSeen) Amount() EscapementAmount {
	if s.Deg == nil {
		return s.Judged
	}
	least, most, _ := UsualDeg(s.Part)
	switch u := s.Deg.Expanded(); {
	case s.Deg.Value+u < least:
		return Little
	case s.Deg.Value-u > most:
		return Much
	}
	return AsUsual
}

// EscapementRemark is what a part that is not as usual does, and what is done about it.
type EscapementRemark struct {
	Part   EscapementPart
	Amount EscapementAmount
	Lowers bool // the amplitude
	Does   string
	Cure   string
}

// remarks is the table of what follows; common practice, and the two handbooks above: more lock, draw or run lowers the
// amplitude; drop wastes power and asks for more lock.
var remarks = []EscapementRemark{
	{Banking, Little, true, "The fork is held at its banking and costs the balance power at every unlocking.",
		"Bankings, fork and stones are cleaned; no oil goes where the fork rests."},
	{Banking, Much, false, "One side unlocks with more run than the other.",
		"The guard and the run of both sides are looked at before a stone is moved."},
	{Drop, Little, true, "A tooth may touch the stone that it has just left.",
		"Every tooth is tried: wheel out of round, a bent tooth or stones too close."},
	{Drop, Much, true, "Power falls away between the stones, and the lock must be deeper for it.",
		"Drop goes before lock: the distance of the stones, then the wheel."},
	{Lock, Little, false, "A tooth may land on the impulse face and the watch trip: not safe, whatever the amplitude.",
		"The stone is set deeper, tooth by tooth, until every lock is safe."},
	{Lock, Much, true, "Unlocking takes more from the balance. With short arcs and the crown up it gains (Kleinlein, 63).",
		"The stone is set back, as far as every tooth still locks safely."},
	{Draw, Little, true, "The fork does not stay at its banking, and the guard touches the roller.",
		"Stone faces and their angle are looked at under the glass; oil on them is cleaned off."},
	{Draw, Much, true, "The wheel is turned back further at every unlocking.",
		"The angle of the stone is looked at; it is not changed for a trifle."},
	{Run, Little, false, "The fork may not reach its banking with the lock safe.",
		"Dirt at the banking is looked for first, then the lock."},
	{Run, Much, true, "The lock at rest is deeper by the run, and unlocking takes more.",
		"Locks first; then the banking, where it can be set."},
	{Fork, Little, true, "The impulse pin binds in the notch.", "Pin and notch are cleaned and looked at for wear and glue."},
	{Fork, Much, true, "The pin moves idly in the notch: part of lift and impulse is lost.",
		"The pin's width and seat are looked at; a worn notch shows under the glass."},
}

// EscapementRemarks returns what the findings call for, in the order in which it is to be done.
func EscapementRemarks(seen []EscapementSeen) []EscapementRemark {
	var out []EscapementRemark
	for _, r := range remarks {
		for _, s := range seen {
			if s.Part == r.Part && s.Amount() == r.Amount {
				out = append(out, r)
				break
			}
		}
	}
	return out
}

// UsualLyingDeg is the amplitude lying at full wind that is looked for where the shop has no limit (common practice).
const UsualLyingDeg = 270.0

// ExplainAmplitude says in a sentence what of the findings speaks for an amplitude lying at full wind that falls short.
// By how much each part lowers it is published nowhere, so no figure is given.
func ExplainAmplitude(amplitude metrology.Value, lookedForDeg float64, found []EscapementRemark) string {
	short := lookedForDeg - amplitude.Value
	lowers := 0
	for _, r := range found {
		if r.Lowers {
			lowers++
		}
	}
	switch {
	case math.Abs(short) <= amplitude.Expanded():
		return "The amplitude is what is looked for, within its uncertainty."
	case short < 0:
		return "The amplitude is more than is looked for: nothing is to be explained."
	case lowers == 0:
		return fmt.Sprintf("It swings %.0f° less than is looked for, and nothing found here explains it: power, train and balance "+
			"pivots come next.", short)
	case lowers == 1:
		return fmt.Sprintf("It swings %.0f° less than is looked for; what lowers it is named below. By how much cannot be told: "+
			"it is read again when that is put right.", short)
	}
	return fmt.Sprintf("It swings %.0f° less than is looked for; %d things named below lower it. By how much each does cannot be "+
		"told: it is read again after one is put right.", short, lowers)
}

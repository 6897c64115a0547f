package watch

import (
	"errors"
	"fmt"
	"math"
	"math/big"
	"slices"
	"strconv"
	"strings"

	"ledgerwheel/domain/figure"
	"ledgerwheel/domain/metrology"
	"ledgerwheel/domain/oscillator"
	"ledgerwheel/domain/train"
)

// Remark is what looks wrong about a calibre. It stops nothing: makers have built stranger things, and a record may be
// kept before all of it is known.
type Remark struct {
	Field       string // of the form, beside which it belongs
	Text        string // one or more sentences: what, and why
	Contradicts bool   // figures of the record contradict one another; otherwise one is merely unusual
}

// How far stated figures may lie from what follows from others before they contradict one another. Figures of data
// sheets are given to two or three places, so that a product of three of them is good to a few per cent (common
// practice).
const (
	beatTolerance      = 0.04 // of the beat that follows from balance and spring
	inertiaTolerance   = 0.06 // of mass times the square of the radius
	stiffnessTolerance = 0.25 // of the strip's, whose thickness counts three times
	reserveTolerance   = 1.02 // the longest run may be stated in whole hours
	littleReserve      = 0.5  // of the longest run: less is seldom stated
)

// Remarks says what in c contradicts itself and what is out of the trade's usual range, in the order of the form;
// contradictions come first. What is not known is passed over.
func (c Calibre) Remarks() []Remark {
	var list []Remark
	add := func(contradicts bool, field, text string) {
		list = append(list, Remark{Field: field, Text: text, Contradicts: contradicts})
	}
	c.trainRemarks(add)
	c.motionRemarks(add)
	c.barrelRemarks(add)
	c.oscillatorRemarks(add)
	c.sizeRemarks(add)
	for _, u := range usualRanges {
		if v := u.of(c); v != 0 && !(v >= u.least && v <= u.most) {
			add(false, u.field, fmt.Sprintf("%s is unusual for %s: watches have %s to %s (common practice).",
				withUnit(v, u.unit), u.what, figure.Plain(u.least), withUnit(u.most, u.unit)))
		}
	}
	slices.SortStableFunc(list, func(a, b Remark) int {
		if a.Contradicts != b.Contradicts {
			if a.Contradicts {
				return -1
			}
			return 1
		}
		return fieldIndex(a.Field) - fieldIndex(b.Field)
	})
	return list
}

func fieldIndex(name string) int {
	return slices.IndexFunc(calibreFields, func(f CalibreField) bool { return f.Name == name })
}

type remarking func(contradicts bool, field, text string)

// trainRemarks hold the counts against the stated beat and the seconds hand, in exact fractions.
func (c Calibre) trainRemarks(add remarking) {
	t, err := train.Parse(c.Train)
	if c.Train == "" || err != nil {
		if c.BeatsPerHour != 0 && !slices.Contains(train.UsualBeats(), c.BeatsPerHour) {
			add(false, "beats_per_hour", fmt.Sprintf("%d beats per hour is none of the usual: %s (common practice).",
				c.BeatsPerHour, usualBeats()))
		}
		return
	}
	problems := t.Problems()
	for _, field := range sortedKeys(problems) {
		add(false, "train", problems[field])
	}
	if bad := problems["minute"] + problems["seconds"]; bad != "" {
		return // what drives a hand is not there: nothing follows
	}
	if beats := t.Beats(); c.BeatsPerHour != 0 && beats.Cmp(big.NewRat(int64(c.BeatsPerHour), 1)) != 0 {
		add(true, "train", fmt.Sprintf("These counts give %s beats per hour, the calibre states %d: a count or the beat is wrong. "+
			"They make %s: twice the escape wheel, times all wheels, by all pinions.", train.Fraction(beats), c.BeatsPerHour,
			beatSum(t)))
	}
	if hand, carries := t.SecondsHand(); carries && hand.TurnsPerHour.Cmp(big.NewRat(60, 1)) != 0 {
		add(true, "train", fmt.Sprintf("The seconds hand, on the %s, turns %s times an hour and not 60: a count is wrong, "+
			"or the train carries no seconds hand (seconds=none).",
			hand.On, train.Fraction(hand.TurnsPerHour)))
		t.Seconds = train.Seconds{Layout: train.NoSeconds} // said
	}
	for _, says := range t.Remarks() {
		add(false, "train", says)
	}
}

// beatSum writes the product that gives the beat.
func beatSum(t train.Train) string {
	wheels, pinions := []string{"2", strconv.Itoa(t.EscapeTeeth)}, []string{}
	for _, s := range t.Stages {
		wheels, pinions = append(wheels, strconv.Itoa(s.Wheel)), append(pinions, strconv.Itoa(s.Pinion))
	}
	return strings.Join(wheels, " × ") + " ÷ (" + strings.Join(pinions, " × ") + ")"
}

func usualBeats() string {
	var words []string
	for _, b := range train.UsualBeats() {
		words = append(words, strconv.Itoa(b))
	}
	return strings.Join(words, ", ")
}

func sortedKeys(m map[string]string) []string {
	var keys []string
	for k := range m {
		keys = append(keys, k)
	}
	slices.Sort(keys)
	return keys
}

// motionRemarks hold the motion work against the hours of the dial.
func (c Calibre) motionRemarks(add remarking) {
	m, err := train.ParseMotionWork(c.MotionWork)
	if c.MotionWork == "" || err != nil {
		return
	}
	problems := m.Problems()
	for _, field := range sortedKeys(problems) {
		add(false, "motion_work", problems[field])
	}
	ratio, known := m.Ratio()
	if !known {
		return
	}
	stated := c.dialHours()
	if ratio.Cmp(big.NewRat(int64(stated), 1)) != 0 {
		add(true, "motion_work", fmt.Sprintf("This motion work turns the hour hand once in %s turns of the minute hand, "+
			"and the dial has %d hours: "+
			"%d × %d ÷ (%d × %d) must give %d.", train.Fraction(ratio), stated, m.MinuteWheel, m.HourWheel, m.Cannon,
			m.MinutePinion, stated))
		return
	}
	for _, says := range m.Remarks() {
		add(false, "motion_work", says)
	}
}

func (c Calibre) dialHours() int {
	if c.DialHours == 0 {
		return 12
	}
	return c.DialHours
}

// PossibleReserveHours is the longest that the calibre can run on one winding, hours, by its barrel, spring and counts.
// Where the barrel's pinion doesn't turn once an hour, the train says how fast it turns. The error is as of
// train.PossibleReserveHours.
func (c Calibre) PossibleReserveHours() (float64, error) {
	hours, err := train.PossibleReserveHours(c.barrel(), c.mainspring(), train.BarrelDrive{BarrelTeeth: c.BarrelTeeth,
		CentrePinionLeaves: c.CentrePinionLeaves})
	if err != nil {
		return 0, err
	}
	if t, err := train.Parse(c.Train); err == nil && t.Problems()["minute"] == "" {
		turns, _ := t.Arbors()[0].TurnsPerHour.Float64()
		hours /= turns
	}
	return hours, nil
}

func (c Calibre) barrel() train.Barrel {
	return train.Barrel{InsideDiameterMm: c.BarrelInsideDiameterMm, ArborDiameterMm: c.ArborDiameterMm}
}

func (c Calibre) mainspring() train.Mainspring {
	return train.Mainspring{WidthMm: c.MainspringWidthMm, ThicknessMm: c.MainspringThicknessMm,
		LengthMm: c.MainspringLengthMm}
}

// barrelRemarks hold the power reserve against what barrel, spring and counts can give.
func (c Calibre) barrelRemarks(add remarking) {
	hours, err := c.PossibleReserveHours()
	switch {
	case errors.Is(err, train.ErrUnknownSizes):
	case err != nil:
		add(true, "barrel_inside_diameter", "Barrel, spring and counts don't go together. "+err.Error())
	case c.PowerReserveHours > hours*reserveTolerance:
		add(true, "power_reserve_hours", fmt.Sprintf("The barrel can't give %s hours: this spring makes it turn long "+
			"enough for %.1f at most, wound from its last coil to its first. "+
			"The spring is thinner or longer, the barrel larger, or the reserve shorter than stated.",
			figure.Plain(c.PowerReserveHours), hours))
	case c.PowerReserveHours > 0 && c.PowerReserveHours < hours*littleReserve:
		add(false, "power_reserve_hours", fmt.Sprintf("The barrel could give %.1f hours; less than half of that is stated "+
			"(common practice: four fifths and more are used).", hours))
	}
	if b, s := c.barrel(), c.mainspring(); len(b.Problems())+len(s.Problems(b)) == 0 {
		if fill := train.Develop(b, s).FillShare; fill < train.ShortFill || fill > train.LongFill {
			add(false, "mainspring_length", fmt.Sprintf("The spring fills %.0f %% of the room between arbor and wall; about "+
				"half, %.0f to %.0f %%, gives the most turns (common practice). "+
				"Half would take %.0f mm of it.", 100*fill, 100*train.ShortFill, 100*train.LongFill,
				b.HalfFillLengthMm(s.ThicknessMm)))
		}
	}
}

// oscillatorRemarks hold balance, hairspring and beat against one another.
func (c Calibre) oscillatorRemarks(add remarking) {
	b := c.Balance
	micro := c.HairspringStiffnessNmPerRad * 1e6
	if b.InertiaMgCm2 > 0 && micro > 0 && c.BeatsPerHour > 0 {
		got := oscillator.BeatsFor(known(b.InertiaMgCm2), known(micro)).Value
		if math.Abs(got/float64(c.BeatsPerHour)-1) > beatTolerance {
			wanted := oscillator.StiffnessFor(known(b.InertiaMgCm2), known(float64(c.BeatsPerHour))).Value
			add(true, "hairspring_stiffness", fmt.Sprintf("This balance on this spring makes %.0f beats per hour, the "+
				"calibre states %d; with this balance the beat takes a spring of %.3g µN·m/rad.",
				got, c.BeatsPerHour, wanted))
		}
	}
	if b.InertiaMgCm2 > 0 && b.MassMg > 0 && b.GyrationRadiusMm > 0 {
		if got := oscillator.RingInertia(known(b.MassMg),
			known(b.GyrationRadiusMm)).Value; math.Abs(got/b.InertiaMgCm2-1) > inertiaTolerance {
			add(true, "balance_inertia", fmt.Sprintf("Mass times the square of the radius of gyration is %.3g mg·cm², the "+
				"moment of inertia is stated as %s: one of the three is wrong.",
				got, figure.Plain(b.InertiaMgCm2)))
		}
	}
	if b.GyrationRadiusMm > 0 && b.DiameterMm > 0 && 2*b.GyrationRadiusMm > b.DiameterMm && b.ScrewCount == 0 {
		add(true, "balance_gyration_radius", "The radius of gyration lies outside the rim, and no weight stands there: "+
			"radius and diameter may have been taken for one another.")
	}
	if screws := float64(b.ScrewCount) * b.ScrewMassMicrogram / 1000; b.MassMg > 0 && screws >= b.MassMg {
		add(true, "screw_mass", fmt.Sprintf("The screws alone weigh %.3g mg, the whole balance %s mg.", screws,
			figure.Plain(b.MassMg)))
	}
	c.stripRemarks(add, micro)
}

// stripRemarks hold the hairspring's sizes against its stiffness, whatever alloy it may be of.
func (c Calibre) stripRemarks(add remarking, micro float64) {
	if micro == 0 || c.HairspringWidthMm == 0 || c.HairspringThicknessMm == 0 || c.HairspringLengthMm == 0 {
		return
	}
	softest, stiffest := math.Inf(1), 0.0
	for _, alloy := range oscillator.SpringAlloys() {
		k := oscillator.Strip{Modulus: known(alloy.ModulusGPa), Width: known(c.HairspringWidthMm),
			Thickness: known(c.HairspringThicknessMm), Length: known(c.HairspringLengthMm)}.Stiffness().Value
		softest, stiffest = min(softest, k), max(stiffest, k)
	}
	if micro < softest*(1-stiffnessTolerance) || micro > stiffest*(1+stiffnessTolerance) {
		add(true, "hairspring_thickness", fmt.Sprintf("A strip of these sizes has a stiffness of %.3g to %.3g µN·m/rad, "+
			"and %.3g is stated. The thickness counts three times: measure it first.",
			softest, stiffest, micro))
	}
}

// sizeRemarks find parts that are larger than what holds them.
func (c Calibre) sizeRemarks(add remarking) {
	for _, part := range []struct {
		field, what string
		mm          float64
	}{{"barrel_inside_diameter", "barrel", c.BarrelInsideDiameterMm}, {"balance_diameter", "balance",
		c.Balance.DiameterMm}} {
		if c.DiameterMm > 0 && part.mm >= c.DiameterMm {
			add(true, part.field, fmt.Sprintf("A %s of %s is larger than the movement of %s.", part.what,
				withUnit(part.mm, "mm"), withUnit(c.DiameterMm, "mm")))
		}
	}
	if c.BarrelInsideDiameterMm > 0 && c.ArborDiameterMm > 0 {
		if share := c.ArborDiameterMm / c.BarrelInsideDiameterMm; share < 0.22 || share > 0.45 {
			add(false, "arbor_diameter", fmt.Sprintf("The arbor is %.0f %% of the barrel's inside; about a third, 22 to 45 "+
				"%%, is usual (common practice): a thinner one breaks the spring, a thicker one takes its turns.", 100*share))
		}
	}
	if c.ArborDiameterMm > 0 && c.MainspringThicknessMm > 0 {
		if n := c.ArborDiameterMm / 2 / c.MainspringThicknessMm; n < 8 || n > 24 {
			add(false, "mainspring_thickness", fmt.Sprintf("The arbor's radius is %.1f times the spring's thickness; 8 to 24 "+
				"times is usual (common practice).", n))
		}
	}
}

func known(v float64) metrology.Value { return metrology.Value{Value: v} }

func withUnit(v float64, unit string) string {
	switch unit {
	case "", "°":
		return figure.Plain(v) + unit
	}
	return figure.Plain(v) + " " + unit
}

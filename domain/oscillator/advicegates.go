package oscillator

import (
	"fmt"
	"math"
	"strings"

	"ledgerwheel/domain/figure"
	"ledgerwheel/domain/metrology"
	"ledgerwheel/domain/text"
	"ledgerwheel/domain/timing"
)

// What makes a suspicion (common practice, as remembered, but for ISO 764's 30 s/d of residual effect).
const (
	magneticSideSPerDay  = 25
	magneticShiftSPerDay = 180
	magneticStepSPerDay  = 30
	wrongSpringSPerDay   = 240
	unsteadySPerDay      = 4
	knockAmplitudeDeg    = 320
	knockGainSPerDay     = 15
	lowAmplitudeDeg      = 240
	steepFallDeg         = 70 // over a day
)

// amplitudes returns the mean amplitude lying or hanging at a state of wind.
func (a adviser) amplitude(hours float64, flat bool) (metrology.Value, bool) {
	var terms []metrology.Term
	for _, p := range timing.Positions() {
		if r, ok := a.r.Run.Reading(p, hours); ok && r.AmplitudeDeg != nil && p.Horizontal() == flat {
			terms = append(terms, metrology.Term{Coefficient: 1, Value: r.AmplitudeDeg.Value,
				StdUncertainty: r.AmplitudeDeg.Independent(), Source: "lift angle",
				SharedStdUncertainty: r.AmplitudeDeg.Value * a.f.options.Instruments.LiftAngleRel})
		}
	}
	if len(terms) == 0 {
		return metrology.Value{}, false
	}
	for i := range terms {
		terms[i].Coefficient = 1 / float64(len(terms))
	}
	return metrology.Linear("°", terms...), true
}

func (a adviser) amplitudeWords() string {
	flat, ok1 := a.amplitude(0, true)
	hung, ok2 := a.amplitude(0, false)
	if !ok1 || !ok2 {
		return "Amplitudes lying and hanging at full wind were not both read."
	}
	loss := lossOf(a.f.options.Limits.Grade)
	return fmt.Sprintf("Amplitude lying %.0f°, hanging %.0f° at full wind; a loss of %d° to %d° is usual in %s.", flat.Value,
		hung.Value, loss.Least, loss.Most, loss.Of)
}

func (a adviser) sideWords() string {
	up, ok1 := a.r.Run.Reading(timing.DialUp, 0)
	down, ok2 := a.r.Run.Reading(timing.DialDown, 0)
	if !ok1 || !ok2 || up.AmplitudeDeg == nil || down.AmplitudeDeg == nil {
		return "The amplitudes of both sides at full wind would tell more."
	}
	d := up.AmplitudeDeg.Value - down.AmplitudeDeg.Value
	if math.Abs(d) < 10 {
		return fmt.Sprintf("The amplitudes agree (%.0f° dial up, %.0f° dial down), which speaks for the hairspring rather "+
			"than a pivot.",
			up.AmplitudeDeg.Value, down.AmplitudeDeg.Value)
	}
	weak := "dial down"
	if d < 0 {
		weak = "dial up"
	}
	return fmt.Sprintf("The amplitude is %.0f° less %s: the pivot and jewel that carry the balance there are the first to look at.",
		math.Abs(d), weak)
}

// leastIrregular is the chance of an irregular watch from which on it is said.
const leastIrregular = 0.3

// shift returns the mean of the rates as read, and how far they lie from least to greatest.
func (a adviser) shift() (mean, spread float64, ok bool) {
	low, high, sum, n := math.Inf(1), math.Inf(-1), 0.0, 0.0
	for _, r := range a.r.Run.Readings {
		if r.RateSPerDay != nil {
			v := r.RateSPerDay.Value
			sum, n, low, high = sum+v, n+1, math.Min(low, v), math.Max(high, v)
		}
	}
	if n == 0 {
		return 0, 0, false
	}
	return sum / n, high - low, true
}

// meanRead is the mean of the rates as read, with the standard deviation of a mean of such.
func (a adviser) meanRead() metrology.Value {
	var rates []float64
	for _, r := range a.r.Run.Readings {
		if r.RateSPerDay != nil {
			rates = append(rates, r.RateSPerDay.Value)
		}
	}
	mean, err := metrology.FromObservations(rates, "s/d")
	if err != nil && len(rates) == 1 {
		return metrology.Value{Value: rates[0], Unit: "s/d"}
	}
	return mean
}

// sideAsRead is dial up less dial down, the greatest of any state of wind.
func (a adviser) sideAsRead() float64 {
	most := 0.0
	for _, hours := range a.r.Run.States() {
		up, ok1 := a.r.Run.Reading(timing.DialUp, hours)
		down, ok2 := a.r.Run.Reading(timing.DialDown, hours)
		if ok1 && ok2 && up.RateSPerDay != nil && down.RateSPerDay != nil {
			if d := up.RateSPerDay.Value - down.RateSPerDay.Value; math.Abs(d) > math.Abs(most) {
				most = d
			}
		}
	}
	return most
}

func (a adviser) magnetism() []Advice {
	mean, _, ok := a.shift()
	if !ok {
		return nil
	}
	var evidence []string
	if a.irregular > leastIrregular {
		evidence = append(evidence, "The positions differ in a way that neither poise nor amplitude explains.")
	}
	if r := a.f.Repeatability(); a.f.DegreesOfFreedom > 0 && r.Value > unsteadySPerDay {
		evidence = append(evidence, fmt.Sprintf("The readings scatter: laid again, a position would differ by about ±%.0f s/d.",
			r.Value))
	}
	if s := a.r.Poise.Size; a.r.Poise.Significant && s.Value > greatestPoisePPM {
		evidence = append(evidence, "The hanging rates would ask for a heavy spot of "+s.Format()+", beyond any balance.")
	}
	if side := a.sideAsRead(); math.Abs(side) >= magneticSideSPerDay && a.knocks() == nil {
		evidence = append(evidence, fmt.Sprintf("Dial up and dial down lie %.0f s/d apart.", math.Abs(side)))
	}
	if math.Abs(mean) >= magneticShiftSPerDay && a.knocks() == nil && len(a.spring()) == 0 {
		evidence = append(evidence, "The mean of the readings is "+figure.Signed(mean, 0)+" s/d, far from time.")
	}
	if a.run > 0 && a.r.Run.Kind == timing.Final {
		before := a.f.Runs[a.run-1].Base.Value
		if step := a.r.Base.Value - before; math.Abs(step) >= magneticStepSPerDay {
			evidence = append(evidence, fmt.Sprintf("The rate moved by %s s/d since the run before.", figure.Signed(step, 0)))
		}
	}
	seen := "The rates are those of a watch whose hairspring is magnetised or whose coils touch one another."
	if len(evidence) == 0 {
		if !a.springSeenTouched() {
			return nil
		}
		seen = "The readings do not show it, but the spring was seen to be so and nothing was written down against it."
	}
	title, cause, cure := "Perhaps magnetised, or a coil touches", "A magnetised hairspring, coils that stick by oil, or a "+
		"spring that touches arm, cock or stud.", "Demagnetising costs little and comes before any other correction. Then the "+
		"coils are looked at for oil and touching, and a new run is taken."
	if a.known.did(Demagnetised) {
		title, cause, cure = "Perhaps a coil touches", "Coils that stick by oil, or a spring that touches arm, cock or stud. The "+
			"watch was demagnetised before this run, so magnetism is the less likely cause.", "The coils are looked at first, for "+
			"oil and for touching in every position while the balance swings. Then the watch is demagnetised once more, and a "+
			"new run is taken."
	}
	return []Advice{{
		Kind: Magnetised, Row: string(Magnetised), Suspicion: true, Title: title, Seen: seen,
		Evidence:   append(evidence, "Which way the rate goes says nothing: both faults can make a watch gain or lose."),
		Cause:      cause,
		Correction: cure,
		Cautions: []string{"A quartz or electronic part is kept away from the demagnetiser.",
			"People with a heart pacemaker keep their distance from it; its maker's instructions apply."},
		Figures: []Figure{{"mean of the readings", a.meanRead(), true}},
	}}
}

// springSeenTouched reports whether a watch as received was seen to be magnetised or its coils to touch.
func (a adviser) springSeenTouched() bool {
	return a.r.Run.Kind == timing.AsReceived && (a.known.sees(SeenMagnetised) || a.known.sees(SeenCoilsTouch))
}

// spring asks whether the watch beats as its calibre should, where all positions agree on minutes a day.
func (a adviser) spring() []Advice {
	mean, spread, ok := a.shift()
	if !ok || math.Abs(mean) < wrongSpringSPerDay || spread > math.Abs(mean)/2 {
		return nil
	}
	return []Advice{{
		Kind: CheckSpring, Row: string(CheckSpring), Suspicion: true, Title: "Far from time in every position",
		Seen: fmt.Sprintf("All positions agree on about %s s/d, more than a regulator is there for.",
			figure.Signed(mean, 0)),
		Evidence: []string{fmt.Sprintf("From least to greatest the rates lie %.0f s/d apart.", spread)},
		Cause:    a.wrongSpringCause(),
		Correction: "The beats of the calibre are checked first, then the spring is looked at for magnetism, touching and its " +
			"pinning point. The regulator is not moved before the cause is found.",
		Cautions: []string{keepSpring, makersPractice},
		Figures:  []Figure{{"mean of the readings", a.meanRead(), true}},
	}}
}

// wrongSpringCause says what may put every position minutes off, the likeliest first.
func (a adviser) wrongSpringCause() string {
	const others = "beats counted for another calibre, a coil that touches, a magnetised spring, or screws or washers changed " +
		"by another hand."
	if a.known.did(HairspringReplaced) {
		return "The hairspring was replaced before this run: one of the wrong strength, or pinned at a wrong length. Else " + others
	}
	return "A hairspring of another watch or pinned at a wrong length, " + others
}

// doubt looks whether a single reading is at odds with all others, or the readings can only just be a sound watch's.
func (a adviser) doubt() []Advice {
	var evidence []string
	for _, w := range a.f.Wild {
		if w.Run == a.run {
			evidence = append(evidence, w.Text)
		}
	}
	if a.irregular > mostIrregular && a.irregular <= leastIrregular {
		evidence = append(evidence, "The positions hardly go together as those of one watch do.")
	}
	if len(evidence) == 0 {
		return nil
	}
	return []Advice{{
		Kind: ReadingsDoubtful, Row: string(ReadingsDoubtful), Suspicion: true, Title: "The readings do not agree",
		Seen:     "The readings differ among themselves more than any one cause explains.",
		Evidence: evidence,
		Cause: "Readings taken too soon after turning the watch, a clamp or sound that slips, an unsteady amplitude, a loose " +
			"part, dirt or magnetism.",
		Correction: "Each position is read again, twice, for a minute, half a minute after turning the watch. Nothing is " +
			"corrected on these readings.",
		Cautions: []string{makersPractice},
	}}
}

// knocks returns the reading of the greatest amplitude near the banking, nil where none comes near.
func (a adviser) knocks() *timing.Reading {
	var most *timing.Reading
	for _, r := range a.r.Run.Readings {
		if r.AmplitudeDeg == nil || r.AmplitudeDeg.Value < a.knockFrom(r) {
			continue
		}
		if most == nil || r.AmplitudeDeg.Value > most.AmplitudeDeg.Value {
			most = &r
		}
	}
	return most
}

// knockFrom is the amplitude from which a reading counts as knocking: near the banking, or a little below where it
// gains as well.
func (a adviser) knockFrom(r timing.Reading) float64 {
	if gain, ok := a.gain(r); ok && gain > knockGainSPerDay {
		return knockAmplitudeDeg
	}
	return bankingAmplitudeDeg
}

// gain is by how much a reading is faster than the others lead to expect.
func (a adviser) gain(r timing.Reading) (float64, bool) {
	if r.RateSPerDay == nil || r.AmplitudeDeg == nil {
		return 0, false
	}
	return r.RateSPerDay.Value - dot(a.f.model.row(a.run, r.Position, r.AmplitudeDeg.Value, -1), a.f.theta), true
}

func (a adviser) knocking() []Advice {
	most := a.knocks()
	if most == nil {
		return nil
	}
	var evidence []string
	for _, r := range a.r.Run.Readings {
		if r.AmplitudeDeg == nil || r.AmplitudeDeg.Value < knockAmplitudeDeg {
			continue
		}
		text := fmt.Sprintf("%s %s swings %.0f°", r.Position, timing.StateWords(r.HoursAfterWinding), r.AmplitudeDeg.Value)
		if gain, ok := a.gain(r); ok && gain > knockGainSPerDay {
			text += fmt.Sprintf(" and gains %.0f s/d more than the other readings lead to expect", gain)
		}
		evidence = append(evidence, text+".")
	}
	amp, _ := a.f.options.Instruments.Value(*most, timing.Amplitude) // the figure is there
	cause := "A mainspring too strong for the movement, or a lift angle set too large, which shows amplitudes that are not there."
	if a.known.did(MainspringReplaced) {
		cause = "The mainspring replaced before this run is too strong for the movement, or a lift angle is set too large, which " +
			"shows amplitudes that are not there."
	}
	return []Advice{{
		Kind: Knocking, Row: string(Knocking), Suspicion: true, Title: "Perhaps knocking",
		Seen:     fmt.Sprintf("The amplitude reaches %s, near the banking.", amp.Format()),
		Evidence: evidence,
		Cause:    cause,
		Correction: "The lift angle is checked first; a knocking balance is heard as a gallop at full wind. A mainspring of the " +
			"right strength, or the maker's braking grease in an automatic's barrel, takes the excess away. Readings taken " +
			"while it knocks have no part in the mean.",
		Cautions: []string{"The mainspring is let down before the barrel is opened.",
			"Eye protection is worn at an open barrel.",
			makersPractice},
		Figures: []Figure{{"greatest amplitude", amp, false}},
	}}
}

// power looks at the amplitude: what reaches the balance, and what is lost hanging.
func (a adviser) power() []Advice {
	var out []Advice
	if x := a.lowSpring(); x != nil {
		out = append(out, *x)
	}
	if x := a.friction(); x != nil {
		out = append(out, *x)
	}
	return out
}

func (a adviser) lowSpring() *Advice {
	flat, lying := a.amplitude(0, true)
	least := float64(lowAmplitudeDeg)
	if l, set := a.f.options.Limits.Limit(timing.LeastHorizontalAmplitude); set && l.Limits.Lower != nil {
		least = *l.Limits.Lower
	}
	var evidence []string
	if lying && flat.Value+flat.StdUncertainty < least { // five chances in six
		evidence = append(evidence, fmt.Sprintf("Lying at full wind the balance swings %s; looked for: %.0f° or more.",
			flat.Format(), least))
	}
	if later, ok := a.amplitude(24, true); ok && lying && flat.Value-later.Value > steepFallDeg {
		evidence = append(evidence, fmt.Sprintf("It falls by %.0f° in a day.", flat.Value-later.Value))
	}
	hung, read := a.amplitude(0, false)
	if read && hung.Value < leastPoisingDeg {
		evidence = append(evidence, fmt.Sprintf("Hanging at full wind it swings %s; looked for: %d° or more.", hung.Format(),
			leastPoisingDeg))
	}
	downs, figure := a.letDown()
	evidence = append(evidence, downs...)
	if len(evidence) == 0 {
		return nil
	}
	if read && lying {
		evidence = append(evidence, fmt.Sprintf("Hanging it swings %.0f°; a loss spread over all positions speaks for the power, "+
			"one in some positions for the balance pivots.", hung.Value))
	}
	var figures []Figure
	if lying {
		figures = []Figure{{"horizontal amplitude at full wind", flat, false}}
	}
	return &Advice{
		Kind: PowerLow, Row: rowPower, Suspicion: true, Title: "Perhaps too little power",
		Seen: "The amplitude is low, or falls steeply through the day.", Evidence: evidence,
		Cause: a.weakCause(),
		Correction: "Winding and the set lift angle are checked first; then train freedom without the fork; then the mainspring " +
			"and barrel.",
		Cautions: []string{"The mainspring is let down before fork, train or barrel are touched.",
			"Eye protection is worn at an open barrel.", makersPractice},
		Figures: append(figures, figure...),
	}
}

// letDown is what the run-downs of the run say against its power.
func (a adviser) letDown() (evidence []string, figures []Figure) {
	for _, down := range a.f.occasions[a.run].RunDowns {
		d, ok := timing.LetDownOf(down, a.f.options.Limits, a.f.options.Rule, a.f.options.Instruments)
		if !ok || d.Verdict != metrology.Fail {
			continue
		}
		evidence = append(evidence, fmt.Sprintf("In the run-down in %s: %s Its rate went by %s meanwhile.", d.Last.Position, d.Text,
			d.RateDrift.FormatSigned()))
		figures = append(figures, Figure{"fall of the amplitude in the run-down", d.Fall, false})
	}
	return evidence, figures
}

// weakCause says what may keep the amplitude low, without what was put right before the run.
func (a adviser) weakCause() string {
	list, less := []string{"a watch not fully wound"}, []string(nil)
	if a.known.did(MainspringReplaced) {
		list, less = append(list, "a new mainspring of the wrong strength"), append(less, "the mainspring was replaced")
	} else {
		list = append([]string{"a tired or wrong mainspring"}, list...)
	}
	if a.known.did(Cleaned) {
		list = append(list, "too much oil or the wrong one", "a train without end shake", "pallets with too deep a lock")
		less = append(less, "the watch was cleaned")
	} else {
		list = append(list, "dirt or dry oil in the train")
	}
	cause := text.Capital(strings.Join(list, ", ") + ", or a lift angle set too small.")
	if len(less) > 0 {
		cause += " " + text.Capital(joined(less)) + " before this run."
	}
	return cause
}

func (a adviser) friction() *Advice {
	flat, ok1 := a.amplitude(0, true)
	hung, ok2 := a.amplitude(0, false)
	if !ok1 || !ok2 || flat.Value-hung.Value < lossOf(a.f.options.Limits.Grade).SuspicionFromDeg {
		return nil
	}
	if a.knocks() != nil { // what is lost of an excess speaks for no worn pivot: it is looked at when the knock is gone
		return nil
	}
	loss := metrology.Value{Value: flat.Value - hung.Value,
		StdUncertainty: math.Hypot(flat.StdUncertainty, hung.StdUncertainty), Unit: "°"}
	return &Advice{
		Kind: PowerLow, Row: rowFriction, Suspicion: true, Title: "Much amplitude lost hanging",
		Seen:     fmt.Sprintf("From lying to hanging the amplitude falls by %s.", loss.Format()),
		Evidence: []string{a.amplitudeWords()},
		Cause:    "Worn balance pivots or hole jewels, dry or dirty oil there, or a balance pivot slightly bent.",
		Correction: "The balance pivots and hole jewels are cleaned and looked at; freshly oiled, the loss shows whether they are " +
			"worn.",
		Cautions: []string{powerDown, keepSpring, makersPractice},
		Figures:  []Figure{{"amplitude lost", loss, false}},
	}
}

// greatestFineBeatMs is where beat error is worth a correction when the shop has no limit (common practice: 0.3 to
// 0.8 ms by source).
const greatestFineBeatMs = 0.5

func (a adviser) beat() []Advice {
	limit := greatestFineBeatMs
	if l, ok := a.f.options.Limits.Limit(timing.GreatestBeatError); ok && l.Limits.Upper != nil {
		limit = *l.Limits.Upper
	}
	var worst *timing.Reading
	for _, r := range a.r.Run.Readings {
		if r.BeatErrorMs != nil && (worst == nil || r.BeatErrorMs.Value > worst.BeatErrorMs.Value) {
			worst = &r
		}
	}
	if worst == nil || worst.BeatErrorMs.Value <= limit {
		return nil
	}
	e, _ := a.f.options.Instruments.Value(*worst, timing.BeatError) // the figure is there
	out := Advice{
		Kind: OutOfBeat, Row: string(OutOfBeat), Title: "Out of beat",
		Seen: fmt.Sprintf("The beat error is %s in %s, %s.", e.Format(), worst.Position,
			timing.StateWords(worst.HoursAfterWinding)),
		Evidence: []string{fmt.Sprintf("Looked for: at most %.1f ms, as half the difference of successive beats.", limit)},
		Cause:    "With the balance at rest the impulse jewel stands beside the line of centres.",
		Correction: "At rest, with the power off, the jewel shows which side it stands to. A movable stud is turned away from that " +
			"side; with a fixed stud the collet is turned towards it on the held staff, until both beats are even.",
		Cautions: []string{powerDown, keepSpring, makersPractice},
		Figures:  []Figure{{"beat error", e, false}},
		Forecast: a.expect(correction{beat: true, settle: true}),
	}
	amp, ok := a.f.options.Instruments.Value(*worst, timing.Amplitude)
	if !ok || a.f.options.Balance.BeatsPerHour == 0 {
		return []Advice{out}
	}
	if angle, err := BeatAngle(amp, e, a.f.options.Balance.BeatsPerHour); err == nil {
		out.Figures = append(out.Figures, Figure{"angle of collet or stud", angle, false})
		out.Correction += fmt.Sprintf(" The angle is about %s.", angle.Format())
	}
	return []Advice{out}
}

package oscillator

import (
	"fmt"
	"math"

	"ledgerwheel/domain/figure"
	"ledgerwheel/domain/metrology"
	"ledgerwheel/domain/timing"
)

// The rows of steps that have more than one.
const (
	rowLying    = "lying and hanging"
	rowSlope    = "rate and amplitude"
	rowPower    = "power"
	rowFriction = "hanging friction"
)

// leastSideSPerDay is the difference of dial up and dial down that is followed up (common practice: Kleinlein 1920,
// section 66, allows 3 in fine work and 5 in good).
const leastSideSPerDay = 5

func (a adviser) side() []Advice {
	s := a.r.Side
	if !a.r.SideKnown || !sure(s, leastSideSPerDay) {
		return nil
	}
	return []Advice{{
		Kind: EndShake, Row: string(EndShake), Title: "Dial up and dial down differ",
		Seen:     fmt.Sprintf("Dial up less dial down is %s at equal amplitude.", s.FormatSigned()),
		Evidence: []string{a.sideWords()},
		Cause: "One balance pivot or cap jewel worn, flat, dry or dirty, too much endshake, or a hairspring that touches on one " +
			"side.",
		Correction: "Both pivots and cap jewels are compared under strong magnification, endshake is felt, and the " +
			"hairspring is watched in both positions for touching. The side with the shorter arc is the one to put right.",
		Cautions: []string{demagnetise, powerDown, keepSpring, makersPractice},
		Figures:  []Figure{{"dial up less dial down", s, true}},
		Forecast: a.expect(correction{side: true, settle: true}),
	}}
}

// pins is what the play of the spring between its pins may put right: lying against hanging, and long arcs against
// short.
func (a adviser) pins() []Advice {
	var out []Advice
	if x := a.lying(); x != nil {
		out = append(out, *x)
	}
	if x := a.slope(); x != nil {
		out = append(out, *x)
	}
	return out
}

// leastLyingSPerDay is the difference of lying and hanging that is followed up (common practice).
const leastLyingSPerDay = 6

func (a adviser) lying() *Advice {
	h := a.r.Horizontal
	if a.r.Readings == 0 || !sure(h, leastLyingSPerDay) || h.StdUncertainty > knownDifference {
		return nil
	}
	// Short arcs, hanging, move free of open pins and lose; a spring that rests on one pin turns this round (Kleinlein
	// 1920, sections 37 and 39).
	way, pins := "gains lying against hanging", "open pins, between which the short hanging arcs move free, so that closing "+
		"them evenly lets hanging gain"
	if h.Value < 0 {
		way, pins = "loses lying against hanging", "pins too close, so that opening them evenly a little lets hanging lose, or a "+
			"rough pivot end or cap jewel"
	}
	return &Advice{
		Kind: Isochronism, Row: rowLying, Title: "Lying and hanging rates differ",
		Seen:     fmt.Sprintf("The watch %s by %s at equal amplitude, poise apart.", way, size(h).Format()),
		Evidence: []string{fmt.Sprintf("Horizontal less vertical: %s.", h.FormatSigned()), a.amplitudeWords()},
		Cause: "Play of the hairspring between the regulator pins, or friction of pivots and jewels in one attitude. With play " +
			"this speaks for " + pins + "; a spring that rests on one pin turns the sign round.",
		Correction: "Pivots, jewels and oil are looked at first; then the play at the pins is made equal on both sides and " +
			"changed a little at a time; then the mean rate is set again, which moves with it.",
		Cautions: []string{demagnetise, powerDown, keepSpring, makersPractice},
		Figures:  []Figure{{"horizontal less vertical", h, true}},
		Forecast: a.expect(correction{horizontal: true, settle: true}),
	}
}

// leastSlope is the isochronism worth a word, s/d for 100°.
const leastSlope = 8

func (a adviser) slope() *Advice {
	s := a.r.Slope
	if !a.r.SlopeKnown || !sure(s, leastSlope) {
		return nil
	}
	// Closing the pins, or the curve's outer part nearer the staff, lets short arcs gain (common practice; Excelsior 1876,
	// paragraph 125, for the pins).
	way, cause, cure := "Short arcs lose", "Open regulator pins, a terminal curve that stands too far out, or an "+
		"escapement that takes more at low amplitude.", "The play at the pins is closed a little, evenly; then the outer part "+
		"of the curve is moved nearer the staff"
	if s.Value < 0 {
		way, cause, cure = "Short arcs gain", "Close regulator pins or a spring that leans on one, or a terminal curve that "+
			"stands too near the staff.", "The play at the pins is opened a little, evenly, and the spring centred between them; "+
			"then the outer part of the curve is moved outward"
	}
	return &Advice{
		Kind: Isochronism, Row: rowSlope, Title: way,
		Seen: fmt.Sprintf("The rate changes by %s more amplitude, poise apart.", s.FormatSigned()),
		Evidence: []string{"The fit sets every position against its own amplitude, so that poise, which changes sign at 220°, is " +
			"not taken for isochronism."},
		Cause: cause,
		Correction: cure + ". One change at a time, then the same two states of wind again: handbooks disagree on some " +
			"springs, and this watch's own readings decide.",
		Cautions: []string{demagnetise, powerDown, keepSpring, makersPractice},
		Figures:  []Figure{{"isochronism", s, true}},
		Forecast: a.expect(correction{slope: true, settle: true}),
	}
}

// leastSpringSPerDay is the spring's own error, greatest less least hanging, that is followed up: 12 to 15 s/d stay even
// in fine work with a flat spring (Kleinlein 1920, section 34).
const leastSpringSPerDay = 6

// springAt is the spring's own error at an amplitude: its two components towards 12 and 3 up, s/d, with covariance.
func (a adviser) springAt(amp float64) (x, y metrology.Value, cov float64) {
	e := a.f.model.epochs[a.run]
	j := springShape(amp)
	rx := []entry{{e.spring, 1}, {e.spring + 2, j}}
	ry := []entry{{e.spring + 1, 1}, {e.spring + 3, j}}
	value := func(r []entry) metrology.Value {
		return metrology.Value{Value: dot(r, a.f.theta), StdUncertainty: math.Sqrt(math.Max(0, a.f.rowVariance(r))), Unit: "s/d"}
	}
	return value(rx), value(ry), a.f.rowCovariance(rx, ry)
}

func (a adviser) springInPositions() []Advice {
	hung, ok := a.amplitude(0, false)
	if !ok {
		return nil
	}
	x, y, cov := a.springAt(hung.Value)
	size := math.Hypot(x.Value, y.Value)
	if size == 0 {
		return nil
	}
	c, s := x.Value/size, y.Value/size
	u := math.Sqrt(math.Max(0, c*c*x.StdUncertainty*x.StdUncertainty+s*s*y.StdUncertainty*y.StdUncertainty+2*c*s*cov))
	spread := metrology.Value{Value: 2 * size, StdUncertainty: 2 * u, Unit: "s/d"}
	if !sure(spread, leastSpringSPerDay) {
		return nil
	}
	fastest := Hour(turn(degrees(math.Atan2(y.Value, x.Value))) / degreesPerHour)
	return []Advice{{
		Kind: SpringInPositions, Row: string(SpringInPositions), Title: "The spring errs in positions",
		Seen: fmt.Sprintf("The hanging rates differ by %s in a way that keeps its sign on both sides of 220°: fastest with %s "+
			"o'clock up.", spread.Format(), fastest),
		Evidence: []string{"A heavy spot of the balance would turn its sign at 220°; this does not."},
		Cause: "The point of attachment at the collet, a spring out of centre or out of flat, or a coil that leans when the " +
			"watch hangs.",
		Correction: "The spring is centred and made flat; what is left of it comes from the point of attachment and can only be " +
			"placed where it does least harm. No metal is taken off the balance for it.",
		Cautions: []string{demagnetise, powerDown, keepSpring, makersPractice},
		Figures:  []Figure{{"hanging, greatest less least", spread, false}},
		Forecast: a.expect(correction{spring: true, settle: true}),
	}}
}

// Metal stays on the balance outside these bounds (common practice, and Kleinlein 1920, section 28, for the neutral
// amplitude).
const (
	leastPoisingDeg  = 190  // hanging, at full wind: below, the power is put right first
	neutralBandDeg   = 15   // beside the neutral amplitude
	greatestPoisePPM = 6000 // beyond, it is not a matter of poise
	mostIrregular    = 0.05 // chance that no sound watch reads so
)

// withheld says why no metal is to be touched, "" when it may be.
func (a adviser) withheld(list []Advice) string {
	h := a.r.Poise
	hung, ok := a.amplitude(0, false)
	switch {
	case !ok:
		return "No hanging amplitude was read at full wind."
	case a.keepsLimits():
		return "The run keeps its limits."
	case a.irregular > mostIrregular:
		return "The readings do not go together as a sound watch's do."
	case h.Size.Value > greatestPoisePPM:
		return "So great a heavy spot is not a matter of poise: something touches, or is loose."
	case hung.Value < leastPoisingDeg:
		return fmt.Sprintf("Hanging, the balance swings %.0f° only: the power is put right first.", hung.Value)
	case a.onlyNeutral():
		return "The hanging amplitudes lie within 15° of the one where a heavy spot shows no rate."
	case !h.Significant:
		return "The readings do not tell where the balance is heavy."
	}
	for _, x := range list {
		if x.Kind != OutOfPoise && x.Kind != Regulate {
			return fmt.Sprintf("Something comes first: %s.", x.Title)
		}
	}
	return ""
}

// onlyNeutral reports whether every state of wind hangs near the neutral amplitude.
func (a adviser) onlyNeutral() bool {
	for _, hours := range a.r.Run.States() {
		if hung, ok := a.amplitude(hours, false); ok && math.Abs(hung.Value-NeutralAmplitudeDeg) > neutralBandDeg {
			return false
		}
	}
	return true
}

func (a adviser) poise() []Advice {
	h := a.r.Poise
	if !a.r.PoiseKnown || !h.Significant {
		return nil
	}
	swing, worst := 0.0, cell{}
	for _, c := range a.f.cells(a.run) {
		if c.p.Vertical() {
			if s := 2 * SecondsPerDay * h.Size.Value * 1e-6 * math.Abs(PoiseFactor(c.amp)); s > swing {
				swing, worst = s, c
			}
		}
	}
	if swing < leastWorthSPerDay {
		return nil
	}
	out := Advice{
		Kind: OutOfPoise, Row: string(OutOfPoise), Title: "Balance out of poise", Seen: h.Text(),
		Evidence: []string{fmt.Sprintf("It parts opposite hanging positions by up to %.0f s/d (%s, amplitude %.0f°); the chance "+
			"that the other half of the balance is the heavy one is %s.", swing, timing.StateWords(worst.hours), worst.amp,
			chance(h.Opposite))},
		Cause: "A heavy spot of the balance rim, a roller or collet set out of balance.",
		Figures: []Figure{{"m·g·r/k", h.Size, false},
			{"direction on the dial from 12", h.BearingDeg, false}},
		Cautions: []string{demagnetise, powerDown, takeLittle, eyeProtection, keepSpring, makersPractice},
	}
	if why := a.withheld(nil); why != "" {
		out.Suspicion = true
		out.Correction = why + " No metal is touched till then."
		return []Advice{out}
	}
	out.RemovesMetal = true
	out.Forecast = a.expect(correction{poise: true, settle: true})
	out.Correction = fmt.Sprintf("The hairspring's centring is looked at first; then the rim is lightened a little "+
		"where it stands at %s o'clock (seen from the dial side) with the balance at rest, or weight is added opposite; half "+
		"the figure first, then a new run.", h.DialHour())
	a.poiseFigures(&out, h)
	out.Correction += " The mean rate needs setting again afterwards."
	return []Advice{out}
}

func (a adviser) poiseFigures(out *Advice, h HeavySpot) {
	if h.FromJewelDeg != nil {
		out.Figures = append(out.Figures, Figure{"from the impulse jewel, clockwise from the balance side", *h.FromJewelDeg,
			false})
	}
	if h.Moment != nil {
		out.Figures = append(out.Figures, Figure{"heavy moment", *h.Moment, false})
	}
	if h.Removal != nil {
		out.Figures = append(out.Figures, Figure{"mass to take off at the rim", h.Removal.Mass, false},
			Figure{"gain by the lighter rim", h.Removal.GainsRate, true})
		out.Correction += fmt.Sprintf(" At a radius of %.1f mm that is about %s.", h.Removal.RadiusMm,
			h.Removal.Mass.Format())
	}
	if h.Screws != nil && len(h.Screws.Turns) > 0 {
		var words []string
		for _, t := range h.Screws.Turns {
			words = append(words, t.String())
		}
		out.Correction += fmt.Sprintf(" Or by the screws, in eighths of a turn: %s; that leaves %.0f %% of the moment and moves "+
			"the mean by %s s/d.", joined(words), 100*h.Screws.LeftShare, figure.Signed(h.Screws.MeanSPerDay, 1))
	}
}

// leastMoveSPerDay is the move of the regulator worth making.
const leastMoveSPerDay = 2

// regulateBy is what to add to the mean rate at full wind: the aim less the mean that the fit gives over the positions
// the limits ask for, so that a wild or knocking reading has no say. nil while too little was read, or while what was
// read may change by itself.
func (a adviser) regulateBy() *metrology.Value {
	if a.r.Readings < 4 || a.irregular > leastIrregular {
		return nil
	}
	set := a.f.options.Limits.Positions
	if len(set) == 0 {
		set = timing.Positions()
	}
	mean := map[int]float64{}
	n := 0.0
	for _, c := range a.f.cells(a.run) {
		if c.hours > 0.005 {
			continue
		}
		for _, p := range set {
			if p == c.p {
				for _, e := range a.f.model.row(a.run, c.p, math.Min(c.amp, bankingAmplitudeDeg), -1) {
					mean[e.at] += e.c
				}
				n++
			}
		}
	}
	if n == 0 {
		return nil
	}
	row := make([]entry, 0, len(mean))
	for at := range len(a.f.theta) {
		if c, used := mean[at]; used {
			row = append(row, entry{at, c / n})
		}
	}
	return &metrology.Value{Value: a.f.target() - dot(row, a.f.theta),
		StdUncertainty: math.Sqrt(math.Max(0, a.f.rowVariance(row))), Unit: "s/d"}
}

func (a adviser) regulator() []Advice {
	move := a.regulateBy()
	if move == nil || math.Abs(move.Value) < leastMoveSPerDay || math.Abs(move.Value) < move.Expanded() {
		return nil
	}
	way := "faster"
	if move.Value < 0 {
		way = "slower"
	}
	out := Advice{
		Kind: Regulate, Row: string(Regulate), Title: "Mean rate off its aim",
		Seen: fmt.Sprintf("The mean at full wind is %s s/d; the aim is %s s/d.", figure.Signed(a.f.target()-move.Value, 1),
			figure.Signed(a.f.target(), 1)),
		Evidence:   []string{"Mean over the positions the limits ask for, by the readings that go together."},
		Cause:      "The regulator, or the timing screws of a free-sprung balance, are not yet set.",
		Correction: fmt.Sprintf("After all other corrections, the watch is set %s by about %s.", way, size(*move).Format()),
		Cautions:   []string{keepSpring},
		Figures:    []Figure{{"regulator move", *move, true}},
		Forecast:   a.expect(correction{settle: true}),
	}
	if step := a.f.options.Balance.RegulatorStep; step > 0 {
		v := metrology.Value{Value: move.Value / step, StdUncertainty: move.StdUncertainty / step, Unit: "divisions"}
		out.Figures = append(out.Figures, Figure{"regulator move", v, true})
		out.Correction += fmt.Sprintf(" That is about %s.", size(v).Format())
	}
	return []Advice{out}
}

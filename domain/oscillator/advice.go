package oscillator

import (
	"cmp"
	"fmt"
	"math"
	"slices"

	"ledgerwheel/domain/figure"
	"ledgerwheel/domain/metrology"
	"ledgerwheel/domain/timing"
)

// Kind says what a piece of advice is about; pages and tests tell advice apart by it.
type Kind string

// The kinds, those that come before others at the bench first.
const (
	Magnetism   Kind = "magnetism"
	Knocking    Kind = "knocking"
	LowSpring   Kind = "low mainspring"
	Friction    Kind = "hanging friction"
	Beat        Kind = "beat"
	Side        Kind = "dial up and down"
	Horizontal  Kind = "lying and hanging"
	Poise       Kind = "poise"
	Isochronism Kind = "isochronism"
	Regulator   Kind = "regulator"
)

// Figure is a named figure of a finding.
type Figure struct {
	Label  string
	Value  metrology.Value
	Signed bool
}

// Advice is one entry of the ranked list. All texts are sentences for a page.
type Advice struct {
	Kind       Kind
	Title      string
	Seen       string   // what is seen
	Evidence   []string // the readings that speak for it, and against it
	Cause      string   // likely cause
	Correction string
	Cautions   []string
	Suspicion  bool // a pattern only: to be checked before anything is done
	Figures    []Figure
	Forecast   *Forecast // nil when no rates can be foretold for it

	weight float64 // s/d, or as much trouble
}

// Report is all that the page of a run shows.
type Report struct {
	Fit    *Fit
	Run    int // the occasion advised on: the last
	Advice []Advice
	// All is the forecast with every correction of the list done; nil when none has a forecast.
	All *Forecast
	// Against compares this run with what was expected after the run before; nil for a first run.
	Against *Comparison
	Gaps    []Gap
	Wild    []Wild
}

// longestList keeps the advice short.
const longestList = 6

// Advise fits all runs and advises on the last one.
func Advise(occasions []Occasion, o Options) (Report, error) {
	f, err := FitRuns(occasions, o)
	if err != nil {
		return Report{}, err
	}
	run := len(occasions) - 1
	out := Report{Fit: f, Run: run, Gaps: f.GapsOf(run)}
	for _, w := range f.Wild {
		if w.Run == run {
			out.Wild = append(out.Wild, w)
		}
	}
	a := adviser{f: f, r: f.Runs[run], run: run}
	out.Advice = a.list()
	out.All = a.all(out.Advice)
	if run > 0 {
		if err := out.compare(occasions, o); err != nil {
			return Report{}, err
		}
	}
	return out, nil
}

// compare sets this run against what the run before led to expect. What was done in between is not recorded in
// figures, so the expectation is that the leading correction was carried out.
func (r *Report) compare(occasions []Occasion, o Options) error {
	before, err := FitRuns(occasions[:r.Run], o)
	if err != nil {
		return err
	}
	a := adviser{f: before, r: before.Runs[r.Run-1], run: r.Run - 1, quick: true}
	advice := a.list()
	expected := before.forecast(r.Run-1, correction{unjudged: true})
	if !occasions[r.Run].changes().Everything && occasions[r.Run].changes().Poise {
		for _, x := range advice {
			if x.Forecast != nil {
				expected = *x.Forecast
				break
			}
		}
	}
	c := before.Compare(expected, occasions[r.Run].Run)
	r.Against = &c
	return nil
}

// adviser looks at one run.
type adviser struct {
	f     *Fit
	r     RunFit
	run   int
	quick bool // rates only, without the chance to pass
}

func (a adviser) list() []Advice {
	var out []Advice
	for _, look := range []func() *Advice{a.magnetism, a.knocking, a.lowSpring, a.friction, a.beat, a.side, a.horizontal,
		a.poise, a.isochronism} {
		if x := look(); x != nil {
			out = append(out, *x)
		}
	}
	// What has to be settled before rates mean anything stands first; the rest by how much it moves the rates.
	slices.SortStableFunc(out, func(x, y Advice) int {
		if d := cmp.Compare(order(x.Kind), order(y.Kind)); d != 0 {
			return d
		}
		return cmp.Compare(y.weight, x.weight)
	})
	if x := a.regulator(); x != nil {
		out = append(out, *x)
	}
	return out[:min(len(out), longestList)]
}

func order(k Kind) int {
	switch k {
	case Magnetism:
		return 0
	case Knocking:
		return 1
	case LowSpring, Friction:
		return 2
	case Beat:
		return 3
	}
	return 4
}

func (a adviser) all(list []Advice) *Forecast {
	c := correction{settle: true}
	any := false
	for _, x := range list {
		any = any || x.Forecast != nil
		switch x.Kind {
		case Poise:
			c.poise = true
		case Horizontal:
			c.horizontal = true
		case Side:
			c.side = true
		case Isochronism:
			c.slope = true
		case Beat:
			c.beat = true
		}
	}
	if !any {
		return nil
	}
	f := a.f.forecast(a.run, c)
	return &f
}

func (a adviser) expect(c correction) *Forecast {
	c.unjudged = a.quick
	f := a.f.forecast(a.run, c)
	return &f
}

// The usual cautions of work at the balance (common practice).
const (
	powerDown      = "The mainspring is let down before balance or fork is lifted."
	demagnetise    = "Any magnetism is taken out first: it imitates almost every other fault."
	keepSpring     = "The hairspring is easily bent; the balance is never turned over hanging from it."
	takeLittle     = "Metal taken off does not come back: less than the figure first, then a new run."
	eyeProtection  = "Chips fly: eye protection is worn where metal is cut or drilled."
	makersPractice = "The maker's instructions and the shop's own practice come before this note."
)

// leastWorthSPerDay is the rate below which a fault is not worth a correction of its own (common practice).
const leastWorthSPerDay = 4

func sure(v metrology.Value, least float64) bool {
	return math.Abs(v.Value) >= least && math.Abs(v.Value) > v.Expanded()
}

func (a adviser) poise() *Advice {
	h := a.r.Poise
	if !a.r.PoiseKnown || !h.Significant {
		return nil
	}
	swing, worst := 0.0, cell{}
	for _, c := range cells(a.r.Run) {
		if c.p.Vertical() {
			if s := 2 * SecondsPerDay * h.Size.Value * 1e-6 * math.Abs(PoiseFactor(c.amp)); s > swing {
				swing, worst = s, c
			}
		}
	}
	if swing < leastWorthSPerDay {
		return nil
	}
	out := &Advice{
		Kind: Poise, Title: "Balance out of poise", Seen: h.Text(), weight: swing,
		Evidence: []string{fmt.Sprintf("It parts opposite hanging positions by up to %.0f s/d (%s, amplitude %.0f°); a balance in "+
			"poise would read so with a probability of %s.", swing, timing.StateWords(worst.hours), worst.amp,
			chance(h.Probability))},
		Cause: "A heavy spot of the balance rim, a roller or collet set out of balance, or a hairspring out of centre, which " +
			"imitates one.",
		Cautions: []string{demagnetise, powerDown, takeLittle, eyeProtection, keepSpring, makersPractice},
		Figures:  []Figure{{"m·g·r/k", h.Size, false}, {"direction on the dial from 12", h.BearingDeg, false}},
		Forecast: a.expect(correction{poise: true, settle: true}),
	}
	out.Correction = fmt.Sprintf("The hairspring's centring is looked at first; then the rim is lightened a little "+
		"where it stands at %s "+
		"o'clock (seen from the dial side) with the balance at rest, or weight is added opposite.", h.DialHour())
	a.poiseFigures(out, h)
	out.Correction += " The mean rate needs setting again afterwards."
	return out
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
	if len(h.Turns) > 0 {
		var words []string
		for _, t := range h.Turns {
			words = append(words, t.String())
		}
		out.Correction += fmt.Sprintf(" By the screws, without changing the mean: %s.", joined(words))
	}
}

func (a adviser) horizontal() *Advice {
	h := a.r.Horizontal
	if a.r.Readings == 0 || !sure(h, leastWorthSPerDay) || !(h.StdUncertainty < knownDifference) {
		return nil
	}
	way, cause := "gains lying against hanging", "Hanging friction of worn or dry pivots, or regulator pins too wide, "+
		"on which the hanging spring leans less evenly."
	if h.Value < 0 {
		way, cause = "loses lying against hanging", "Flattened or rough pivot ends or cap jewels, or a hairspring that "+
			"touches or is out of flat when lying."
	}
	return &Advice{
		Kind: Horizontal, Title: "Lying and hanging rates differ", weight: math.Abs(h.Value),
		Seen:     fmt.Sprintf("The watch %s by %s at equal amplitude, poise apart.", way, size(h).Format()),
		Evidence: []string{fmt.Sprintf("Horizontal less vertical: %s.", h.FormatSigned()), a.amplitudeWords()},
		Cause:    cause,
		Correction: "Pivots, jewels and oil are looked at first; then the play of the hairspring between the regulator pins and " +
			"the flatness and centring of the spring.",
		Cautions: []string{demagnetise, powerDown, keepSpring, makersPractice},
		Figures:  []Figure{{"horizontal less vertical", h, true}},
		Forecast: a.expect(correction{horizontal: true, settle: true}),
	}
}

func (a adviser) side() *Advice {
	s := a.r.Side
	if !a.r.SideKnown || !sure(s, leastWorthSPerDay) {
		return nil
	}
	return &Advice{
		Kind: Side, Title: "Dial up and dial down differ", weight: math.Abs(s.Value),
		Seen:     fmt.Sprintf("Dial up less dial down is %s at equal amplitude.", s.FormatSigned()),
		Evidence: []string{a.sideWords()},
		Cause: "One balance pivot or cap jewel worn, flat, dry or dirty, too much endshake, or a hairspring that touches on one " +
			"side.",
		Correction: "Both pivots and cap jewels are compared under strong magnification, endshake is felt, and the " +
			"hairspring is " +
			"watched in both positions for touching.",
		Cautions: []string{demagnetise, powerDown, keepSpring, makersPractice},
		Figures:  []Figure{{"dial up less dial down", s, true}},
		Forecast: a.expect(correction{side: true, settle: true}),
	}
}

// leastSlope is the isochronism worth a word, s/d for 100°.
const leastSlope = 8

func (a adviser) isochronism() *Advice {
	s := a.r.Slope
	if !a.r.SlopeKnown || !sure(s, leastSlope) {
		return nil
	}
	cause := "Play of the hairspring between the regulator pins (the long arcs use less of the free spring), an outer curve that " +
		"opens unevenly, or escapement loss that tells at low amplitude."
	if s.Value < 0 {
		cause = "Regulator pins set so that the spring leans on one of them, or the outer (or over-) coil: short arcs gain when " +
			"the point of attachment favours them."
	}
	return &Advice{
		Kind: Isochronism, Title: "Rate changes with amplitude", weight: math.Abs(s.Value) / 2,
		Seen: fmt.Sprintf("The rate changes by %s more amplitude, poise apart.", s.FormatSigned()),
		Evidence: []string{"The fit sets every position against its own amplitude, so that poise, which changes sign at 220°, is " +
			"not taken for isochronism."},
		Cause: cause,
		Correction: "The play at the regulator pins is looked at first and made even and small; then the terminal curve and " +
			"centring; then the escapement's lock and drop.",
		Cautions: []string{demagnetise, powerDown, keepSpring, makersPractice},
		Figures:  []Figure{{"isochronism", s, true}},
		Forecast: a.expect(correction{slope: true, settle: true}),
	}
}

// greatestFineBeatMs is where beat error is worth a correction when the shop has no limit (common practice: 0.3 to
// 0.8 ms by source).
const greatestFineBeatMs = 0.5

func (a adviser) beat() *Advice {
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
	out := &Advice{
		Kind: Beat, Title: "Out of beat", weight: e.Value,
		Seen: fmt.Sprintf("The beat error is %s in %s, %s.", e.Format(), worst.Position,
			timing.StateWords(worst.HoursAfterWinding)),
		Evidence:   []string{fmt.Sprintf("Looked for: at most %.1f ms, as half the difference of successive beats.", limit)},
		Cause:      "With the balance at rest the impulse jewel stands beside the line of centres.",
		Correction: "The stud carrier, or with a fixed stud the collet, is turned until both beats are even.",
		Cautions:   []string{powerDown, keepSpring, makersPractice},
		Figures:    []Figure{{"beat error", e, false}},
		Forecast:   a.expect(correction{beat: true, settle: true}),
	}
	amp, ok := a.f.options.Instruments.Value(*worst, timing.Amplitude)
	if !ok || a.f.options.Balance.BeatsPerHour == 0 {
		return out
	}
	if angle, err := BeatAngle(amp, e, a.f.options.Balance.BeatsPerHour); err == nil {
		out.Figures = append(out.Figures, Figure{"angle of collet or stud", angle, false})
		out.Correction += fmt.Sprintf(" The angle is about %s.", angle.Format())
	}
	return out
}

func (a adviser) regulator() *Advice {
	j := timing.StatisticsOf(a.r.Run, timing.Options{Positions: a.f.options.Limits.Positions,
		Instruments: a.f.options.Instruments})
	state, ok := j.At(0)
	if !ok || !state.Mean.Computable() {
		return nil
	}
	mean := state.Mean.Value
	move := metrology.Value{Value: a.f.target() - mean.Value, StdUncertainty: mean.StdUncertainty, Unit: "s/d"}
	if math.Abs(move.Value) < 2 {
		return nil
	}
	way := "faster"
	if move.Value < 0 {
		way = "slower"
	}
	out := &Advice{
		Kind: Regulator, Title: "Mean rate off its aim", weight: math.Abs(move.Value),
		Seen: fmt.Sprintf("The mean at full wind is %s; the aim is %s s/d.", mean.FormatSigned(),
			figure.Signed(a.f.target(), 1)),
		Evidence:   []string{"Mean over the positions the limits ask for."},
		Cause:      "The regulator, or the timing screws of a free-sprung balance, are not yet set.",
		Correction: fmt.Sprintf("After all other corrections, the watch is set %s by about %s.", way, size(move).Format()),
		Cautions:   []string{keepSpring},
		Figures:    []Figure{{"regulator move", move, true}},
		Forecast:   a.expect(correction{settle: true}),
	}
	if step := a.f.options.Balance.RegulatorStep; step > 0 {
		v := metrology.Value{Value: move.Value / step, StdUncertainty: move.StdUncertainty / step, Unit: "divisions"}
		out.Figures = append(out.Figures, Figure{"regulator move", v, true})
		out.Correction += fmt.Sprintf(" That is about %s.", size(v).Format())
	}
	return out
}

func size(v metrology.Value) metrology.Value {
	v.Value = math.Abs(v.Value)
	return v
}

func chance(p float64) string {
	if p < 0.001 {
		return "under 0.1 %"
	}
	return fmt.Sprintf("%.1f %%", 100*p)
}

package oscillator

import (
	"fmt"
	"math"

	"ledgerwheel/domain/metrology"
	"ledgerwheel/domain/timing"
)

// Kind says what a piece of advice is about; pages, tests and the command line tell advice apart by it.
type Kind string

// The kinds, those that come before others at the bench first.
const (
	Magnetised        Kind = "magnetised"
	CheckSpring       Kind = "check_spring"
	ReadingsDoubtful  Kind = "readings_doubtful"
	PowerLow          Kind = "power_low"
	Knocking          Kind = "knocking"
	OutOfBeat         Kind = "out_of_beat"
	EndShake          Kind = "end_shake"
	Isochronism       Kind = "isochronism"
	SpringInPositions Kind = "spring_in_positions"
	OutOfPoise        Kind = "out_of_poise"
	Regulate          Kind = "regulate"

	// What there is to do when nothing is to be corrected.
	MeasureMore  Kind = "measure_more"
	WithinLimits Kind = "within_limits"
	FinalRun     Kind = "final_run"
)

// Step is a row of the order an adjuster keeps.
type Step struct {
	Kind Kind
	Name string // as the page heads it
	// Gate is a step that has to be settled before any later one is acted on: until then later readings mislead.
	Gate bool
	// Fine is a step that is left alone while the run keeps its limits.
	Fine bool
	// Seen is what speaks for the step when it was seen at diagnosis, and SettledBy the work after which a new run is
	// wanted before anything more is done about it.
	Seen      []Seen
	SettledBy []Work
	look      func(adviser) []Advice
	cure      func(*correction)
}

// steps is the order, from common practice: Kleinlein 1920, sections 46 to 59, for power, flatness and beat before
// positions and positions before the mean rate; demagnetising first is common practice without a source.
var steps = []Step{
	{Kind: Magnetised, Name: "Magnetism and touching coils", Gate: true, look: adviser.magnetism,
		Seen: []Seen{SeenMagnetised, SeenCoilsTouch}, SettledBy: []Work{Demagnetised, HairspringReplaced}},
	{Kind: CheckSpring, Name: "The right spring, the right beat", Gate: true, look: adviser.spring,
		Seen: []Seen{SeenMagnetised, SeenCoilsTouch}, SettledBy: []Work{HairspringReplaced}},
	{Kind: ReadingsDoubtful, Name: "Readings that agree", Gate: true, look: adviser.doubt, SettledBy: []Work{Cleaned}},
	{Kind: PowerLow, Name: "Cleanliness and power", Gate: true, look: adviser.power,
		Seen: []Seen{SeenDirt, SeenMainspring, SeenPivots, SeenEscapement}, SettledBy: []Work{Cleaned, MainspringReplaced}},
	{Kind: Knocking, Name: "Knocking", Gate: true, look: adviser.knocking, SettledBy: []Work{MainspringReplaced}},
	{Kind: OutOfBeat, Name: "Beat", Gate: true, look: adviser.beat, cure: func(c *correction) { c.beat = true }},
	{Kind: EndShake, Name: "Dial up and dial down", Gate: true, Fine: true, look: adviser.side,
		cure: func(c *correction) { c.side = true }, Seen: []Seen{SeenPivots, SeenDirt}, SettledBy: []Work{Cleaned, StaffReplaced}},
	{Kind: Isochronism, Name: "Isochronism and pins", Gate: true, Fine: true, look: adviser.pins,
		Seen: []Seen{SeenPinsOpen}},
	{Kind: SpringInPositions, Name: "The spring in positions", Gate: true, Fine: true, look: adviser.springInPositions,
		cure: func(c *correction) { c.spring = true }, Seen: []Seen{SeenSpringOutOfTrue}, SettledBy: []Work{HairspringReplaced}},
	{Kind: OutOfPoise, Name: "Poise", Fine: true, look: adviser.poise, cure: func(c *correction) { c.poise = true }},
	{Kind: Regulate, Name: "Mean rate", Fine: true, look: adviser.regulator},
}

// Steps returns the order an adjuster keeps.
func Steps() []Step { return append([]Step(nil), steps...) }

// Next is what to do now.
type Next struct {
	Kind Kind
	Text string // a sentence or two
}

// list gathers what the steps find, in their order. While a gate stands open, what comes after it waits; where nothing
// can be concluded from the readings, nothing fine is.
func (a adviser) list() []Advice {
	var out []Advice
	settled := a.keepsLimits()
	var waits Kind
	for _, s := range steps {
		if s.Fine && (settled || unsure(out)) {
			continue
		}
		found := s.look(a)
		for _, x := range found {
			x = a.known.told(s, x)
			x.After = waits
			if waits != "" {
				x.RemovesMetal = false
			}
			out = append(out, x)
			if a.quick && x.Forecast != nil {
				return out
			}
		}
		if s.Gate && len(found) > 0 && waits == "" {
			waits = s.Kind
		}
	}
	return out
}

// unsure reports whether the list holds a step before which nothing can be concluded from the readings.
func unsure(list []Advice) bool {
	for _, x := range list {
		switch x.Kind {
		case Magnetised, CheckSpring, ReadingsDoubtful:
			return true
		}
	}
	return false
}

// leastRoom is the chance of keeping a limit that counts as keeping it.
const leastRoom = 0.5

// keepsLimits reports whether the readings keep every limit they can be held against, more likely than not, and every
// limit of rates is one of them but for those that need a later state of wind.
func (a adviser) keepsLimits() bool {
	if len(a.judged.Limits) == 0 {
		return false
	}
	for _, l := range a.judged.Limits {
		switch {
		case l.Verdict == metrology.Fail:
			return false
		case l.Verdict == metrology.Undecided && l.ProbabilityOfConformity < leastRoom:
			return false
		case l.Verdict == metrology.NotMeasured && l.Limit.Key == timing.DeltaRate:
			return false
		}
	}
	return true
}

// next says what to do now: the first of the list, or to measure what is missing, or to stop.
func (a adviser) next(list []Advice) Next {
	if len(list) > 0 {
		first := list[0]
		return Next{first.Kind, first.Title + ". " + first.Correction}
	}
	if a.keepsLimits() {
		return a.stop()
	}
	if text := a.missing(); text != "" {
		return Next{MeasureMore, text}
	}
	return Next{MeasureMore, "The run does not keep its limits, but the readings name no single cause. Read each position " +
		"again, longer, before anything is touched."}
}

// stop is the answer to a run that keeps its limits.
func (a adviser) stop() Next {
	for _, l := range a.judged.Limits {
		if l.Limit.Key == timing.Isochronism && l.Verdict == metrology.NotMeasured {
			return Next{WithinLimits, "The run keeps its limits: nothing is corrected. Read the positions again after 24 h; " +
				"if they keep them too, the final run comes next."}
		}
	}
	if a.r.Run.Kind == timing.Final {
		return Next{WithinLimits, "The final run keeps its limits: nothing is corrected."}
	}
	return Next{WithinLimits, "The run keeps its limits: nothing is corrected. The final run comes next."}
}

// missing says which reading would tell more, "" when none would.
func (a adviser) missing() string {
	hung, amplitudes := 0, 0
	for _, p := range timing.Positions() {
		r, ok := a.r.Run.Reading(p, 0)
		if !ok || r.RateSPerDay == nil {
			continue
		}
		if p.Vertical() {
			hung++
			if r.AmplitudeDeg != nil {
				amplitudes++
			}
		}
	}
	switch {
	case hung < 4:
		return fmt.Sprintf("Read rate and amplitude in 3H, 6H, 9H and 12H at full wind; %d of the four have a rate.", hung)
	case amplitudes < 3:
		return "Read the amplitude with each rate: without it poise and spring can't be told apart."
	}
	return a.partingReading()
}

// partingReading asks for the reading that tells a heavy spot from the spring's own error, where hanging rates differ
// and the readings cannot tell which it is.
func (a adviser) partingReading() string {
	if a.r.Poise.Significant || !a.hangingDiffers() {
		return ""
	}
	poise, spring := a.eitherWay()
	return fmt.Sprintf("The hanging rates differ, and a heavy spot towards %s o'clock or an error of the spring itself "+
		"(fastest with %s o'clock up) would both read so. Let the spring down until the balance swings about 160° hanging and "+
		"read 3H, 6H, 9H and 12H again: there a heavy spot shows most, and the other way round than above 220°; the spring's own "+
		"error keeps its sign, and half of it or more may stay. "+
		"No metal is touched before.", poise, spring)
}

// hangingDiffers reports whether the hanging rates at full wind differ by more than the readings scatter.
func (a adviser) hangingDiffers() bool {
	x, y, n := a.hangingVector()
	u := a.f.repeat * math.Sqrt(2/math.Max(n, 1))
	return n >= 3 && 2*math.Hypot(x, y) > leastWorthSPerDay && math.Hypot(x, y) > 2*u
}

// hangingVector is the first harmonic of the hanging rates at full wind, s/d towards 12 and towards 3 o'clock up.
func (a adviser) hangingVector() (x, y, n float64) {
	for _, p := range timing.Positions() {
		hour, vertical := p.UppermostHour()
		r, ok := a.r.Run.Reading(p, 0)
		if !vertical || !ok || r.RateSPerDay == nil {
			continue
		}
		sin, cos := math.Sincos(radians(float64(hour) * degreesPerHour))
		x, y, n = x+r.RateSPerDay.Value*cos, y+r.RateSPerDay.Value*sin, n+1
	}
	if n == 0 {
		return 0, 0, 0
	}
	return 2 * x / n, 2 * y / n, n
}

// eitherWay gives the hour a heavy spot would have, and the hour up at which the spring's error would be fastest.
func (a adviser) eitherWay() (poise, spring Hour) {
	x, y, _ := a.hangingVector()
	fastest := degrees(math.Atan2(y, x))
	spring = Hour(turn(fastest) / degreesPerHour)
	poise = spring
	if hung, ok := a.amplitude(0, false); ok && hung.Value < NeutralAmplitudeDeg { // there the lowest point is heavy
		poise = Hour(turn(fastest+180) / degreesPerHour)
	}
	return poise, spring
}

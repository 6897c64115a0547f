package oscillator

import (
	"errors"
	"fmt"
	"math"
	"slices"

	"gonum.org/v1/gonum/mat"

	"ledgerwheel/domain/metrology"
	"ledgerwheel/domain/timing"
)

// Gap is something that cannot be concluded, and why.
type Gap struct {
	Run   int    // index of the occasion; -1 for all
	Topic string // "poise", "isochronism", "reading", "side", "horizontal", "scatter"
	Text  string // a sentence
}

// Wild is a reading that stands far from what all others say. It is kept with little weight.
type Wild struct {
	Run       int
	Position  timing.Position
	Hours     float64
	Rate      metrology.Value // as read, s/d
	Others    metrology.Value // what the others lead to expect there, s/d
	Weight    float64         // left to it, 0 to 1
	Text      string
	deviation float64
}

// RunFit is what the fit says of one run.
type RunFit struct {
	Run        timing.Run
	Readings   int             // that entered
	Base       metrology.Value // hanging, poise apart, at 270° of amplitude, s/d
	Poise      HeavySpot
	PoiseKnown bool
	Horizontal metrology.Value // lying less hanging at equal amplitude, poise apart, s/d
	Side       metrology.Value // dial up less dial down at equal amplitude, s/d
	SideKnown  bool
	Slope      metrology.Value // isochronism, s/d for 100° more amplitude
	SlopeKnown bool
}

// Fit is the model fitted to all runs.
type Fit struct {
	Runs             []RunFit // by occasion
	Wild             []Wild
	Gaps             []Gap
	ChiSquare        float64
	DegreesOfFreedom int

	options    Options
	model      *model
	obs        []observation
	theta      []float64
	cov        *mat.SymDense
	extra      map[int]float64 // variance added to wild readings, (s/d)²
	nodes      []node
	repeat     float64                  // standard deviation of a rate laid again, s/d
	parts      []part                   // the last run's spring and poise, the weightiest first
	judgements map[int]timing.Judgement // by run, as they were asked for
	occasions  []Occasion
	// evidence is the logarithm of the readings' probability by the model, for comparing it with others.
	evidence float64
}

// ErrNoRuns reports that there is nothing to fit.
var ErrNoRuns = errors.New("no run to judge")

var errNoSolution = errors.New("the readings leave the fit without a solution")

// FitRuns fits the model of the package to all runs, each reading at its own amplitude. What is not known of the lift
// angle, of the repeatability and of the sizes of poise and spring error is averaged over (see weigh.go); clocks enter as
// shared unknowns with their stated uncertainty. Runs that do not pass Problems (impossible amplitudes among them) are
// refused. Readings that the model cannot use, and what cannot be concluded, stand in Gaps.
func FitRuns(occasions []Occasion, o Options) (*Fit, error) {
	f, err := solved(occasions, o)
	if err != nil {
		return nil, err
	}
	f.describeFrom(0)
	return f, nil
}

// solved is FitRuns without a description of the runs.
func solved(occasions []Occasion, o Options) (*Fit, error) {
	f, err := weighed(occasions, o)
	if err != nil {
		return nil, err
	}
	f.average()
	f.ChiSquare, f.DegreesOfFreedom = f.fitQuality(f.extra)
	f.sayScatter()
	return f, nil
}

// weighed is a fit as far as the evidence: its estimates are not averaged yet.
func weighed(occasions []Occasion, o Options) (*Fit, error) {
	if len(occasions) == 0 {
		return nil, ErrNoRuns
	}
	if err := o.Instruments.Check(); err != nil {
		return nil, err
	}
	f := &Fit{options: o, repeat: pilotRepeatSPerDay, occasions: occasions}
	if o.RepeatabilitySPerDay > 0 {
		f.repeat = o.RepeatabilitySPerDay
	}
	for i, occasion := range occasions {
		for field, reason := range occasion.Run.Problems() {
			return nil, fmt.Errorf("run %d, %s: %s", i+1, field, reason)
		}
		f.observe(i, occasion.Run.Readings)
		for _, down := range occasion.RunDowns {
			f.observe(i, down)
		}
	}
	f.model = newModel(occasions, f.obs, o)
	f.theta = make([]float64, len(f.model.prior))
	if err := f.solveWith(nil); err != nil {
		return nil, err
	}
	var err error
	if f.extra, err = f.tameWild(); err != nil {
		return nil, err
	}
	return f, f.weigh(f.extra)
}

// describeFrom draws what the runs say; of those before first the poise, which takes the time, is left out.
func (f *Fit) describeFrom(first int) {
	for i, occasion := range f.occasions {
		f.Runs = append(f.Runs, f.describe(i, occasion.Run, i >= first))
	}
}

// pilotRepeatSPerDay is the repeatability by which wild readings are found, where it is not known: that of an unsteady
// watch, so that none is called wild for being one.
const pilotRepeatSPerDay = 2.0

// observe takes in the readings the model can use and says why it leaves the others.
func (f *Fit) observe(run int, readings []timing.Reading) {
	for _, reading := range readings {
		where := fmt.Sprintf("%s %s", reading.Position, timing.StateWords(reading.HoursAfterWinding))
		gap := func(why string) { f.Gaps = append(f.Gaps, Gap{run, "reading", where + " " + why}) }
		switch {
		case reading.RateSPerDay == nil:
			continue
		case reading.AmplitudeDeg == nil:
			gap("has no amplitude, so its rate cannot be set against the others.")
			continue
		case reading.AmplitudeDeg.Value < leastFreeAmplitudeDeg:
			gap(fmt.Sprintf("was left out: below %d° of amplitude the escapement governs the rate.", leastFreeAmplitudeDeg))
			continue
		case reading.AmplitudeDeg.Value >= bankingAmplitudeDeg:
			gap(fmt.Sprintf("was left out: from %d° on the balance may knock, and its rate is then no free rate.",
				bankingAmplitudeDeg))
			continue
		}
		f.obs = append(f.obs, observation{
			run: run, reading: reading, rate: reading.RateSPerDay.Value, amp: reading.AmplitudeDeg.Value,
			rateStd: reading.RateSPerDay.Independent(), ampStd: amplitudeStd(*reading.AmplitudeDeg),
		})
	}
}

// amplitudeStd is what an amplitude was read to: as stated, or what is usual where only its digits say.
func amplitudeStd(a timing.Figure) float64 {
	if a.StdUncertainty > 0 {
		return a.Independent()
	}
	return math.Max(priorAmplitude, a.Independent())
}

// rounds of reweighting: the amplitude's share of the variance depends on the estimate, and settles at once.
const rounds = 3

// solveWith solves with extra variance (s/d)² added to some observations.
func (f *Fit) solveWith(extra map[int]float64) error {
	for round := range rounds {
		if err := f.step(extra, round == rounds-1); err != nil {
			return err
		}
	}
	return nil
}

func (f *Fit) rowOf(ob observation) []entry {
	return f.model.row(ob.run, ob.reading.Position, ob.amp, f.model.clock(ob.reading.Instrument))
}

// ownVariance is that of a reading apart from the repeatability: its own, and its amplitude's by the slope there.
func (f *Fit) ownVariance(ob observation) float64 {
	d := f.model.amplitudeSlope(f.theta, ob.run, ob.reading.Position, ob.amp)
	return ob.rateStd*ob.rateStd + d*d*ob.ampStd*ob.ampStd
}

func (f *Fit) variance(ob observation) float64 { return f.ownVariance(ob) + f.repeat*f.repeat }

// step does one weighted least squares solution, with its covariance where asked for.
func (f *Fit) step(extra map[int]float64, withCovariance bool) error {
	n := len(f.theta)
	normal := lowerTriangle{n, make([]float64, n*n)}
	right := make([]float64, n)
	for j, p := range f.model.prior {
		normal.row(j)[j] = 1 / (p * p)
	}
	row := make([]entry, 0, 10)
	for i, ob := range f.obs {
		w := 1 / (f.variance(ob) + extra[i])
		row = f.model.appendRow(row[:0], ob.run, ob.reading.Position, ob.amp, f.model.clock(ob.reading.Instrument))
		for _, a := range row {
			right[a.at] += w * a.c * ob.rate
			into := normal.row(a.at)
			for _, b := range row {
				if b.at <= a.at {
					into[b.at] += w * a.c * b.c
				}
			}
		}
	}
	if !normal.cholesky() {
		return errNoSolution
	}
	normal.forward(right)
	normal.backward(right, n)
	copy(f.theta, right)
	if withCovariance {
		f.cov = normal.covariance()
	}
	return nil
}

func dot(row []entry, theta []float64) float64 {
	sum := 0.0
	for _, a := range row {
		sum += a.c * theta[a.at]
	}
	return sum
}

func (f *Fit) rowVariance(row []entry) float64 { return f.rowCovariance(row, row) }

func (f *Fit) rowCovariance(a, b []entry) float64 {
	sum := 0.0
	for _, x := range a {
		for _, y := range b {
			sum += x.c * y.c * f.cov.At(x.at, y.at)
		}
	}
	return sum
}

// scatterSPerDay is the repeatability beyond which a watch is said to be unsteady (common practice: laid again, a sound
// watch comes back within ±2 s/d, two in three times within half of that).
const scatterSPerDay = 3

// sayScatter says where the readings do not check one another, and where they scatter.
func (f *Fit) sayScatter() {
	if f.DegreesOfFreedom < 1 {
		f.Gaps = append(f.Gaps, Gap{-1, "scatter",
			"There are no more readings than unknowns, so nothing checks whether they agree " +
				"with one another. A second state of wind or a repeated position would."})
		return
	}
	if r := f.Repeatability(); r.Value > scatterSPerDay {
		f.Gaps = append(f.Gaps, Gap{-1, "scatter", fmt.Sprintf("The readings scatter by about ±%.0f s/d more than one "+
			"cause explains, and all uncertainties are as wide as that asks. Dirt, magnetism, a loose part or unsteady "+
			"amplitude may be behind it.", r.Value)})
	}
}

func (f *Fit) value(at int, unit string) metrology.Value {
	return metrology.Value{Value: f.theta[at], StdUncertainty: math.Sqrt(math.Max(0, f.cov.At(at, at))), Unit: unit}
}

// describe draws what one run says, with what it cannot say.
func (f *Fit) describe(i int, run timing.Run, withPoise bool) RunFit {
	e := f.model.epochs[i]
	out := RunFit{Run: run, Base: f.value(e.base, "s/d"), Horizontal: f.value(e.horizontal, "s/d"),
		Side: f.value(e.side, "s/d"), Slope: f.value(e.slope, "s/d per 100°")}
	have := map[timing.Position]bool{}
	for _, ob := range f.obs {
		if f.model.epochs[ob.run].poise == e.poise {
			have[ob.reading.Position] = true
		}
		if ob.run == i {
			out.Readings++
		}
	}
	switch {
	case !withPoise:
	case i > 0 && len(f.Runs) == i && f.model.epochs[i-1].poise == e.poise && f.Runs[i-1].Poise.Size.Unit != "":
		out.Poise = f.Runs[i-1].Poise
	default:
		out.Poise = newHeavySpot(f.partsOf(e), f.options.Balance)
	}
	vertical := 0
	for p := range have {
		if p.Vertical() {
			vertical++
		}
	}
	out.PoiseKnown = vertical >= 3 && (out.Poise.Significant || out.Poise.UpperPPM < openPoisePPM)
	out.SideKnown = f.cov.At(e.side, e.side) < knownDifference*knownDifference
	out.SlopeKnown = !f.model.blind[e.slope]
	f.addGaps(i, out, vertical)
	return out
}

// partsOf is the mixture over spring and poise of an epoch: kept of the last one, of an older one its moments.
func (f *Fit) partsOf(e epoch) []part {
	if e.poise >= f.model.focus {
		return f.parts
	}
	p := part{weight: 1, repeat: f.repeat}
	for a, at := range []int{e.spring, e.spring + 1, e.spring + 2, e.spring + 3, e.poise, e.poise + 1} {
		p.mean[a] = f.theta[at]
		for b, other := range []int{e.spring, e.spring + 1, e.spring + 2, e.spring + 3, e.poise, e.poise + 1} {
			p.cov[a][b] = f.cov.At(at, other)
		}
	}
	return []part{p}
}

const (
	// openPoisePPM is the size of a heavy spot that the readings must at least rule out to say anything of poise.
	openPoisePPM = 2500
	// knownDifference is the standard uncertainty beyond which a difference of positions is not known, s/d.
	knownDifference = 8
)

func (f *Fit) addGaps(i int, r RunFit, vertical int) {
	gap := func(topic, text string) { f.Gaps = append(f.Gaps, Gap{i, topic, text}) }
	switch {
	case r.PoiseKnown:
	case vertical < 3:
		gap("poise", fmt.Sprintf("Poise cannot be told: it needs rate and amplitude in at least three of the positions "+
			"3H, 6H, 9H and 12H; %d read.", vertical))
	default:
		gap("poise", "Poise cannot be told: at these amplitudes a heavy spot and the hairspring's own error look alike, and "+
			"near 220° a heavy spot shows no rate. Readings at a later state of wind would part them.")
	}
	if !r.SlopeKnown {
		gap("isochronism", "Isochronism cannot be told: it needs readings at a second state of wind with the amplitude at least "+
			"15° apart.")
	}
	if !r.SideKnown {
		gap("side", "Dial up cannot be set against dial down: it needs rate and amplitude in CH and in FH.")
	}
}

// GapsOf returns what cannot be concluded about one run, with what concerns all.
func (f *Fit) GapsOf(run int) []Gap {
	return slices.DeleteFunc(slices.Clone(f.Gaps), func(g Gap) bool { return g.Run != run && g.Run != -1 })
}

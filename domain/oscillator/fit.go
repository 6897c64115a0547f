package oscillator

import (
	"errors"
	"fmt"
	"math"
	"slices"

	"gonum.org/v1/gonum/mat"
	"gonum.org/v1/gonum/stat/distuv"

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
	// Scale is what all uncertainties were multiplied by because the readings scatter more than they state; 1 if not.
	Scale float64

	options Options
	model   *model
	obs     []observation
	theta   []float64
	cov     *mat.SymDense // scaled
	dof     int           // that Scale was found from; 0 when Scale is 1
}

// ErrNoRuns reports that there is nothing to fit.
var ErrNoRuns = errors.New("no run to judge")

// FitRuns fits the model of the package to all runs by weighted least squares, each reading at its own amplitude. The
// uncertainty of an amplitude enters through the slope of the rate there; clocks and lift angle enter as shared
// unknowns with their stated uncertainty. Runs that do not pass Problems (impossible amplitudes among them) are
// refused. Readings that the model cannot use, and what cannot be concluded, stand in Gaps.
func FitRuns(occasions []Occasion, o Options) (*Fit, error) {
	if len(occasions) == 0 {
		return nil, ErrNoRuns
	}
	if err := o.Instruments.Check(); err != nil {
		return nil, err
	}
	f := &Fit{options: o, Scale: 1}
	for i, occasion := range occasions {
		for field, reason := range occasion.Run.Problems() {
			return nil, fmt.Errorf("run %d, %s: %s", i+1, field, reason)
		}
		f.observe(i, occasion.Run)
	}
	f.model = newModel(occasions, f.obs, o)
	f.theta = make([]float64, len(f.model.prior))
	if err := f.solveWith(nil); err != nil {
		return nil, err
	}
	if err := f.tameWild(); err != nil {
		return nil, err
	}
	f.scaleUp()
	for i, occasion := range occasions {
		f.Runs = append(f.Runs, f.describe(i, occasion.Run))
	}
	return f, nil
}

// observe takes in the readings the model can use and says why it leaves the others.
func (f *Fit) observe(run int, r timing.Run) {
	for _, reading := range r.Readings {
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
			rateStd: math.Hypot(reading.RateSPerDay.Independent(), f.options.repeatability()),
			ampStd:  reading.AmplitudeDeg.Independent(),
		})
	}
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
	d := f.model.amplitudeSlope(f.theta, ob.run, ob.reading.Position, ob.amp)
	return f.model.row(ob.run, ob.reading.Position, ob.amp, d, f.model.clock(ob.reading.Instrument))
}

func (f *Fit) variance(ob observation) float64 {
	d := f.model.amplitudeSlope(f.theta, ob.run, ob.reading.Position, ob.amp)
	return ob.rateStd*ob.rateStd + d*d*ob.ampStd*ob.ampStd
}

// step does one weighted least squares solution, with its covariance where asked for.
func (f *Fit) step(extra map[int]float64, withCovariance bool) error {
	n := len(f.theta)
	normal := mat.NewSymDense(n, nil)
	right := mat.NewVecDense(n, nil)
	for j, p := range f.model.prior {
		normal.SetSym(j, j, 1/(p*p))
	}
	for i, ob := range f.obs {
		w := 1 / (f.variance(ob) + extra[i])
		row := f.rowOf(ob)
		for _, a := range row {
			right.SetVec(a.at, right.AtVec(a.at)+w*a.c*ob.rate)
			for _, b := range row {
				if b.at >= a.at {
					normal.SetSym(a.at, b.at, normal.At(a.at, b.at)+w*a.c*b.c)
				}
			}
		}
	}
	var chol mat.Cholesky
	if !chol.Factorize(normal) {
		return errors.New("the readings leave the fit without a solution")
	}
	var theta mat.VecDense
	if err := chol.SolveVecTo(&theta, right); err != nil && !ill(err) {
		return err
	}
	for j := range n {
		f.theta[j] = theta.AtVec(j)
	}
	if !withCovariance {
		return nil
	}
	f.cov = mat.NewSymDense(n, nil)
	if err := chol.InverseTo(f.cov); err != nil && !ill(err) {
		return err
	}
	return nil
}

// ill reports gonum's warning of a large condition number, which the wide priors make on purpose.
func ill(err error) bool {
	var c mat.Condition
	return errors.As(err, &c)
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

// scatterChance is the chance of widening the uncertainties of a sound set.
const scatterChance = 0.01

// scaleUp widens all uncertainties when the readings scatter more than they state (Birge's ratio, with Student's t for
// few readings). It does so only where chance is no explanation, so that stated uncertainties stay what they are.
func (f *Fit) scaleUp() {
	d := f.DegreesOfFreedom
	if d < 1 {
		f.Gaps = append(f.Gaps, Gap{-1, "scatter",
			"There are no more readings than unknowns, so nothing checks whether they agree " +
				"with one another. A second state of wind or a repeated position would."})
		return
	}
	if f.ChiSquare <= (distuv.ChiSquared{K: float64(d)}).Quantile(1-scatterChance) {
		return
	}
	f.dof = d
	t := distuv.StudentsT{Mu: 0, Sigma: 1, Nu: float64(d)}.Quantile(0.975) / 1.959964
	f.Scale = math.Sqrt(f.ChiSquare/float64(d)) * t
	f.cov.ScaleSym(f.Scale*f.Scale, f.cov)
	f.Gaps = append(f.Gaps, Gap{-1, "scatter", fmt.Sprintf("The readings scatter more than they should; all "+
		"uncertainties were "+
		"widened %.1f times. Dirt, magnetism, a loose part or unsteady amplitude may be behind it.", f.Scale)})
}

func (f *Fit) value(at int, unit string) metrology.Value {
	return metrology.Value{Value: f.theta[at], StdUncertainty: math.Sqrt(math.Max(0, f.cov.At(at, at))), Unit: unit}
}

// describe draws what one run says, with what it cannot say.
func (f *Fit) describe(i int, run timing.Run) RunFit {
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
	const k = 1e6 / SecondsPerDay
	x, y := f.theta[e.poise]*k, f.theta[e.poise+1]*k
	out.Poise = newHeavySpot(x, y, f.cov.At(e.poise, e.poise)*k*k, f.cov.At(e.poise+1, e.poise+1)*k*k,
		f.cov.At(e.poise, e.poise+1)*k*k, f.dof, f.options.Balance)
	vertical := 0
	for p := range have {
		if p.Vertical() {
			vertical++
		}
	}
	worst := math.Max(f.cov.At(e.poise, e.poise), f.cov.At(e.poise+1, e.poise+1))
	out.PoiseKnown = vertical >= 3 && worst < knownPoise*knownPoise
	out.SideKnown = f.cov.At(e.side, e.side) < knownDifference*knownDifference
	out.SlopeKnown = !f.model.blind[e.slope]
	f.addGaps(i, out, vertical)
	return out
}

// An unknown whose standard uncertainty is beyond these is not known: well above any watch's real value.
const (
	knownPoise      = 500 // s/d: 86400·S
	knownDifference = 200 // s/d
)

func (f *Fit) addGaps(i int, r RunFit, vertical int) {
	gap := func(topic, text string) { f.Gaps = append(f.Gaps, Gap{i, topic, text}) }
	switch {
	case r.PoiseKnown:
	case vertical < 3:
		gap("poise", fmt.Sprintf("Poise cannot be told: it needs rate and amplitude in at least three of the positions "+
			"3H, 6H, 9H and 12H; %d read.", vertical))
	default:
		gap("poise", "Poise cannot be told: the amplitudes lie too near 220°, where a heavy spot shows no rate. "+
			"Readings at a later state of wind would show it.")
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

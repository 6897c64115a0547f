package chronometer

import (
	"errors"
	"fmt"
	"math"
	"math/rand/v2"

	"ledgerwheel/domain/metrology"
	"ledgerwheel/domain/timing"
)

// ForecastSimulations is the number of simulated endings a page shows a forecast from. The probability then has a
// standard error of at most 0.0035.
const ForecastSimulations = 20_000

// maxSimulations bounds the work a caller can ask for.
const maxSimulations = 1_000_000

// Assumptions are what a forecast takes watches that enter a trial to be like, before any rate of this one is known.
// Each Std is one standard deviation between watches.
type Assumptions struct {
	MeanSPerDay        float64 // rate over positions at 23 °C
	MeanStdSPerDay     float64
	PositionStdSPerDay float64 // of each position about that rate
	ThermalStdSPerDayC float64 // of the rate on temperature, about 0, s/d per °C
	DriftStdSPerDay2   float64 // of a steady drift of the rate, about 0, s/d per day
	ResumptionStd      float64 // s/d, of a change of rate left by the cold and the warm day, about 0
	// ScatterSPerDay is the median of the day-to-day scatter, one standard deviation of a daily rate about what
	// position, temperature and drift make of it; ScatterLogStd the standard deviation of its logarithm.
	ScatterSPerDay float64
	ScatterLogStd  float64
}

// DefaultAssumptions are this program's own, for watches adjusted for the trial. They come from no publication and no
// shop's records, and no setting changes them.
func DefaultAssumptions() Assumptions {
	return Assumptions{
		MeanSPerDay: 1, MeanStdSPerDay: 2.5, PositionStdSPerDay: 2.5, ThermalStdSPerDayC: 0.25,
		DriftStdSPerDay2: 0.08, ResumptionStd: 0.8, ScatterSPerDay: 0.7, ScatterLogStd: 0.6,
	}
}

// Check says in plain words why a cannot be used, or returns nil.
func (a Assumptions) Check() error {
	if !(math.Abs(a.MeanSPerDay) <= maxRateSPerDay) {
		return errors.New("the assumed mean rate is not a rate")
	}
	for _, std := range []float64{a.MeanStdSPerDay, a.PositionStdSPerDay, a.ThermalStdSPerDayC, a.DriftStdSPerDay2,
		a.ResumptionStd} {
		if !(std >= 0 && std <= maxRateSPerDay) {
			return errors.New("an assumed spread must be zero or more")
		}
	}
	if !(a.ScatterSPerDay > 0 && a.ScatterSPerDay <= maxRateSPerDay) || !(a.ScatterLogStd >= 0 && a.ScatterLogStd <= 3) {
		return errors.New("the assumed scatter must be above zero, and its logarithm's spread from 0 to 3")
	}
	return nil
}

// Forecast is the outlook of a trial.
type Forecast struct {
	Pass        float64 // probability that all seven come out within their limits by simple acceptance
	ByCriterion map[Criterion]float64
	Simulations int
	// StdError is the standard error of Pass that comes from the number of simulations alone.
	StdError float64
	// Scatter is the watch's own day-to-day scatter as known now: mean and standard deviation, s/d. With few days it
	// is little more than the assumption, and wide.
	Scatter metrology.Value
}

// ErrSpoilt reports a trial of which nothing is left to forecast, because a day that a criterion needs was spoilt.
var ErrSpoilt = errors.New("a day that did not follow the programme has spoilt the trial: there is nothing to forecast")

// LeastForecastDays is how many days a trial's rates must be known of before its outlook is told. Before that the
// figure is this program's assumptions about watches in general and says nothing of this one; and no forecast earlier
// than after day 2 was counted (Calibration).
const LeastForecastDays = 2

// ErrTooEarly reports a trial with fewer rates than LeastForecastDays.
var ErrTooEarly = errors.New("nothing is known of this watch yet: there is no outlook before two days are read")

// Forecast returns the outlook of the trial as it stands, or ErrSpoilt or ErrTooEarly.
func (t Trial) Forecast(a Assumptions, simulations int, seed uint64) (Forecast, error) {
	j, err := t.Judge()
	if err != nil {
		return Forecast{}, err
	}
	for _, r := range j.Results {
		if r.Standing == Spoilt {
			return Forecast{}, ErrSpoilt
		}
	}
	rates, err := t.Rates()
	if err != nil {
		return Forecast{}, err
	}
	if len(rates.Known()) < LeastForecastDays {
		return Forecast{}, ErrTooEarly
	}
	return ForecastPass(t.Category, rates, a, simulations, seed)
}

// The coefficients of the model: one mean, five positions, temperature, drift, resumption.
const (
	meanAt       = 0
	positionAt   = 1
	thermalAt    = 6
	driftAt      = 7
	resumptionAt = 8
	coefficients = 9
)

type vector [coefficients]float64

// design returns what each coefficient contributes to the rate of a day.
func design(day Day) vector {
	var x vector
	x[meanAt] = 1
	for i, p := range []timing.Position{timing.SixUp, timing.ThreeUp, timing.NineUp, timing.DialDown, timing.DialUp} {
		if day.Position == p {
			x[positionAt+i] = 1
		}
	}
	x[thermalAt] = day.TemperatureC - SettlingTemperatureC
	x[driftAt] = float64(day.Number) - 1.5 // from the middle of days 1 and 2, which R refers to
	if day.Number > 13 {
		x[resumptionAt] = 1
	}
	return x
}

// posterior is the knowledge of the coefficients for one size of scatter.
type posterior struct {
	sigma  float64 // s/d
	weight float64
	mean   vector
	cov    [coefficients]vector
	root   [coefficients]vector // lower Cholesky factor of cov
}

// ForecastPass simulates how the trial may end, given the rates known so far; the days not known are taken as still to
// come. The model of a daily rate is
//
//	Mi = mean + position(i) + thermal·(T(i) - 23 °C) + drift·(i - 1.5) + resumption (days 14, 15) + scatter
//
// with normal priors from a for all coefficients and a log-normal one for the scatter, so that a position not yet seen
// is as uncertain as a says. The coefficients' posterior is exact for each of a grid of scatters (Bayesian linear
// regression, one day at a time), weighted by how well that scatter explains the known days. Each simulation draws a
// scatter, coefficients and the days to come. Of each known day's measurement the variance is counted and the
// correlation with its neighbours left out; days to come get the mean variance of the known ones. A criterion that is
// known already is as Judge says. The same seed gives the same forecast.
//
// It fails on assumptions that do not pass Check or a number of simulations outside 1 to 1 000 000, and panics on a
// category that is not Valid.
func ForecastPass(category Category, rates Rates, a Assumptions, simulations int, seed uint64) (Forecast, error) {
	if err := a.Check(); err != nil {
		return Forecast{}, err
	}
	if simulations < 1 || simulations > maxSimulations {
		return Forecast{}, fmt.Errorf("simulate 1 to %d endings", maxSimulations)
	}
	j := Judge(category, rates)
	grid := learn(rates, a)
	f := Forecast{ByCriterion: map[Criterion]float64{}, Simulations: simulations, Scatter: scatter(grid)}
	all, each := newEndings(category, rates, j).count(grid, simulations, seed)
	n := float64(simulations)
	f.Pass = float64(all) / n
	for i, r := range j.Results {
		f.ByCriterion[r.Criterion] = float64(each[i]) / n
	}
	if j.Standing == Fail {
		f.Pass = 0
	}
	f.StdError = math.Sqrt(f.Pass * (1 - f.Pass) / n)
	return f, nil
}

// The grid of scatters reaches three standard deviations of the logarithm to either side.
const (
	gridHalf = 15
	gridStep = 0.2
)

// learn returns the posterior for each scatter of the grid, weights summing to 1.
func learn(rates Rates, a Assumptions) []posterior {
	grid := make([]posterior, 0, 2*gridHalf+1)
	logs := make([]float64, 0, cap(grid))
	greatest := math.Inf(-1)
	known := rates.Known()
	for k := -gridHalf; k <= gridHalf; k++ {
		z := float64(k) * gridStep
		p := prior(a)
		p.sigma = a.ScatterSPerDay * math.Exp(z*a.ScatterLogStd)
		log := -z * z / 2
		for _, day := range known {
			log += p.observe(design(programme[day-1]), rates.value[day], p.sigma*p.sigma+rates.cov[day][day])
		}
		p.factor()
		grid, logs = append(grid, p), append(logs, log)
		greatest = max(greatest, log)
	}
	sum := 0.0
	for i := range grid {
		grid[i].weight = math.Exp(logs[i] - greatest)
		sum += grid[i].weight
	}
	for i := range grid {
		grid[i].weight /= sum
	}
	return grid
}

func prior(a Assumptions) posterior {
	var p posterior
	p.mean[meanAt] = a.MeanSPerDay
	std := vector{meanAt: a.MeanStdSPerDay, thermalAt: a.ThermalStdSPerDayC, driftAt: a.DriftStdSPerDay2,
		resumptionAt: a.ResumptionStd}
	for i := positionAt; i < thermalAt; i++ {
		std[i] = a.PositionStdSPerDay
	}
	for i, s := range std {
		p.cov[i][i] = s * s
	}
	return p
}

// observe takes one day's rate y with variance v about x·β into the posterior and returns the logarithm of the
// likelihood of y, but for a constant.
func (p *posterior) observe(x vector, y, v float64) float64 {
	var px vector
	s, residual := v, y
	for i := range px {
		for k := range x {
			px[i] += p.cov[i][k] * x[k]
		}
		s += x[i] * px[i]
		residual -= x[i] * p.mean[i]
	}
	for i := range px {
		p.mean[i] += px[i] / s * residual
		for k := range px {
			p.cov[i][k] -= px[i] * px[k] / s
		}
	}
	return -0.5 * (math.Log(s) + residual*residual/s)
}

// factor fills the Cholesky factor. A direction without variance, or one that rounding left a little below zero,
// gets none.
func (p *posterior) factor() {
	for i := range coefficients {
		for k := 0; k <= i; k++ {
			sum := p.cov[i][k]
			for m := range k {
				sum -= p.root[i][m] * p.root[k][m]
			}
			switch {
			case i == k:
				p.root[i][i] = math.Sqrt(max(0, sum))
			case p.root[k][k] > 1e-9:
				p.root[i][k] = sum / p.root[k][k]
			}
		}
	}
}

// draw returns coefficients from the posterior.
func (p *posterior) draw(random *rand.Rand) vector {
	var z vector
	for i := range z {
		z[i] = random.NormFloat64()
	}
	beta := p.mean
	for i := range beta {
		for k := 0; k <= i; k++ {
			beta[i] += p.root[i][k] * z[k]
		}
	}
	return beta
}

func scatter(grid []posterior) metrology.Value {
	mean, square := 0.0, 0.0
	for _, p := range grid {
		mean += p.weight * p.sigma
		square += p.weight * p.sigma * p.sigma
	}
	return metrology.Value{Value: mean, StdUncertainty: math.Sqrt(max(0, square-mean*mean)), Unit: timing.UnitSPerDay}
}

package oscillator

import (
	"math"

	"gonum.org/v1/gonum/mat"

	"ledgerwheel/domain/metrology"
	"ledgerwheel/domain/timing"
)

// ExpectedRate is the rate to expect in one position.
type ExpectedRate struct {
	Position     timing.Position
	Hours        float64
	AmplitudeDeg float64         // taken for it
	Now          metrology.Value // by the fit, s/d
	Rate         metrology.Value // expected afterwards, s/d
}

// Forecast is the rates to expect after a correction, in all six positions at each state of wind of the run, and the
// chance that the run then meets its limits.
type Forecast struct {
	Rates []ExpectedRate
	// PassProbability is the chance, 0 to 1, that the measured run meets every limit that rates decide and that
	// amplitudes and beat as they stand now meet theirs; nil when there are no limits or too little to judge.
	PassProbability *float64
	PassText        string

	cov *mat.SymDense // of Rates, without the noise of the next measurement
}

// correction is what is taken out of the rates.
type correction struct {
	poise, spring, horizontal, side, slope bool
	beat                                   bool
	settle                                 bool // the mean rate is set to its target afterwards
	unjudged                               bool // the rates alone are wanted
}

// How well a correction is carried out: the share of it that remains as standard uncertainty (common practice, as
// remembered), and how finely a regulator is set.
const (
	poiseWork      = 0.15
	horizontalWork = 0.5
	sideWork       = 0.5
	slopeWork      = 0.5
	springWork     = 0.5
	setWorkSPerDay = 1.0
)

type cell struct {
	p     timing.Position
	hours float64
	amp   float64
}

// cells lists the six positions at each state of wind of a run with the amplitude read there, or else the mean of its
// kind at that state; a state without amplitudes is left out.
func (f *Fit) cells(of int) []cell {
	run, usualLossDeg := f.Runs[of].Run.Averaged(), lossOf(f.options.Limits.Grade).MiddleDeg
	var out []cell
	for _, h := range run.States() {
		sum, n := map[bool]float64{}, map[bool]int{}
		at := map[timing.Position]float64{}
		for _, p := range timing.Positions() {
			if r, ok := run.Reading(p, h); ok && r.AmplitudeDeg != nil {
				at[p] = r.AmplitudeDeg.Value
				sum[p.Horizontal()] += at[p]
				n[p.Horizontal()]++
			}
		}
		if n[true]+n[false] == 0 {
			continue
		}
		for _, p := range timing.Positions() {
			amp, read := at[p]
			switch flat := p.Horizontal(); {
			case read:
			case n[flat] > 0:
				amp = sum[flat] / float64(n[flat])
			case flat:
				amp = sum[false]/float64(n[false]) + usualLossDeg
			default:
				amp = sum[true]/float64(n[true]) - usualLossDeg
			}
			out = append(out, cell{p, h, amp})
		}
	}
	return out
}

// forecast applies a correction to the fit of one run.
func (f *Fit) forecast(run int, c correction) Forecast {
	list := f.cells(run)
	n := len(list)
	if n == 0 {
		return Forecast{PassText: "No amplitude was read, so no rates can be foretold."}
	}
	e := f.model.epochs[run]
	rows := make([][]entry, n)
	mean := make([]float64, n)
	works := make([][]float64, 0, 5)
	parts := []struct {
		on   bool
		at   []int
		work float64
	}{
		{c.poise, []int{e.poise}, poiseWork}, {c.poise, []int{e.poise + 1}, poiseWork},
		{c.horizontal, []int{e.horizontal}, horizontalWork}, {c.side, []int{e.side}, sideWork},
		{c.slope, []int{e.slope}, slopeWork},
		{c.spring, []int{e.spring}, springWork}, {c.spring, []int{e.spring + 1}, springWork},
		{c.spring, []int{e.spring + 2}, springWork}, {c.spring, []int{e.spring + 3}, springWork},
	}
	now := make([]float64, n)
	for i, x := range list {
		rows[i] = f.model.row(run, x.p, x.amp, -1)
		now[i] = dot(rows[i], f.theta)
		mean[i] = now[i]
	}
	for _, part := range parts {
		if !part.on {
			continue
		}
		work := make([]float64, n)
		for i, row := range rows {
			for _, a := range row {
				if a.at == part.at[0] {
					mean[i] -= a.c * f.theta[a.at]
					work[i] = part.work * a.c * f.theta[a.at]
				}
			}
		}
		works = append(works, work)
	}
	cov := mat.NewSymDense(n, nil)
	for i := range n {
		for j := i; j < n; j++ {
			v := f.rowCovariance(rows[i], rows[j])
			for _, w := range works {
				v += w[i] * w[j]
			}
			cov.SetSym(i, j, v)
		}
	}
	out := Forecast{cov: cov}
	if c.settle {
		f.settle(list, mean, cov)
	}
	for i, x := range list {
		out.Rates = append(out.Rates, ExpectedRate{x.p, x.hours, x.amp,
			metrology.Value{Value: now[i], StdUncertainty: math.Sqrt(f.rowVariance(rows[i])), Unit: "s/d"},
			metrology.Value{Value: mean[i], StdUncertainty: math.Sqrt(math.Max(0, cov.At(i, i))), Unit: "s/d"}})
	}
	if !c.unjudged {
		f.judge(run, c, &out)
	}
	return out
}

// settle sets the mean of the first state of wind to its target: what was uncertain about the mean is then measured
// away, but for the setting itself and the clock.
func (f *Fit) settle(list []cell, mean []float64, cov *mat.SymDense) {
	n := len(list)
	first := 0
	for first < n && list[first].hours == list[0].hours {
		first++
	}
	w := 1 / float64(first)
	m := 0.0
	for i := range first {
		m += w * mean[i]
	}
	p := mat.NewDense(n, n, nil)
	for i := range n {
		mean[i] += f.target() - m
		for j := range n {
			if i == j {
				p.Set(i, j, 1)
			}
			if j < first {
				p.Set(i, j, p.At(i, j)-w)
			}
		}
	}
	var left, full mat.Dense
	left.Mul(p, cov)
	full.Mul(&left, p.T())
	set := setWorkSPerDay*setWorkSPerDay + f.options.Instruments.OtherClockStdSPerDay*f.options.Instruments.OtherClockStdSPerDay
	for i := range n {
		for j := i; j < n; j++ {
			cov.SetSym(i, j, (full.At(i, j)+full.At(j, i))/2+set)
		}
	}
}

// target is the mean rate aimed at: the middle of its limits, or 0 s/d.
func (f *Fit) target() float64 {
	l, ok := f.options.Limits.Limit(timing.MeanRate)
	if !ok || l.Limits.Lower == nil || l.Limits.Upper == nil {
		return 0
	}
	return (*l.Limits.Lower + *l.Limits.Upper) / 2
}

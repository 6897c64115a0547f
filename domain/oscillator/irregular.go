package oscillator

import (
	"math"

	"gonum.org/v1/gonum/mat"
)

// What a watch does whose spring is magnetised or whose coils touch is no model: each position, and each reading, is off
// by as much as it likes. These are its scales, standard deviations in s/d: between positions, and between readings.
var irregularScales = []struct{ positions, readings float64 }{{15, 4}, {40, 4}, {15, 20}, {40, 20}}

// irregularOdds is how often a watch on the bench is such a one (a judgement: one in twenty).
const irregularOdds = 0.05

// irregular is the chance that the readings come from a watch whose positions go each its own way rather than from one
// that the model describes, by Bayes' rule. It asks for the fit of one run.
func (f *Fit) irregular() float64 {
	n := len(f.obs)
	if n < 4 {
		return irregularOdds
	}
	most, logs := math.Inf(-1), make([]float64, 0, len(irregularScales))
	for _, s := range irregularScales {
		cov := mat.NewSymDense(n, nil)
		for i, a := range f.obs {
			for j := i; j < n; j++ {
				v := float64(priorBase * priorBase)
				if f.obs[j].reading.Position == a.reading.Position {
					v += s.positions * s.positions
				}
				if i == j {
					v += s.readings*s.readings + a.rateStd*a.rateStd
				}
				cov.SetSym(i, j, v)
			}
		}
		var chol mat.Cholesky
		if !chol.Factorize(cov) {
			continue
		}
		y, solved := mat.NewVecDense(n, nil), mat.NewVecDense(n, nil)
		for i, ob := range f.obs {
			y.SetVec(i, ob.rate)
		}
		_ = chol.SolveVecTo(solved, y) // a large condition number only warns
		log := -(mat.Dot(y, solved) + chol.LogDet()) / 2
		logs, most = append(logs, log), math.Max(most, log)
	}
	sum := 0.0
	for _, l := range logs {
		sum += math.Exp(l-most) / float64(len(irregularScales))
	}
	odds := math.Exp(most+math.Log(sum)-f.evidence) * irregularOdds / (1 - irregularOdds)
	if math.IsInf(odds, 1) {
		return 1
	}
	return odds / (1 + odds)
}

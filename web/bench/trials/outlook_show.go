package trials

import (
	"errors"
	"fmt"
	"strconv"
	"strings"
	"sync"

	"ledgerwheel/domain/chronometer"
	"ledgerwheel/web/view"
)

// forecasts keeps the outlooks worked out last, by all that they depend on, so that a page looked at again costs
// nothing.
var forecasts = forecastCache{kept: map[string]chronometer.Forecast{}}

type forecastCache struct {
	mu    sync.Mutex
	kept  map[string]chronometer.Forecast
	order []string
}

// of returns the outlook of a trial.
func (c *forecastCache) of(t trialPage) (chronometer.Forecast, error) {
	key := forecastKey(t)
	c.mu.Lock()
	kept, found := c.kept[key]
	c.mu.Unlock()
	if found {
		return kept, nil
	}
	f, err := t.whole.Forecast(chronometer.DefaultAssumptions(), chronometer.ForecastSimulations, uint64(t.record.ID))
	if err != nil {
		return f, err
	}
	c.mu.Lock()
	defer c.mu.Unlock()
	if _, found := c.kept[key]; found { // two looked at once
		return f, nil
	}
	if len(c.order) == forecastsKept {
		delete(c.kept, c.order[0])
		c.order = c.order[1:]
	}
	c.kept[key], c.order = f, append(c.order, key)
	return f, nil
}

// forecastKey says everything that an outlook depends on.
func forecastKey(t trialPage) string {
	var key strings.Builder
	fmt.Fprint(&key, t.record.ID, int(t.whole.Category))
	for _, day := range t.rates.Known() {
		v, _ := t.rates.Rate(day)
		fmt.Fprint(&key, "|", day, " ", v.Value, " ", v.StdUncertainty, " ", t.rates.Covariance(day, day+1))
	}
	for _, w := range t.warnings {
		key.WriteString(w.Text)
	}
	return key.String()
}

// forecastView is the outlook of a running trial, or when it will be told; neither where nothing is left to foretell.
func forecastView(t trialPage) (outlook *outlookView, later string) {
	if t.judged.Standing != chronometer.Open {
		return nil, ""
	}
	f, err := forecasts.of(t)
	if errors.Is(err, chronometer.ErrTooEarly) {
		return nil, fmt.Sprintf("The chance to pass is worked out once %d days are read.", chronometer.LeastForecastDays)
	}
	if err != nil { // spoilt: nothing is left to foretell
		return nil, ""
	}
	v := &outlookView{Percent: foretold(f.Pass), Scatter: f.Scatter.Format(), Simulations: strconv.Itoa(f.Simulations),
		Days: len(t.rates.Known()), Calibration: chronometer.Calibration(t.whole.Category).String()}
	for _, c := range chronometer.Criteria() {
		words := foretold
		if t.judged.Result(c).Standing != chronometer.Open {
			words = percent
		}
		v.Criteria = append(v.Criteria, view.Term(c.Symbol()+", "+c.Label(), words(f.ByCriterion[c])+" %"))
	}
	return v, ""
}

// foretold prints a share of simulated endings. That all of them, or none, came out one way makes nothing certain.
func foretold(p float64) string {
	const most = 1 - 1.0/chronometer.ForecastSimulations
	return percent(min(max(p, 1-most), most))
}

package chart

import (
	"ledgerwheel/domain/metrology"
	"ledgerwheel/domain/timing"
)

// RatesOf takes the rates of a run at one state of wind as a series; positions read again count by their means.
func RatesOf(name string, run timing.Run, hoursAfterWinding float64, instruments timing.Instruments) RateSeries {
	run = run.Averaged()
	s := RateSeries{Name: name, Rates: map[timing.Position]metrology.Value{}}
	for _, p := range timing.Positions() {
		r, taken := run.Reading(p, hoursAfterWinding)
		if !taken {
			continue
		}
		if v, measured := instruments.Value(r, timing.Rate); measured {
			s.Rates[p] = v
		}
	}
	return s
}

// AmplitudesOf takes a run as one series for each state of wind at which rate and amplitude were both read in some
// position.
func AmplitudesOf(run timing.Run, instruments timing.Instruments) []AmplitudeSeries {
	run = run.Averaged()
	var out []AmplitudeSeries
	for _, hours := range run.States() {
		s := AmplitudeSeries{Name: timing.StateWords(hours)}
		for _, p := range timing.Positions() {
			r, taken := run.Reading(p, hours)
			if !taken {
				continue
			}
			rate, hasRate := instruments.Value(r, timing.Rate)
			amplitude, hasAmplitude := instruments.Value(r, timing.Amplitude)
			if hasRate && hasAmplitude {
				s.Points = append(s.Points, AmplitudePoint{Position: p, Amplitude: amplitude, Rate: rate})
			}
		}
		if len(s.Points) > 0 {
			out = append(out, s)
		}
	}
	return out
}

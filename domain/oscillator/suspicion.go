package oscillator

import (
	"fmt"
	"math"

	"ledgerwheel/domain/figure"
	"ledgerwheel/domain/metrology"
	"ledgerwheel/domain/timing"
)

// What makes a suspicion (common practice, as remembered, but for ISO 764's 30 s/d of residual effect).
const (
	magneticGainSPerDay = 60
	magneticStepSPerDay = 30
	knockAmplitudeDeg   = 320
	knockGainSPerDay    = 15
	lowAmplitudeDeg     = 240
	steepFallDeg        = 70 // over a day
	greatLossDeg        = 55 // lying to hanging; 40° to 50° is usual (Kleinlein 1920, section 70)
)

// amplitudes returns the mean amplitude lying or hanging at a state of wind.
func (a adviser) amplitude(hours float64, flat bool) (metrology.Value, bool) {
	var terms []metrology.Term
	for _, p := range timing.Positions() {
		if r, ok := a.r.Run.Reading(p, hours); ok && r.AmplitudeDeg != nil && p.Horizontal() == flat {
			terms = append(terms, metrology.Term{Coefficient: 1, Value: r.AmplitudeDeg.Value,
				StdUncertainty: r.AmplitudeDeg.Independent(), Source: "lift angle",
				SharedStdUncertainty: r.AmplitudeDeg.Value * a.f.options.Instruments.LiftAngleRel})
		}
	}
	if len(terms) == 0 {
		return metrology.Value{}, false
	}
	for i := range terms {
		terms[i].Coefficient = 1 / float64(len(terms))
	}
	return metrology.Linear("°", terms...), true
}

func (a adviser) amplitudeWords() string {
	flat, ok1 := a.amplitude(0, true)
	hung, ok2 := a.amplitude(0, false)
	if !ok1 || !ok2 {
		return "Amplitudes lying and hanging at full wind were not both read."
	}
	return fmt.Sprintf("Amplitude lying %.0f°, hanging %.0f° at full wind; a loss of 40° to 50° is usual.", flat.Value,
		hung.Value)
}

func (a adviser) sideWords() string {
	up, ok1 := a.r.Run.Reading(timing.DialUp, 0)
	down, ok2 := a.r.Run.Reading(timing.DialDown, 0)
	if !ok1 || !ok2 || up.AmplitudeDeg == nil || down.AmplitudeDeg == nil {
		return "The amplitudes of both sides at full wind would tell more."
	}
	d := up.AmplitudeDeg.Value - down.AmplitudeDeg.Value
	if math.Abs(d) < 10 {
		return fmt.Sprintf("The amplitudes agree (%.0f° dial up, %.0f° dial down), which speaks for the hairspring rather "+
			"than a pivot.",
			up.AmplitudeDeg.Value, down.AmplitudeDeg.Value)
	}
	weak := "dial down"
	if d < 0 {
		weak = "dial up"
	}
	return fmt.Sprintf("The amplitude is %.0f° less %s: the pivot and jewel that carry the balance there are the first to look at.",
		math.Abs(d), weak)
}

func (a adviser) magnetism() *Advice {
	sum, n := 0.0, 0.0
	for _, r := range a.r.Run.Readings {
		if r.RateSPerDay != nil {
			sum, n = sum+r.RateSPerDay.Value, n+1
		}
	}
	if n == 0 {
		return nil
	}
	mean := sum / n
	var evidence []string
	if mean >= magneticGainSPerDay {
		evidence = append(evidence, "The mean of the readings is "+figure.Signed(mean, 0)+" s/d, a strong gain.")
	}
	if a.run > 0 && a.r.Run.Kind == timing.Final {
		before := a.f.Runs[a.run-1].Base.Value
		if step := a.r.Base.Value - before; step >= magneticStepSPerDay {
			evidence = append(evidence, fmt.Sprintf("The rate rose by %.0f s/d since the run before.", step))
		}
	}
	if len(evidence) == 0 {
		return nil
	}
	if a.f.Scale > 1.5 {
		evidence = append(evidence, "The readings scatter more than they should.")
	} else {
		evidence = append(evidence, "Against it: the positions agree with one another as well as they should, so a "+
			"regulator out of "+
			"place or a spring caught between coils is as likely.")
	}
	return &Advice{
		Kind: Magnetism, Suspicion: true, Title: "Perhaps a magnetised hairspring", weight: mean,
		Seen:     "The watch gains as one does whose hairspring is magnetised and whose coils cling together.",
		Evidence: evidence,
		Cause:    "A magnetised hairspring, or coils that stick by oil or touch one another.",
		Correction: "A compass laid near shows it; demagnetising costs little and comes before any other correction. Then the coils " +
			"are looked at for oil and touching, and a new run is taken.",
		Cautions: []string{"A quartz or electronic part is kept away from the demagnetiser.",
			"People with a heart pacemaker keep their distance from it; its maker's instructions apply."},
		Figures: []Figure{{"mean of the readings", metrology.Value{Value: mean, Unit: "s/d"}, true}},
	}
}

func (a adviser) knocking() *Advice {
	var evidence []string
	var most *timing.Reading
	for _, r := range a.r.Run.Readings {
		if r.AmplitudeDeg == nil || r.AmplitudeDeg.Value < knockAmplitudeDeg {
			continue
		}
		if most == nil || r.AmplitudeDeg.Value > most.AmplitudeDeg.Value {
			most = &r
		}
		evidence = append(evidence, fmt.Sprintf("%s %s swings %.0f°.", r.Position, timing.StateWords(r.HoursAfterWinding),
			r.AmplitudeDeg.Value))
		if r.RateSPerDay == nil {
			continue
		}
		row := a.f.model.row(a.run, r.Position, r.AmplitudeDeg.Value, 0, -1)
		if gain := r.RateSPerDay.Value - dot(row, a.f.theta); gain > knockGainSPerDay {
			evidence = append(evidence, fmt.Sprintf("It gains %.0f s/d more than the other readings lead to expect.", gain))
		}
	}
	if most == nil {
		return nil
	}
	amp, _ := a.f.options.Instruments.Value(*most, timing.Amplitude) // the figure is there
	return &Advice{
		Kind: Knocking, Suspicion: true, Title: "Perhaps knocking", weight: amp.Value,
		Seen:     fmt.Sprintf("The amplitude reaches %s, near the banking.", amp.Format()),
		Evidence: evidence,
		Cause: "A mainspring too strong for the movement, or a lift angle set too large, which shows amplitudes that " +
			"are not there.",
		Correction: "The lift angle is checked first; a knocking balance is heard as a gallop at full wind. A mainspring of the " +
			"right strength, or the maker's braking grease in an automatic's barrel, takes the excess away.",
		Cautions: []string{"The mainspring is let down before the barrel is opened.",
			"Eye protection is worn at an open barrel.",
			makersPractice},
		Figures: []Figure{{"greatest amplitude", amp, false}},
	}
}

func (a adviser) lowSpring() *Advice {
	flat, ok := a.amplitude(0, true)
	if !ok {
		return nil
	}
	least := float64(lowAmplitudeDeg)
	if l, set := a.f.options.Limits.Limit(timing.LeastHorizontalAmplitude); set && l.Limits.Lower != nil {
		least = *l.Limits.Lower
	}
	var evidence []string
	if flat.Value < least {
		evidence = append(evidence, fmt.Sprintf("Lying at full wind the balance swings %s; looked for: %.0f° or more.",
			flat.Format(), least))
	}
	if later, ok := a.amplitude(24, true); ok && flat.Value-later.Value > steepFallDeg {
		evidence = append(evidence, fmt.Sprintf("It falls by %.0f° in a day.", flat.Value-later.Value))
	}
	if len(evidence) == 0 {
		return nil
	}
	if hung, ok := a.amplitude(0, false); ok {
		evidence = append(evidence, fmt.Sprintf("Hanging it swings %.0f°; a loss spread over all positions speaks for the power, "+
			"one in some positions for the balance pivots.", hung.Value))
	}
	return &Advice{
		Kind: LowSpring, Suspicion: true, Title: "Perhaps too little power", weight: math.Abs(least - flat.Value),
		Seen: "The amplitude is low, or falls steeply through the day.", Evidence: evidence,
		Cause: "A tired or wrong mainspring, a watch not fully wound, dirt or dry oil in the train, or a lift angle set too small.",
		Correction: "Winding and the set lift angle are checked first; then train freedom without the fork; then the mainspring " +
			"and barrel.",
		Cautions: []string{"The mainspring is let down before fork, train or barrel are touched.",
			"Eye protection is worn at an open barrel.", makersPractice},
		Figures: []Figure{{"horizontal amplitude at full wind", flat, false}},
	}
}

func (a adviser) friction() *Advice {
	flat, ok1 := a.amplitude(0, true)
	hung, ok2 := a.amplitude(0, false)
	if !ok1 || !ok2 || flat.Value-hung.Value < greatLossDeg {
		return nil
	}
	loss := metrology.Value{Value: flat.Value - hung.Value,
		StdUncertainty: math.Hypot(flat.StdUncertainty, hung.StdUncertainty), Unit: "°"}
	return &Advice{
		Kind: Friction, Suspicion: true, Title: "Much amplitude lost hanging", weight: loss.Value,
		Seen:     fmt.Sprintf("From lying to hanging the amplitude falls by %s.", loss.Format()),
		Evidence: []string{a.amplitudeWords()},
		Cause:    "Worn balance pivots or hole jewels, dry or dirty oil there, or a balance pivot slightly bent.",
		Correction: "The balance pivots and hole jewels are cleaned and looked at; freshly oiled, the loss shows whether they are " +
			"worn.",
		Cautions: []string{powerDown, keepSpring, makersPractice},
		Figures:  []Figure{{"amplitude lost", loss, false}},
	}
}

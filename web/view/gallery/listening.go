package gallery

import (
	"math"
	"math/rand/v2"

	"github.com/a-h/templ"

	"ledgerwheel/domain/acoustic"
	"ledgerwheel/domain/metrology"
	"ledgerwheel/web/chart"
	"ledgerwheel/web/view"
)

// listeningCharts are all charts of what was heard of an invented watch.
func listeningCharts() []view.ChartView {
	short, stretches := heard(30), runDown()
	last := stretches[len(stretches)-1].EndS
	run := acoustic.LongRun(stretches, acoustic.Result{StartS: 3, EndS: last, Seconds: last + 3600, BeatsPerHour: 28800,
		Beats: heard(3600).Beats, Notes: []acoustic.Note{{Code: acoustic.NoteStops}}})
	figure := func(caption, id string, drawing templ.Component) view.ChartView {
		return view.ChartView{Caption: caption, TestID: id, Drawing: drawing}
	}
	return []view.ChartView{
		figure("Thirty seconds, turn by turn", "beats", chart.BeatRound{ID: "beats", Title: "Beats by the turns of the escape wheel",
			Result: short, Teeth: 20, TeethSaid: "20 teeth by the pattern heard"}),
		figure("Ten minutes", "beats-long", chart.BeatRound{ID: "beats-long", Title: "Ten minutes by the turns of the escape wheel",
			Result: heard(600), Teeth: 20}),
		figure("The same by the seconds hand", "beats-minute", chart.BeatRound{ID: "beats-minute",
			Title: "Ten minutes by the turns of the seconds hand", Result: heard(600)}),
		figure("Tick and tock, averaged", "voices", chart.Voices{ID: "voices", Title: "Averaged sound of tick and tock",
			Result: short}),
		figure("The escape wheel", "wheel", chart.WheelPattern{ID: "wheel", Title: "Pattern of the escape wheel",
			Pattern: short.Wheel}),
		figure("Forty hours", "run", chart.LongRun{ID: "run", Title: "Rate, amplitude and beat error", Stretches: stretches,
			Run: run}),
		figure("As the mainspring lets down", "down", chart.RateAgainstRunDown{ID: "down", Title: "Rate against amplitude",
			Stretches: stretches, Run: run}),
		figure("The first hour of it", "down-few", chart.RateAgainstRunDown{ID: "down-few",
			Title:     "Rate against amplitude, one hour",
			Stretches: stretches[:12], Run: acoustic.LongRun(stretches[:12], acoustic.Result{})}),
		figure("How steady the rate is", "steady", chart.Allan{ID: "steady", Title: "Steadiness of the rate",
			Points: run.Stability}),
		figure("Nothing heard", "nothing", chart.BeatRound{ID: "nothing", Title: "Beats by the turns of the escape wheel",
			Teeth: 15}),
	}
}

// heard makes the beats of a 28 800 watch of some seconds, with the pattern of its escape wheel and a few knocks.
func heard(seconds float64) acoustic.Result {
	r := rand.New(rand.NewPCG(28800, 12))
	result := acoustic.Result{BeatsPerHour: 28800, BeatScatterUs: 18, Wheel: &acoustic.WheelPattern{Teeth: 20,
		StdMs: 0.0032}}
	for i := range 2 * result.Wheel.Teeth {
		result.Wheel.Ms = append(result.Wheel.Ms, 0.014*math.Sin(2*math.Pi*float64(i+4)/40)+0.004*r.NormFloat64())
	}
	walkS := 0.0 // of a rate that wanders by 0.1 s/d from one five minutes to the next
	for n := range int64(seconds * 8) {
		walkS += 7.1e-6 * r.NormFloat64()
		b := acoustic.Beat{Number: n, Used: n%71 != 30, ResidualMs: result.Wheel.Ms[n%40] + 0.018*r.NormFloat64()}
		b.TimeS = 0.31 + 0.125*float64(n) + walkS + b.ResidualMs/1000
		if !b.Used {
			b.ResidualMs = 3 * r.NormFloat64()
		}
		result.Beats = append(result.Beats, b)
	}
	result.Voices = [2]acoustic.Voice{voice(r, -12.9, -7.4), voice(r, -12.6, -6.9)}
	return result
}

// voice makes three sounds that ring out over noise.
func voice(r *rand.Rand, unlockingMs, impulseMs float64) acoustic.Voice {
	const pointsPerMs = 12
	v := acoustic.Voice{RateHz: 1000 * pointsPerMs, StartMs: -30, UnlockingMs: unlockingMs, ImpulseMs: impulseMs,
		Beats: 118}
	for i := range pointsPerMs * 45 {
		at, level := v.StartMs+float64(i)/pointsPerMs, 0.01*(1+0.25*r.NormFloat64())
		for _, sound := range []struct{ at, level, ringsMs float64 }{{unlockingMs, 0.09, 1}, {impulseMs, 0.28, 1.5},
			{0, 1, 2}} {
			if at >= sound.at {
				level += sound.level * math.Exp(-(at-sound.at)/sound.ringsMs)
			}
		}
		v.Envelope = append(v.Envelope, math.Min(1, level))
	}
	return v
}

// runDown makes forty hours in stretches of five minutes, some without amplitude, a few missing.
func runDown() []acoustic.Stretch {
	r := rand.New(rand.NewPCG(40, 5))
	var out []acoustic.Stretch
	const count = 480
	for i := range count {
		if i > 300 && i < 318 {
			continue
		}
		part := float64(i) / count
		amplitude := 291 - 38*part - 45*math.Pow(part, 6) + 1.5*math.Sin(40*part)
		s := acoustic.Stretch{StartS: float64(i) * 300, EndS: float64(i+1) * 300, Beats: 2400,
			Rate: metrology.Value{Value: 6.2 + 0.055*(amplitude-290) + 0.1*r.NormFloat64(), StdUncertainty: 0.1,
				Unit: "s/d"},
			BeatError: &metrology.Value{Value: 0.24 + 0.04*part + 0.012*r.NormFloat64(), StdUncertainty: 0.012, Unit: "ms"}}
		if i < 80 || i > 110 {
			s.Amplitude = &metrology.Value{Value: amplitude + 0.6*r.NormFloat64(), StdUncertainty: 0.6, Unit: "°"}
		}
		out = append(out, s)
	}
	return out
}

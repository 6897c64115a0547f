package heard

import (
	"encoding/json"
	"math"

	"ledgerwheel/domain/acoustic"
)

// mostBeats and mostStretches bound what is kept of a long recording; its figures were taken from all.
const (
	mostBeats     = 20000
	mostStretches = 5000
)

// keptVoice is a voice as JSON can have it: what is not there is null.
type keptVoice struct {
	Envelope                       []float32
	RateHz, StartMs                float64
	UnlockingMs, ImpulseMs, DropMs *float64
	Beats                          int
}

// keptResult is a result as it is kept: its voices stand in for those of the result.
type keptResult struct {
	acoustic.Result
	Voices [2]keptVoice
}

// EncodeResult writes a result as JSON. Of a long recording it keeps pairs of beats evenly over the whole, at most some
// 20 000 beats, and so for its stretches. It fails on figures that are no numbers.
func EncodeResult(r acoustic.Result) ([]byte, error) {
	k := keptResult{Result: r}
	k.Beats = thinBeats(r.Beats, mostBeats)
	k.Stretches = thin(r.Stretches, mostStretches)
	for i, v := range r.Voices {
		kept := keptVoice{RateHz: v.RateHz, StartMs: v.StartMs, Beats: v.Beats, UnlockingMs: orNull(v.UnlockingMs),
			ImpulseMs: orNull(v.ImpulseMs), DropMs: orNull(v.DropMs), Envelope: make([]float32, len(v.Envelope))}
		for j, x := range v.Envelope {
			kept.Envelope[j] = float32(x)
		}
		k.Voices[i] = kept
	}
	return json.Marshal(k)
}

// DecodeResult reads what EncodeResult wrote.
func DecodeResult(data []byte) (acoustic.Result, error) {
	var k keptResult
	if err := json.Unmarshal(data, &k); err != nil {
		return acoustic.Result{}, err
	}
	r := k.Result
	for i, kept := range k.Voices {
		v := acoustic.Voice{RateHz: kept.RateHz, StartMs: kept.StartMs, Beats: kept.Beats,
			UnlockingMs: orNaN(kept.UnlockingMs),
			ImpulseMs:   orNaN(kept.ImpulseMs), DropMs: orNaN(kept.DropMs), Envelope: make([]float64, len(kept.Envelope))}
		for j, x := range kept.Envelope {
			v.Envelope[j] = float64(x)
		}
		r.Voices[i] = v
	}
	return r, nil
}

// thinBeats keeps every so many pairs, so that both swings stay.
func thinBeats(beats []acoustic.Beat, most int) []acoustic.Beat {
	if len(beats) <= most {
		return beats
	}
	every := (len(beats) + most - 1) / most
	var kept []acoustic.Beat
	for i := 0; i+1 < len(beats); i += 2 * every {
		kept = append(kept, beats[i], beats[i+1])
	}
	return kept
}

func thin[T any](list []T, most int) []T {
	if len(list) <= most {
		return list
	}
	every := (len(list) + most - 1) / most
	var kept []T
	for i := 0; i < len(list); i += every {
		kept = append(kept, list[i])
	}
	return kept
}

func orNull(x float64) *float64 {
	if math.IsNaN(x) || math.IsInf(x, 0) {
		return nil
	}
	return &x
}

func orNaN(x *float64) float64 {
	if x == nil {
		return math.NaN()
	}
	return *x
}

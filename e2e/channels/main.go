// Command channels hears simulated watches as people really record them: through codecs, rooms and telephones. It
// prints for each way how far rate, amplitude and beat error are from the truth and how often what is stated holds.
package main

import (
	"context"
	"encoding/binary"
	"encoding/json"
	"flag"
	"fmt"
	"log"
	"math"
	"math/rand/v2"
	"os"
	"path/filepath"
	"runtime"
	"slices"
	"strings"
	"sync"

	"ledgerwheel/domain/acoustic"
	"ledgerwheel/domain/acoustic/simulate"
)

func main() {
	count := flag.Int("n", 12, "how many watches")
	only := flag.String("only", "", "rows whose name holds this")
	kept := flag.String("keep", "", "folder in which the sounds are kept and looked for")
	each := flag.Bool("each", false, "print every recording")
	seed := flag.Uint64("seed", 13, "of the watches")
	low := flag.Float64("from", 16, "least signal to noise, dB")
	high := flag.Float64("to", 30, "greatest signal to noise, dB")
	flag.Parse()
	watches := draw(*count, *seed, *low, *high)
	for _, r := range rows {
		if !strings.Contains(r.name, *only) {
			continue
		}
		t := tally{name: r.name}
		for i, h := range r.hear(watches, *kept) {
			if h.err != nil && h.err != acoustic.ErrNoWatch {
				log.Fatal(h.err)
			}
			t.add(h)
			if *each {
				fmt.Println(i, h)
			}
		}
		fmt.Println(t)
	}
}

// watch is one of those heard through every channel.
type watch struct {
	number    int
	recording simulate.Recording
}

// draw draws watches on a bench.
func draw(n int, seed uint64, lowDB, highDB float64) []watch {
	made := make([]watch, n)
	for i := range made {
		rng := rand.New(rand.NewPCG(seed, uint64(i)))
		r := simulate.BenchRecording(rng, lowDB+(highDB-lowDB)*rng.Float64())
		r.RateHz, r.Seconds = 48000, 30
		made[i] = watch{i, r}
	}
	return made
}

// outcome is what was heard beside the truth.
type outcome struct {
	truth  simulate.Truth
	result acoustic.Result
	err    error
}

func (o outcome) String() string {
	r, t := o.result, o.truth
	if o.err != nil {
		return fmt.Sprintf("%.0f bph %.0f dB: %v", t.BeatsPerHour, t.SNRdB, o.err)
	}
	amplitude := "none"
	if a := r.Amplitude; a != nil {
		amplitude = fmt.Sprintf("%.1f±%.1f", a.Value-t.AmplitudeDeg, 2*a.StdUncertainty)
	}
	var notes []string
	for _, n := range r.Notes {
		notes = append(notes, string(n.Code))
	}
	beat := "none"
	if e := r.BeatError; e != nil {
		beat = fmt.Sprintf("%+.3f ±%.3f", math.Abs(e.Value)-t.BeatErrorMagnitudeMs, 2*e.StdUncertainty)
	}
	return fmt.Sprintf("%.0f as %.0f, %.0f dB: rate %+.3f ±%.3f; amplitude %.0f %s; beat error %.2f %s %v",
		t.BeatsPerHour, r.BeatsPerHour, t.SNRdB, r.Rate.Value-t.ApparentRateSPerDay, 2*r.RateFitStdSPerDay, t.AmplitudeDeg,
		amplitude, t.BeatErrorMagnitudeMs, beat, notes)
}

// hear makes the sounds and hears them, as many at a time as there are processors.
func (r row) hear(watches []watch, kept string) []outcome {
	out := make([]outcome, len(watches))
	slots := make(chan struct{}, runtime.GOMAXPROCS(0))
	var wait sync.WaitGroup
	for i, w := range watches {
		slots <- struct{}{}
		wait.Go(func() {
			defer func() { <-slots }()
			samples, rateHz, truth, err := r.sound(w, kept)
			if err != nil {
				out[i].err = err
				return
			}
			out[i].truth = truth
			l, err := acoustic.NewListener(rateHz, acoustic.Settings{LiftAngleDeg: truth.LiftAngleDeg})
			if err != nil {
				out[i].err = err
				return
			}
			l.Write(samples)
			out[i].result, out[i].err = l.Result()
		})
	}
	wait.Wait()
	return out
}

// sound makes the recording, or takes it from the folder.
func (r row) sound(w watch, kept string) (samples []float32, rateHz float64, truth simulate.Truth, err error) {
	rec := w.recording
	rateHz = rec.RateHz
	if r.channel.RateHz > 0 {
		rateHz = r.channel.RateHz
	}
	file := filepath.Join(kept, strings.NewReplacer(" ", "-", "/", "-", ",", "").Replace(fmt.Sprint(r.name, " ", rec.Seed)))
	if kept != "" {
		if data, err := os.ReadFile(file); err == nil {
			samples = make([]float32, len(data)/4)
			for i := range samples {
				samples[i] = math.Float32frombits(binary.LittleEndian.Uint32(data[4*i:]))
			}

			truth := simulate.Stream(rec.Watch, w.recording.Room, 1000, rec.Seconds, rec.Seed, func([]float32) {})
			return samples, rateHz, truth, nil
		}
	}
	samples, truth = rec.Sound()
	samples, rateHz = r.channel.Through(samples, rec.RateHz, rec.Seed)
	if samples, err = r.codec.through(context.Background(), samples, rateHz); err != nil {
		return nil, 0, truth, err
	}
	if os.Getenv("DUMP") != "" {
		var tr struct {
			Rate, Lift float64
			Drops, Unl []float64
		}
		tr.Rate, tr.Lift = rateHz, truth.LiftAngleDeg
		for _, b := range truth.Beats {
			tr.Drops, tr.Unl = append(tr.Drops, b.DropS), append(tr.Unl, b.UnlockingS)
		}
		js, _ := json.Marshal(tr)
		os.WriteFile(file+".json", js, 0o644)
		os.Symlink(file, filepath.Join(kept, fmt.Sprint(strings.ReplaceAll(r.name, " ", "-"), "-no", w.number)))
		os.Symlink(file+".json", filepath.Join(kept, fmt.Sprint(strings.ReplaceAll(r.name, " ", "-"), "-no", w.number, ".json")))
	}
	if kept != "" {
		data := make([]byte, 0, 4*len(samples))
		for _, v := range samples {
			data = binary.LittleEndian.AppendUint32(data, math.Float32bits(v))
		}
		if err := os.WriteFile(file, data, 0o644); err != nil {
			return nil, 0, truth, err
		}
	}
	return samples, rateHz, truth, nil
}

// tally counts a row.
type tally struct {
	name                        string
	deaf, wrong, heard          int
	rates, amplitudes, beatErrs []float64
	held                        [3]int
	withheldAmplitude           int
	withheldBeatError           int
}

func (t *tally) add(o outcome) {
	if o.err != nil {
		t.deaf++
		return
	}
	r, truth := o.result, o.truth
	if math.Abs(r.BeatsPerHour/truth.BeatsPerHour-1) > 0.004 {
		t.wrong++
		return
	}
	t.heard++
	hold := func(i int, list *[]float64, err, std float64) {
		*list = append(*list, math.Abs(err))
		if math.Abs(err) <= 2*std {
			t.held[i]++
		}
	}
	if r.BeatsPerHour == truth.BeatsPerHour {
		hold(0, &t.rates, r.Rate.Value-truth.ApparentRateSPerDay, r.RateFitStdSPerDay)
	}
	if r.Amplitude == nil {
		t.withheldAmplitude++
	} else {
		hold(1, &t.amplitudes, r.Amplitude.Value-truth.AmplitudeDeg, r.Amplitude.StdUncertainty)
	}
	if r.BeatError == nil {
		t.withheldBeatError++
	} else {
		hold(2, &t.beatErrs, math.Abs(r.BeatError.Value)-truth.BeatErrorMagnitudeMs, r.BeatError.StdUncertainty)
	}
}

func (t tally) String() string {
	square, far := 0.0, 0
	for _, e := range t.rates {
		square += e * e
	}
	for _, e := range t.amplitudes {
		if e > 5 {
			far++
		}
	}
	return fmt.Sprintf("%-22s deaf %d wrong %d | rate rms %.3f | amplitude %.2f, beyond 5° %d, none %d | beat error %.4f, "+
		"none %d | held %d/%d %d/%d %d/%d", t.name, t.deaf, t.wrong, math.Sqrt(square/float64(max(1, len(t.rates)))),
		middle(t.amplitudes), far, t.withheldAmplitude, middle(t.beatErrs), t.withheldBeatError,
		t.held[0], len(t.rates), t.held[1], len(t.amplitudes), t.held[2], len(t.beatErrs))
}

// middle is the median; NaN of nothing.
func middle(x []float64) float64 {
	if len(x) == 0 {
		return math.NaN()
	}
	c := slices.Sorted(slices.Values(x))
	return (c[len(c)/2] + c[(len(c)-1)/2]) / 2
}

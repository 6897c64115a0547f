// Command channels hears simulated watches as people really record them: through codecs, rooms and telephones. It
// prints for each way how far rate, amplitude and beat error are from the truth and how often what is stated holds.
package main

import (
	"context"
	"encoding/binary"
	"errors"
	"flag"
	"fmt"
	"log"
	"math"
	"math/rand/v2"
	"os"
	"path/filepath"
	"runtime"
	"strings"
	"sync"

	"ledgerwheel/domain/acoustic"
	"ledgerwheel/domain/acoustic/simulate"
	"ledgerwheel/domain/figure"
)

func main() {
	count := flag.Int("n", 60, "how many watches")
	only := flag.String("only", "", "rows whose name holds this")
	kept := flag.String("keep", "", "folder in which the sounds are kept and looked for")
	each := flag.Bool("each", false, "print every recording")
	seed := flag.Uint64("seed", 13, "of the watches")
	low := flag.Float64("from", 16, "least signal to noise, dB")
	high := flag.Float64("to", 30, "greatest signal to noise, dB")
	flag.Parse()
	watches := draw(*count, *seed, *low, *high)
	fmt.Println(heading)
	for _, r := range rows {
		if !strings.Contains(r.name, *only) {
			continue
		}
		t := tally{}
		for i, h := range r.hear(watches, *kept) {
			if h.err != nil && !errors.Is(h.err, acoustic.ErrNoWatch) {
				log.Fatal(h.err)
			}
			t.add(h)
			if *each {
				fmt.Println(i, h)
			}
		}
		fmt.Printf("%-22s before %s\n%-22s now    %s\n", r.name, r.before, "", t.counted())
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
		amplitude = off(a.Value-t.AmplitudeDeg, 2*a.StdUncertainty, 1)
	}
	var notes []string
	for _, n := range r.Notes {
		notes = append(notes, string(n.Code))
	}
	beat := "none"
	if e := r.BeatError; e != nil {
		beat = off(math.Abs(e.Value)-t.BeatErrorMagnitudeMs, 2*e.StdUncertainty, 3)
	}
	return fmt.Sprintf("%.0f as %.0f, %.0f dB: rate %s; amplitude %.0f %s; beat error %.2f %s %v", t.BeatsPerHour,
		r.BeatsPerHour, t.SNRdB, off(r.Rate.Value-t.ApparentRateSPerDay, 2*r.RateFitStdSPerDay, 3), t.AmplitudeDeg, amplitude,
		t.BeatErrorMagnitudeMs, beat, notes)
}

// off is how far a figure is from the truth, with what is stated.
func off(by, stated float64, places int) string {
	return figure.Signed(by, places) + " ± " + figure.Places(stated, places)
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

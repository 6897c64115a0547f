package acoustic_test

import (
	"bytes"
	"context"
	"testing"
	"time"

	"gonum.org/v1/gonum/dsp/fourier"

	"ledgerwheel/domain/acoustic"
	"ledgerwheel/domain/acoustic/simulate"
	"ledgerwheel/domain/recording"
)

// halfMinute is 30 s of a plain watch at 48 kHz, 30 dB over the noise, as a WAV file and as samples.
func halfMinute(b *testing.B) (file []byte, samples []float32) {
	room := simulate.QuietRoom()
	room.SNRdB = 30
	samples, _ = simulate.Sound(simulate.Lever(), room, 48000, 30, 1)
	var wav bytes.Buffer
	if err := recording.WriteWAV(&wav, 48000, samples); err != nil {
		b.Fatal(err)
	}
	return wav.Bytes(), samples
}

// BenchmarkListen listens to a file of half a minute, decoding included. It reports how many times faster than the
// watch that is, and how many real FFTs of as many samples the same processor makes in that time.
func BenchmarkListen(b *testing.B) {
	file, samples := halfMinute(b)
	wide := make([]float64, len(samples))
	for i, v := range samples {
		wide[i] = float64(v)
	}
	fft := fourier.NewFFT(len(wide))
	coefficients := make([]complex128, len(wide)/2+1)
	var listening, transforming time.Duration
	b.ReportAllocs()
	for b.Loop() {
		start := time.Now()
		r, err := recording.Open(bytes.NewReader(file))
		if err != nil {
			b.Fatal(err)
		}
		if _, err := recording.Listen(context.Background(), r, acoustic.Settings{}, nil); err != nil {
			b.Fatal(err)
		}
		listening += time.Since(start)
		b.StopTimer()
		start = time.Now()
		fft.Coefficients(coefficients, wide)
		transforming += time.Since(start)
		b.StartTimer()
	}
	b.ReportMetric(30*float64(b.N)/listening.Seconds(), "×real-time")
	b.ReportMetric(listening.Seconds()/transforming.Seconds(), "FFTs")
}

package recording_test

import (
	"bytes"
	"io"
	"testing"

	"ledgerwheel/domain/recording"
)

// benchmarkRead decodes 30 s of 48 kHz sound and reports how many times faster than real time that goes.
func benchmarkRead(b *testing.B, file []byte) {
	b.Helper()
	const seconds = 30
	b.SetBytes(int64(len(file)))
	b.ReportAllocs()
	var frames [][]float32
	for b.Loop() {
		r, err := recording.Open(bytes.NewReader(file))
		if err != nil {
			b.Fatal(err)
		}
		for len(frames) < r.Info().Channels {
			frames = append(frames, make([]float32, 8192))
		}
		total := 0
		for {
			n, err := r.Read(frames)
			if err == io.EOF {
				break
			}
			if err != nil {
				b.Fatal(err)
			}
			total += n
		}
		if total != seconds*48000 {
			b.Fatalf("%d frames", total)
		}
	}
	b.ReportMetric(seconds/(b.Elapsed().Seconds()/float64(b.N)), "×real-time")
}

func BenchmarkRead(b *testing.B) {
	const frames = 30 * 48000
	left, right := rumble(frames, 16, 1), rumble(frames, 16, 2)
	b.Run("WAV 16-bit mono", func(b *testing.B) {
		benchmarkRead(b, wav{tag: 1, channels: 1, rateHz: 48000, bits: 16, data: interleave(2, left)}.bytes())
	})
	b.Run("WAV 16-bit stereo", func(b *testing.B) {
		benchmarkRead(b, wav{tag: 1, channels: 2, rateHz: 48000, bits: 16, data: interleave(2, left, right)}.bytes())
	})
	b.Run("WAV 24-bit mono", func(b *testing.B) {
		benchmarkRead(b, wav{tag: 1, channels: 1, rateHz: 48000, bits: 24, data: interleave(3, left)}.bytes())
	})
	b.Run("WAV float mono", func(b *testing.B) {
		benchmarkRead(b, wav{tag: 3, channels: 1, rateHz: 48000, bits: 32, data: float32s(scaled(16, left)[0]...)}.bytes())
	})
	b.Run("FLAC 16-bit mono", func(b *testing.B) {
		benchmarkRead(b, encodeFLAC(b, 48000, 16, 4096, left))
	})
}

package recording

import (
	"encoding/binary"
	"fmt"
	"io"
	"math"
)

// wavHeaderBytes is the length of the header WriteWAV makes.
const wavHeaderBytes = 44

// WriteWAV writes one channel of sound, of full scale ±1, as a WAV of 16 bits. Samples past full scale are clipped
// and those that are not numbers are written as silence; what was read from a recording of 16 bits comes out the same.
// It refuses rates that Open would refuse and sound that doesn't fit into the 4 GiB of a WAV file.
func WriteWAV(w io.Writer, rateHz int, samples []float32) error {
	if rateHz < MinRateHz || rateHz > MaxRateHz {
		return fmt.Errorf("write WAV: %d samples a second; must be %d to %d", rateHz, MinRateHz, MaxRateHz)
	}
	if int64(len(samples)) > (math.MaxUint32-wavHeaderBytes)/2 {
		return fmt.Errorf("write WAV: %d samples don't fit into a WAV file", len(samples))
	}
	dataBytes := uint32(2 * len(samples))
	b := make([]byte, 0, blockBytes)
	b = append(b, "RIFF"...)
	b = binary.LittleEndian.AppendUint32(b, wavHeaderBytes-8+dataBytes)
	b = append(b, "WAVEfmt "...)
	b = binary.LittleEndian.AppendUint32(b, 16)
	b = binary.LittleEndian.AppendUint16(b, tagPCM)
	b = binary.LittleEndian.AppendUint16(b, 1) // channel
	b = binary.LittleEndian.AppendUint32(b, uint32(rateHz))
	b = binary.LittleEndian.AppendUint32(b, uint32(2*rateHz)) // bytes a second
	b = binary.LittleEndian.AppendUint16(b, 2)                // bytes a frame
	b = binary.LittleEndian.AppendUint16(b, 16)               // bits a sample
	b = append(b, "data"...)
	b = binary.LittleEndian.AppendUint32(b, dataBytes)
	for {
		n := min(len(samples), (cap(b)-len(b))/2)
		for _, x := range samples[:n] {
			b = binary.LittleEndian.AppendUint16(b, uint16(quantise16(x)))
		}
		if _, err := w.Write(b); err != nil {
			return fmt.Errorf("write WAV: %w", err)
		}
		if samples, b = samples[n:], b[:0]; len(samples) == 0 {
			return nil
		}
	}
}

// quantise16 rounds to the nearest of the 65 536 steps, clipping.
func quantise16(x float32) int16 {
	y := math.RoundToEven(float64(x) * (1 << 15))
	switch {
	case y >= math.MaxInt16:
		return math.MaxInt16
	case y <= math.MinInt16:
		return math.MinInt16
	case y != y:
		return 0
	}
	return int16(y)
}

package recording_test

import (
	"bytes"
	"encoding/binary"
	"testing"
	"testing/iotest"

	"github.com/google/go-cmp/cmp"
	"pgregory.net/rapid"

	"ledgerwheel/domain/recording"
)

// TestWAVProperty: whatever the depth, the channels, the chunks in the way and the sizes of the reads, the samples
// come out as they went in.
func TestWAVProperty(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		junk := rapid.Custom(func(t *rapid.T) string {
			id := rapid.SampledFrom([]string{"LIST", "bext", "JUNK", "fact", "\x00\x00\x00\x00"}).Draw(t, "id")
			return chunk(id, string(rapid.SliceOfN(rapid.Byte(), 0, 70).Draw(t, "body")))
		})
		w := wav{
			tag:      1,
			channels: rapid.IntRange(1, 8).Draw(t, "channels"),
			rateHz:   rapid.IntRange(recording.MinRateHz, recording.MaxRateHz).Draw(t, "rate"),
			bits:     8 * rapid.IntRange(1, 4).Draw(t, "bytes"),
			unstated: rapid.Bool().Draw(t, "unstated"),
		}
		for range rapid.IntRange(0, 3).Draw(t, "chunks") {
			w.before += junk.Draw(t, "before")
			w.between += junk.Draw(t, "between")
		}
		if rapid.Bool().Draw(t, "extensible") {
			w.valid = w.bits
		}
		var sound [][]int32
		frames := rapid.IntRange(1, 50).Draw(t, "frames")
		for range w.channels {
			top := int32(1) << (min(w.bits, 24) - 1) // 24 bits are all that float32 holds
			channel := rapid.SliceOfN(rapid.Int32Range(-top, top-1), frames, frames).Draw(t, "samples")
			sound = append(sound, channel)
		}
		want := scaled(w.bits, sound...)
		w.data = interleave(w.bits/8, sound...)
		if w.unstated && len(w.data)%2 == 1 {
			w.unstated = false // read to its end, the pad byte would be a sample
		}
		file := bytes.NewReader(w.bytes())
		r, err := recording.Open(iotest.HalfReader(file))
		if err != nil {
			t.Fatal(err)
		}
		got, err := readAll(r, rapid.IntRange(1, 60).Draw(t, "at a time"))
		if err != nil || !cmp.Equal(want, got) {
			t.Fatalf("%v, %v; want %v", got, err, want)
		}
	})
}

// TestFLACProperty is the same of FLAC, for every depth.
func TestFLACProperty(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		bits := rapid.IntRange(4, 24).Draw(t, "bits")
		frames := rapid.IntRange(1, 100).Draw(t, "frames")
		var sound [][]int32
		for range rapid.IntRange(1, 8).Draw(t, "channels") {
			top := int32(1) << (bits - 1)
			sound = append(sound, rapid.SliceOfN(rapid.Int32Range(-top, top-1), frames, frames).Draw(t, "samples"))
		}
		file := plainFLAC(rapid.IntRange(recording.MinRateHz, recording.MaxRateHz).Draw(t, "rate"), bits,
			rapid.IntRange(1, 40).Draw(t, "block"), sound...)
		r, err := recording.Open(bytes.NewReader(file))
		if err != nil {
			t.Fatal(err)
		}
		got, err := readAll(r, rapid.IntRange(1, 60).Draw(t, "at a time"))
		if want := scaled(bits, sound...); err != nil || !cmp.Equal(want, got) {
			t.Fatalf("%v, %v; want %v", got, err, want)
		}
	})
}

// TestFloatProperty: what a float holds comes out bit for bit, unless it is no number.
func TestFloatProperty(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		bits := rapid.SliceOfN(rapid.Uint32(), 1, 50).Draw(t, "bits")
		var data []byte
		for _, b := range bits {
			data = binary.LittleEndian.AppendUint32(data, b)
		}
		r, err := recording.Open(bytes.NewReader(wav{tag: 3, channels: 1, rateHz: 8000, bits: 32,
			data: string(data)}.bytes()))
		if err != nil {
			t.Fatal(err)
		}
		got, err := readAll(r, 7)
		if err != nil || len(got[0]) != len(bits) {
			t.Fatal(len(got[0]), err)
		}
		for i, x := range got[0] {
			if numberless := bits[i]>>23&0xFF == 0xFF; numberless && x != 0 || !numberless &&
				float32s(x) != string(data[4*i:4*i+4]) {
				t.Fatalf("%08x became %g", bits[i], x)
			}
		}
	})
}

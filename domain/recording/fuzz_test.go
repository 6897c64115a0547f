package recording_test

import (
	"bytes"
	"errors"
	"math"
	"os"
	"path/filepath"
	"testing"

	"ledgerwheel/domain/recording"
)

// mostFuzzed bounds what is read of one input: a few bytes of FLAC can stand for hours of silence.
const mostFuzzed = 1 << 20

// readHostile reads what it can and holds the promises of Reader: a known error or sound, never a panic, samples that
// are numbers, and a header within bounds.
func readHostile(t *testing.T, file []byte) {
	r, err := recording.Open(bytes.NewReader(file))
	if err != nil {
		if !errors.Is(err, recording.ErrUnreadable) || err.Error() == "" {
			t.Fatalf("error %v", err)
		}
		return
	}
	info := r.Info()
	if info.Channels < 1 || info.Channels > recording.MaxChannels || info.Bits < 1 || info.Bits > 64 || info.Frames < -1 ||
		!(info.RateHz >= recording.MinRateHz && info.RateHz <= recording.MaxRateHz) {
		t.Fatalf("info %+v", info)
	}
	frames := make([][]float32, info.Channels)
	for c := range frames {
		frames[c] = make([]float32, 999)
	}
	for total := 0; total < mostFuzzed; {
		n, err := r.Read(frames)
		for c := range frames {
			for _, x := range frames[c][:n] {
				if y := float64(x); math.IsNaN(y) || math.IsInf(y, 0) {
					t.Fatalf("sample %g", x)
				}
			}
		}
		if err != nil {
			if n != 0 {
				t.Fatalf("%d frames beside an error", n)
			}
			return
		}
		if n == 0 {
			t.Fatal("nothing read, and no error")
		}
		total += n
	}
}

// addFiles adds the files of testdata that match as seeds.
func addFiles(f *testing.F, pattern string) {
	f.Helper()
	names, err := filepath.Glob(filepath.Join("testdata", pattern))
	if err != nil || len(names) == 0 {
		f.Fatalf("no seeds %s: %v", pattern, err)
	}
	for _, name := range names {
		file, err := os.ReadFile(name)
		if err != nil {
			f.Fatal(err)
		}
		f.Add(file)
	}
}

func FuzzWAV(f *testing.F) {
	addFiles(f, "*.wav")
	addFiles(f, "*.rf64")
	f.Add(wav{tag: 3, channels: 2, rateHz: 8000, bits: 64, data: float64s(1, math.NaN(), 1e300, -1)}.bytes())
	f.Add(wav{tag: 1, channels: 8, rateHz: 384000, bits: 24, valid: 20, unstated: true, data: pcm(3, 1, 2, 3, 4, 5, 6, 7,
		8)}.bytes())
	f.Add(wav{magic: "BW64", before: ds64(1<<40, "JUNK", 1<<62), between: chunk("JUNK", "x"), tag: 1, channels: 1,
		rateHz: 48000, bits: 8,
		data: "abc", dataBytes: 0xFFFFFFFF}.bytes())
	f.Fuzz(readHostile)
}

func FuzzFLAC(f *testing.F) {
	addFiles(f, "*.flac")
	for _, example := range rfcExamples {
		f.Add(unhex(f, example.file))
	}
	f.Add(encodeFLAC(f, 24000, 20, 33, rumble(100, 20, 1), rumble(100, 20, 2)))
	f.Add(plainFLAC(192000, 17, 20, rumble(50, 17, 1)))
	f.Fuzz(readHostile)
}

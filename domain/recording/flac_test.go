package recording_test

import (
	"bytes"
	"encoding/hex"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"ledgerwheel/domain/recording"
)

// rfcExamples are the worked examples of RFC 9639, appendix D: file and samples as printed there.
var rfcExamples = []struct {
	name, file string
	bits       int
	want       [][]int32
}{
	{"D.1: verbatim with wasted bits", `664c 6143 8000 0022 1000 1000 0000 0f00 000f 0ac4 42f0 0000 0001 3e84 b418 07dc 6903
		0758 6a3d ad1a 2e0f fff8 6918 0000 bf03 58fd 0312 8baa 9a`, 16, [][]int32{{25588}, {10416}}},
	{"D.2: right-side stereo, fixed predictor", `664c 6143 0000 0022 0010 0010 0000 1700 0044 0ac4 42f0 0000 0013 d5b0 5649
		75e9 8b8d 8b93 0422 757b 8103 0300 0012 0000 0000 0000 0000 0000 0000 0000 0000 0010 0400 003a 2000 0000 7265 6665
		7265 6e63 6520 6c69 6246 4c41 4320 312e 332e 3320 3230 3139 3038 3034 0100 0000 0e00 0000 5449 544c 453d d7a9 d79c
		d795 d79d 8100 0006 0000 0000 0000 fff8 6998 000f 9912 0867 0162 3d14 4299 8f5d f70d 6fe0 0c17 caeb 2100 0ee7 a77a
		24a1 590c 1217 b603 097b 784f aa9a 33d2 85e0 70ad 5b1b 4851 b401 0d99 d2cd 1a68 f1e6 b810 fff8 6918 0102 a402 c382
		c40b c14a 03ee 48dd 03b6 7c13 30`, 16, [][]int32{
		{10372, 18041, 14942, 17876, 15627, 17899, 16242, 18077, 16824, 18263, 17295, -14418, -15201, -14508, -15195, -14818,
			-15486, -15349, -16054},
		{6070, 10545, 8743, 10449, 9143, 10463, 9502, 10569, 9840, 10680, 10113, -8428, -8895, -8476, -8896, -8653,
			-9072, -8958, -9410}}},
	{"D.3: linear predictor, partitions, an escape", `664c 6143 8000 0022 1000 1000 0000 1f00 001f 07d0 0070 0000 0018 f8f9
		e396 f5cb cfc6 dc80 7f99 7790 6b32 fff8 6802 0017 e944 004f 6f31 3d10 47d2 27cb 6d09 0831 452b dc28 2222 8057 a3`, 8,
		[][]int32{{0, 79, 111, 78, 8, -61, -90, -68, -13, 42, 67, 53, 13, -27, -46, -38, -12, 14, 24, 19, 6, -4, -5, 0}}},
}

func unhex(t testing.TB, s string) []byte {
	t.Helper()
	b, err := hex.DecodeString(strings.Join(strings.Fields(s), ""))
	if err != nil {
		t.Fatal(err)
	}
	return b
}

// scaled is what a reader makes of whole numbers of so many bits: exact in float32 up to 24 bits.
func scaled(bits int, channels ...[]int32) [][]float32 {
	var out [][]float32
	for _, channel := range channels {
		var scaled []float32
		for _, x := range channel {
			scaled = append(scaled, float32(float64(x)/float64(int64(1)<<(bits-1))))
		}
		out = append(out, scaled)
	}
	return out
}

func TestFLACWorkedExamples(t *testing.T) {
	t.Parallel()
	for _, tt := range rfcExamples {
		t.Run(tt.name, func(t *testing.T) {
			t.Parallel()
			info, got := mustRead(t, unhex(t, tt.file))
			if diff := cmp.Diff(scaled(tt.bits, tt.want...), got); diff != "" {
				t.Errorf("samples (-want +got):\n%s", diff)
			}
			if info.Bits != tt.bits || info.Frames != int64(len(tt.want[0])) || info.Format != "FLAC" {
				t.Errorf("info %+v", info)
			}
		})
	}
}

// TestFLACAgainstWAV: every depth and number of channels, as FLAC and as WAV, sample for sample.
func TestFLACAgainstWAV(t *testing.T) {
	t.Parallel()
	for bits := 8; bits <= 24; bits++ {
		for _, channels := range []int{1, 2, 8} {
			t.Run(fmt.Sprintf("%d bits, %d channels", bits, channels), func(t *testing.T) {
				t.Parallel()
				var sound, shifted [][]int32
				bytesEach := (bits + 7) / 8
				for c := range channels {
					channel := rumble(1000, bits, uint64(c))
					sound = append(sound, channel)
					var top []int32
					for _, x := range channel {
						top = append(top, x<<(8*bytesEach-bits)) // a WAV keeps odd depths at the top of whole bytes
					}
					shifted = append(shifted, top)
				}
				info, got := mustRead(t, plainFLAC(44100, bits, 300, sound...))
				wavInfo, want := mustRead(t, wav{tag: 1, channels: channels, rateHz: 44100, bits: bits,
					data: interleave(bytesEach, shifted...)}.bytes())
				if diff := cmp.Diff(want, got); diff != "" {
					t.Errorf("samples (-WAV +FLAC):\n%s", diff)
				}
				if bits%4 == 0 {
					if _, got := mustRead(t, encodeFLAC(t, 44100, bits, 300, sound...)); !cmp.Equal(want, got) {
						t.Error("with predictors: samples differ from the WAV's")
					}
				}
				wavInfo.Format = "FLAC"
				if info != wavInfo {
					t.Errorf("FLAC says %+v, WAV says %+v", info, wavInfo)
				}
			})
		}
	}
}

// TestReferenceFiles reads files that the reference encoder, flac 1.4.2, wrote of one sound: the WAV it was given,
// FLACs by all its predictors, and an RF64 that it decoded them to.
func TestReferenceFiles(t *testing.T) {
	t.Parallel()
	for _, group := range [][]string{
		{"stereo-16.wav", "stereo-16-best.flac", "stereo-16-fast.flac", "stereo-16.rf64"},
		{"mono-24.wav", "mono-24-best.flac", "mono-24-extensible.wav"},
	} {
		var want [][]float32
		for _, name := range group {
			file, err := os.ReadFile(filepath.Join("testdata", name))
			if err != nil {
				t.Fatal(err)
			}
			_, got := mustRead(t, file)
			if want == nil {
				want = got
			}
			if len(got[0]) < 1000 || !cmp.Equal(want, got) {
				t.Errorf("%s differs from %s", name, group[0])
			}
		}
	}
}

func TestFLACCutShort(t *testing.T) {
	t.Parallel()
	sound := rumble(600, 16, 1)
	file := encodeFLAC(t, 48000, 16, 200, sound)
	want := scaled(16, sound)[0]
	for cut := range len(file) {
		r, err := recording.Open(bytes.NewReader(file[:cut]))
		if err != nil {
			if !errors.Is(err, recording.ErrUnreadable) {
				t.Fatalf("cut to %d bytes: %v", cut, err)
			}
			continue
		}
		got, err := readAll(r, 70)
		if n := len(got[0]); err != nil || n%200 != 0 || n == 0 || !cmp.Equal(got[0], want[:n]) {
			t.Fatalf("cut to %d bytes: %d samples, %v", cut, n, err)
		}
	}
}

// TestFLACFlipped: each block carries a checksum, so one wrong bit never gives wrong samples.
func TestFLACFlipped(t *testing.T) {
	t.Parallel()
	sound := rumble(400, 16, 1)
	file := encodeFLAC(t, 48000, 16, 200, sound)
	want := scaled(16, sound)[0]
	const firstBlock = 4 + 4 + 34
	for bit := 8 * firstBlock; bit < 8*len(file); bit++ {
		damaged := append([]byte(nil), file...)
		damaged[bit/8] ^= 1 << (bit % 8)
		r, err := recording.Open(bytes.NewReader(damaged))
		var got [][]float32
		if err == nil {
			got, err = readAll(r, 1000)
			if n := len(got[0]); n > 200 || !cmp.Equal(got[0], want[:n]) {
				t.Fatalf("bit %d: %d samples, %v", bit, n, err)
			}
		}
		if err != nil && !errors.Is(err, recording.ErrUnreadable) {
			t.Fatalf("bit %d: %v", bit, err)
		}
	}
}

func TestFLACSurroundings(t *testing.T) {
	t.Parallel()
	sound := rumble(400, 16, 1)
	file := encodeFLAC(t, 48000, 16, 200, sound)
	unknown := append([]byte(nil), file...)
	unknown[21] &^= 0x0F // the count of samples: 0 is "unknown"
	copy(unknown[22:26], "\x00\x00\x00\x00")
	for name, file := range map[string][]byte{
		"ID3 before":     append([]byte("ID3\x04\x00\x00\x00\x00\x01\x02"+strings.Repeat("x", 130)), file...),
		"tag after":      append(append([]byte(nil), file...), "TAG and more"...),
		"unknown length": unknown,
	} {
		info, got := mustRead(t, file)
		if !cmp.Equal(got, scaled(16, sound)) {
			t.Errorf("%s: %d samples", name, len(got[0]))
		}
		if want := int64(400); name == "unknown length" && info.Frames != -1 || name != "unknown length" &&
			info.Frames != want {
			t.Errorf("%s: claims %d frames", name, info.Frames)
		}
	}
}

func TestFLACRefusals(t *testing.T) {
	t.Parallel()
	sound := rumble(64, 16, 1)
	good := encodeFLAC(t, 48000, 16, 64, sound)
	with := func(at int, bytes ...byte) []byte {
		b := append([]byte(nil), good...)
		copy(b[at:], bytes)
		return b
	}
	for _, tt := range []struct {
		name string
		file []byte
		says string
	}{
		{"signature alone", []byte("fLaC"), "header"},
		{"no blocks", good[:42], "no sound"},
		{"rate 0", with(18, 0, 0, good[20]&0x0F), "header"},
		{"rate 1", with(18, 0, 0, 0x10|good[20]&0x0F), "1 samples a second"},
		{"rate 655350", with(18, 0x9F, 0xFF, 0x60|good[20]&0x0F), "655350"},
		{"header of 24 bits, blocks of 16", with(20, good[20]|1, 0x70), "damaged"},
		{"header of two channels, blocks of one", with(20, good[20]|2), "damaged"},
		{"header of 44.1 kHz, blocks of 48 kHz", with(18, 0x0A, 0xC4, 0x40|good[20]&0x0F), "damaged"},
		{"first metadata isn't the header", with(4, 0x84), "header"},
		{"a WAV's name on it", append([]byte("fLaC"), "\x24\x00\x00\x00WAVEfmt "...), "header"},
	} {
		t.Run(tt.name, func(t *testing.T) {
			t.Parallel()
			_, err := recording.Open(bytes.NewReader(tt.file))
			if !errors.Is(err, recording.ErrUnreadable) || !strings.Contains(err.Error(), tt.says) {
				t.Errorf("error %v, want one that says %q", err, tt.says)
			}
		})
	}
}

package recording_test

import (
	"bytes"
	"errors"
	"math"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"ledgerwheel/domain/recording"
)

// lossy are the coded files of testdata/lossy; its README says how they were made.
var lossy = []struct {
	name     string
	format   string
	rateHz   float64
	channels int
	frames   int
	stated   bool    // the header says how many
	clicksS  float64 // when the first click comes
	early    float64 // samples by which the coder itself lays them early
	within   float64 // of the other decoder, of full scale
}{
	{"clicks-44100.mp3", "MP3", 44100, 1, 30870, true, 0.05, 0, 2e-4},
	{"clicks-stereo-vbr.mp3", "MP3", 48000, 2, 33600, true, 0.05, 0, 2e-4},
	{"clicks-plain.mp3", "MP3", 44100, 1, 32256, false, 0.05 + 1105.0/44100, 0, 2e-4}, // without a tag the coder's delay stays
	{"clicks.opus", "Opus", 48000, 1, 33600, false, 0.05, 0, 2e-4},
	{"clicks-stereo.ogg", "Opus", 48000, 2, 33600, false, 0.05, 0, 2e-4},
	{"clicks-hybrid.opus", "Opus", 48000, 1, 33600, false, 0.05, 2, 5e-3},
}

func lossyFile(t testing.TB, name string) []byte {
	t.Helper()
	file, err := os.ReadFile(filepath.Join("testdata", "lossy", name))
	if err != nil {
		t.Fatal(err)
	}
	return file
}

// TestLossyAgainstFFmpeg: the same count of samples, and the same samples, as ffmpeg gives by its own decoder of MP3 and by
// libopus, the reference decoder of RFC 6716. The bounds leave room for the rounding of both sides to 16 bits, and at the
// hybrid of Opus for a resampler that no standard fixes.
func TestLossyAgainstFFmpeg(t *testing.T) {
	t.Parallel()
	for _, tt := range lossy {
		t.Run(tt.name, func(t *testing.T) {
			t.Parallel()
			info, got := mustRead(t, lossyFile(t, tt.name))
			_, want := mustRead(t, lossyFile(t, tt.name+".decoded.flac"))
			if info.Format != tt.format || info.RateHz != tt.rateHz || info.Channels != tt.channels {
				t.Errorf("says %+v", info)
			}
			if stated := info.Frames >= 0; stated != tt.stated || stated && info.Frames != int64(tt.frames) {
				t.Errorf("states %d frames", info.Frames)
			}
			if len(got) != len(want) || len(got[0]) != tt.frames || len(want[0]) != tt.frames {
				t.Fatalf("%d frames, ffmpeg %d, made of %d", len(got[0]), len(want[0]), tt.frames)
			}
			worst, at := 0.0, 0
			for c := range got {
				for i := range got[c] {
					if off := math.Abs(float64(got[c][i] - want[c][i])); off > worst {
						worst, at = off, i
					}
				}
			}
			t.Logf("greatest difference %.2g at %d", worst, at)
			if worst > tt.within {
				t.Errorf("differs by %.2g at frame %d, more than %.2g", worst, at, tt.within)
			}
		})
	}
}

// TestLossyClicks: the clicks lie where they were made, to a sample and a half, on every channel. What coding smears has no
// place of its own, so each is sought by its match with the click as it was made.
func TestLossyClicks(t *testing.T) {
	t.Parallel()
	for _, tt := range lossy {
		t.Run(tt.name, func(t *testing.T) {
			t.Parallel()
			_, got := mustRead(t, lossyFile(t, tt.name))
			for c := range got {
				for k := range 5 {
					wantS := tt.clicksS + 0.125*float64(k) - tt.early/tt.rateHz
					if off := matchClick(got[c], tt.rateHz, wantS) - wantS; math.Abs(off)*tt.rateHz > 1.5 {
						t.Errorf("channel %d: click %d is %.2f samples off", c, k, off*tt.rateHz)
					}
				}
			}
		})
	}
}

// matchClick returns when near a time, to within 4 ms, the sound is most like a click, of either sign.
func matchClick(sound []float32, rateHz, nearS float64) float64 {
	best, bestAt := 0.0, 0
	for at := int((nearS - 0.004) * rateHz); at < int((nearS+0.004)*rateHz); at++ {
		sum := 0.0
		for i := range int(0.003 * rateHz) {
			x := float64(i) / rateHz
			sum += float64(sound[at+i]) * math.Exp(-1500*x) * math.Sin(2*math.Pi*3000*x)
		}
		if sum = math.Abs(sum); sum > best {
			best, bestAt = sum, at
		}
	}
	return float64(bestAt) / rateHz
}

// TestLossyCutShort: a file that was cut ends in an error, after nothing but the samples of the whole one. One MP3 has no
// tag: cut between two frames nobody can tell, which is allowed there.
func TestLossyCutShort(t *testing.T) {
	t.Parallel()
	for _, tt := range lossy {
		t.Run(tt.name, func(t *testing.T) {
			t.Parallel()
			file := lossyFile(t, tt.name)
			_, whole := mustRead(t, file)
			silent := 0
			for cut := 1; cut < len(file); cut += 29 + cut%7 {
				r, err := recording.Open(bytes.NewReader(file[:cut]))
				var got [][]float32
				if err == nil {
					got, err = readAll(r, 700)
				}
				if err == nil {
					silent++
				} else if !errors.Is(err, recording.ErrUnreadable) {
					t.Fatalf("cut to %d bytes: %v", cut, err)
				}
				for c := range got {
					for i, x := range got[c] {
						if x != whole[c][i] {
							t.Fatalf("cut to %d bytes: frame %d is another", cut, i)
						}
					}
				}
			}
			if tagged := tt.name != "clicks-plain.mp3"; silent > 0 && tagged || silent > 6 {
				t.Errorf("%d cuts went unnoticed", silent)
			}
		})
	}
}

// TestLossyDamaged: noise, foreign files and files that lie are refused with a sentence, or end in an error.
func TestLossyDamaged(t *testing.T) {
	t.Parallel()
	good, opus := lossyFile(t, "clicks-44100.mp3"), lossyFile(t, "clicks.opus")
	spoilt := func(file []byte, at int, b ...byte) []byte {
		out := bytes.Clone(file)
		copy(out[at:], b)
		return out
	}
	noise := []byte(interleave(2, rumble(4000, 16, 9)))
	mpeg25 := bytes.Repeat(append([]byte{0xff, 0xe3, 0x44, 0xc4}, make([]byte, 188)...), 20)
	secondPage := bytes.Index(opus[4:], []byte("OggS")) + 4
	thirdPage := bytes.Index(opus[secondPage+4:], []byte("OggS")) + secondPage + 4
	for _, tt := range []struct {
		name string
		file []byte
		says string
	}{
		{"noise", noise, "neither a WAV nor"},
		{"noise after a frame's head", append([]byte{0xff, 0xfb, 0x50, 0xc4}, noise...), "neither a WAV nor"},
		{"noise after half an MP3", append(bytes.Clone(good[:4000]), noise...), "damaged"},
		{"MPEG-2.5", mpeg25, "at least 32000"},
		{"MPEG-2", lossyFile(t, "clicks-22050.mp3"), "22050 samples a second, and at least 32000"},
		{"M4A", lossyFile(t, "aac.m4a"), "Convert it to WAV or FLAC"},
		{"Vorbis", lossyFile(t, "vorbis.ogg"), "holds Vorbis"},
		{"WebM", append([]byte{0x1a, 0x45, 0xdf, 0xa3}, noise...), "WebM"},
		{"an Ogg page of noise", append([]byte("OggS"), noise...), "Opus file"},
		{"a bit of an Opus page", spoilt(opus, thirdPage+200, ^opus[thirdPage+200]), "damaged"},
		{"a page of Opus left out", append(bytes.Clone(opus[:secondPage]), opus[thirdPage:]...), "pages are missing"},
		{"two Opus recordings", append(bytes.Clone(opus), opus...), "more than one"},
		{"Opus and noise", append(bytes.Clone(opus[:thirdPage]), noise...), "damaged"},
	} {
		t.Run(tt.name, func(t *testing.T) {
			t.Parallel()
			r, err := recording.Open(bytes.NewReader(tt.file))
			if err == nil {
				_, err = readAll(r, 700)
			}
			if !errors.Is(err, recording.ErrUnreadable) || !strings.Contains(err.Error(), tt.says) {
				t.Errorf("error %v, want one that says %q", err, tt.says)
			}
		})
	}
}

// TestLossySurroundings: words before and after the sound are none of it.
func TestLossySurroundings(t *testing.T) {
	t.Parallel()
	good := lossyFile(t, "clicks-44100.mp3")
	_, want := mustRead(t, good)
	id3 := append([]byte("ID3\x04\x00\x00\x00\x00\x01\x02"), bytes.Repeat([]byte("x"), 130)...)
	for name, file := range map[string][]byte{
		"two tags before": append(bytes.Clone(id3), good...),
		"tag behind":      append(append(bytes.Clone(good), "TAG"...), make([]byte, 125)...),
		"zeros behind":    append(bytes.Clone(good), make([]byte, 5000)...),
		"new tag behind":  append(bytes.Clone(good), id3...),
	} {
		if _, got := mustRead(t, file); len(got[0]) != len(want[0]) {
			t.Errorf("%s: %d frames, want %d", name, len(got[0]), len(want[0]))
		}
	}
}

func FuzzMP3(f *testing.F) {
	addFiles(f, "lossy/*.mp3")
	f.Fuzz(readHostile)
}

func FuzzOpus(f *testing.F) {
	addFiles(f, "lossy/*.opus")
	addFiles(f, "lossy/*.ogg")
	f.Fuzz(readHostile)
}

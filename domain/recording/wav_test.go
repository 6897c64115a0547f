package recording_test

import (
	"bytes"
	"errors"
	"io"
	"math"
	"runtime"
	"strings"
	"testing"
	"testing/iotest"

	"github.com/google/go-cmp/cmp"

	"ledgerwheel/domain/recording"
)

// TestWAVSamples reads every kind of sample at the ends of its scale and in between. The values are exact: each is
// a whole number over a power of two.
func TestWAVSamples(t *testing.T) {
	t.Parallel()
	inf, nan := math.Inf(1), math.NaN()
	for _, tt := range []struct {
		name string
		file wav
		want []float32
		bits int
	}{
		{"8 bits", wav{tag: 1, bits: 8, data: pcm(1, -128, -1, 0, 1, 127)}, []float32{-1, -1. / 128, 0, 1. / 128, 127. / 128},
			8},
		{"16 bits", wav{tag: 1, bits: 16, data: pcm(2, -32768, -1, 0, 1, 32767)}, []float32{-1, -1. / 32768, 0, 1. / 32768,
			32767. / 32768}, 16},
		{"24 bits", wav{tag: 1, bits: 24, data: pcm(3, -8388608, -1, 0, 1, 8388607)},
			[]float32{-1, -1. / 8388608, 0, 1. / 8388608, 8388607. / 8388608}, 24},
		{"32 bits", wav{tag: 1, bits: 32, data: pcm(4, -1<<31, -1, 0, 1<<30, 1<<31-128)},
			[]float32{-1, -1. / (1 << 31), 0, 0.5, 1 - 1./(1<<24)}, 32},
		{"12 bits at the top of 16", wav{tag: 1, bits: 12, data: pcm(2, -32768, 16, 0x7FF0)},
			[]float32{-1, 1. / 2048, 2047. / 2048}, 12},
		{"float", wav{tag: 3, bits: 32, data: float32s(-1, 0.1, 1.5, float32(inf), float32(-inf), float32(nan))},
			[]float32{-1, 0.1, 1.5, 0, 0, 0}, 32},
		{"double", wav{tag: 3, bits: 64, data: float64s(-1, 0.1, 1e300, inf, -inf, nan)}, []float32{-1, 0.1, 0, 0, 0, 0}, 64},
		{"extensible, 24 of 32 bits", wav{tag: 1, bits: 32, valid: 24, data: pcm(4, -1<<31, 1<<8)},
			[]float32{-1, 1. / (1 << 23)}, 24},
		{"extensible float", wav{tag: 3, bits: 32, valid: 32, data: float32s(0.25)}, []float32{0.25}, 32},
	} {
		t.Run(tt.name, func(t *testing.T) {
			t.Parallel()
			tt.file.channels, tt.file.rateHz = 1, 48000
			info, got := mustRead(t, tt.file.bytes())
			if diff := cmp.Diff([][]float32{tt.want}, got); diff != "" {
				t.Errorf("samples (-want +got):\n%s", diff)
			}
			want := recording.Info{Format: "WAV", RateHz: 48000, Channels: 1, Bits: tt.bits, Float: tt.file.tag == 3,
				Frames: int64(len(tt.want))}
			if info != want {
				t.Errorf("info %+v, want %+v", info, want)
			}
		})
	}
}

// TestWAVLayouts: chunks in the way, lengths that are unknown, long or lies.
func TestWAVLayouts(t *testing.T) {
	t.Parallel()
	list := chunk("LIST", "INFOISFTx") // odd: a pad byte follows
	stereo := wav{tag: 1, channels: 2, rateHz: 44100, bits: 16, data: pcm(2, 16384, -16384, 8192, -8192)}
	whole := [][]float32{{0.5, 0.25}, {-0.5, -0.25}}
	with := func(change func(*wav)) []byte {
		w := stereo
		change(&w)
		return w.bytes()
	}
	for _, tt := range []struct {
		name   string
		file   []byte
		want   [][]float32
		frames int64
	}{
		{"plain", stereo.bytes(), whole, 2},
		{"chunks in the way", with(func(w *wav) { w.before, w.between, w.after = list, list+chunk("fact", "1234"), list }),
			whole, 2},
		{"length 0, as a recorder leaves that streams", with(func(w *wav) { w.unstated = true }), whole, -1},
		{"length all ones", with(func(w *wav) { w.dataBytes = 0xFFFFFFFF }), whole, -1},
		{"length too long", with(func(w *wav) { w.dataBytes = 0xFFFFFFF0 }), whole, 0xFFFFFFF0 / 4},
		{"length shorter than the file", with(func(w *wav) { w.dataBytes = 4; w.after = list }), [][]float32{{0.5}, {-0.5}},
			1},
		{"length ends inside a frame", with(func(w *wav) { w.dataBytes = 7 }), [][]float32{{0.5}, {-0.5}}, 1},
		{"cut inside a frame", with(func(w *wav) { w.data = w.data[:7] })[:51], [][]float32{{0.5}, {-0.5}}, 1},
		{"RF64", with(func(w *wav) { w.magic, w.before, w.dataBytes = "RF64", ds64(8, "", 0), 0xFFFFFFFF }), whole, 2},
		{"RF64 with a length past 4 GiB", with(func(w *wav) {
			w.magic, w.before, w.dataBytes = "RF64", ds64(1<<33, "", 0),
				0xFFFFFFFF
		}), whole, 1 << 31},
		{"RF64 with a length past all", with(func(w *wav) {
			w.magic, w.before, w.dataBytes = "RF64", ds64(1<<63+8, "", 0),
				0xFFFFFFFF
		}), whole, -1},
		{"RF64 without ds64", with(func(w *wav) { w.magic, w.dataBytes = "RF64", 0xFFFFFFFF }), whole, -1},
		{"BW64 with a long chunk in the table", with(func(w *wav) {
			w.magic, w.dataBytes = "BW64", 0xFFFFFFFF
			w.before = ds64(8, "axml", 3) + "axml\xFF\xFF\xFF\xFFabc\x00"
		}), whole, 2},
	} {
		t.Run(tt.name, func(t *testing.T) {
			t.Parallel()
			info, got := mustRead(t, tt.file)
			if diff := cmp.Diff(tt.want, got); diff != "" {
				t.Errorf("samples (-want +got):\n%s", diff)
			}
			if info.Frames != tt.frames {
				t.Errorf("header claims %d frames, want %d", info.Frames, tt.frames)
			}
		})
	}
}

func TestWAVRefusals(t *testing.T) {
	t.Parallel()
	good := wav{tag: 1, channels: 1, rateHz: 48000, bits: 16, data: pcm(2, 1, 2, 3)}
	with := func(change func(*wav)) []byte {
		w := good
		change(&w)
		return w.bytes()
	}
	for _, tt := range []struct {
		name string
		file []byte
		says string
	}{
		{"empty", nil, "empty"},
		{"one byte", []byte("R"), "neither"},
		{"text", []byte("a letter, not a sound"), "neither"},
		{"another RIFF", []byte("RIFF\x10\x00\x00\x00AVI LIST"), "neither"},
		{"no channel", with(func(w *wav) { w.channels = 0; w.align = 2 }), "no channels"},
		{"nine channels", with(func(w *wav) { w.channels = 9 }), "9 channels"},
		{"65535 channels", with(func(w *wav) { w.channels = 65535; w.align = 4 }), "65535 channels"},
		{"rate 0", with(func(w *wav) { w.rateHz = 0 }), "0 samples a second"},
		{"rate 7999", with(func(w *wav) { w.rateHz = 7999 }), "7999"},
		{"rate 384001", with(func(w *wav) { w.rateHz = 384001 }), "384001"},
		{"rate 4 GHz", with(func(w *wav) { w.rateHz = 0xFFFFFFFF }), "4294967295"},
		{"align lies", with(func(w *wav) { w.align = 4 }), "contradicts itself"},
		{"no bits", with(func(w *wav) { w.bits = 0; w.align = 2 }), "0 bits"},
		{"4 bits", with(func(w *wav) { w.bits = 4 }), "4 bits"},
		{"40 bits", with(func(w *wav) { w.bits = 40 }), "40 bits"},
		{"float of 16 bits", with(func(w *wav) { w.tag = 3 }), "16 bits"},
		{"A-law", with(func(w *wav) { w.tag = 6; w.bits = 8 }), "A-law"},
		{"unknown format", with(func(w *wav) { w.tag = 0x1234 }), "format 4660"},
		{"unknown sub-format", with(func(w *wav) { w.guid = "\x01\x00sixteen bytes!" }), "extended format"},
		{"more valid bits than bits", with(func(w *wav) { w.valid = 17 }), "17 bits of sound"},
		{"extensible bits that aren't bytes", with(func(w *wav) { w.valid, w.bits = 12, 12 }), "don't fill bytes"},
		{"format too short", with(func(w *wav) { w.shortenFmt = 2 }), "14 bytes"},
		{"extensible too short", with(func(w *wav) { w.valid, w.shortenFmt = 16, 2 }), "extended format"},
		{"no sound", with(func(w *wav) { w.data = "" }), "no sound"},
		{"less than a frame", with(func(w *wav) { w.data = "x" }), "no sound"},
		{"data before format", append([]byte("RIFF\x00\x00\x00\x00WAVE"), chunk("data", "1234")...), "before its format"},
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

// TestCutAtEveryByte: a file cut short is refused, or gives its whole frames; never anything else.
func TestCutAtEveryByte(t *testing.T) {
	t.Parallel()
	data := pcm(2, 100, 200, 300)
	files := map[string][]byte{
		"plain": wav{tag: 1, channels: 1, rateHz: 8000, bits: 16, data: data}.bytes(),
		"extensible": wav{tag: 1, channels: 1, rateHz: 8000, bits: 16, valid: 16, between: chunk("note", "odd"),
			data: data}.bytes(),
		"RF64": wav{magic: "RF64", before: ds64(6, "", 0), tag: 1, channels: 1, rateHz: 8000, bits: 16, dataBytes: 0xFFFFFFFF,
			data: data}.bytes(),
	}
	want := []float32{100. / 32768, 200. / 32768, 300. / 32768}
	for name, file := range files {
		head := len(file) - len(data)
		for cut := range len(file) {
			frames := max(0, cut-head) / 2
			r, err := recording.Open(iotest.OneByteReader(bytes.NewReader(file[:cut])))
			if frames == 0 {
				if !errors.Is(err, recording.ErrUnreadable) || errors.Is(err, io.EOF) {
					t.Errorf("%s cut to %d bytes: error %v", name, cut, err)
				}
				continue
			}
			if err != nil {
				t.Errorf("%s cut to %d bytes: %v", name, cut, err)
				continue
			}
			got, err := readAll(r, 2)
			if err != nil || !cmp.Equal(got[0], want[:frames]) {
				t.Errorf("%s cut to %d bytes: %v, %v", name, cut, got, err)
			}
		}
	}
}

// TestFailingReader: a disk or a connection that fails isn't the end of a recording.
func TestFailingReader(t *testing.T) {
	t.Parallel()
	failure := errors.New("the line dropped")
	sound := rumble(40000, 16, 1)
	for name, file := range map[string][]byte{
		"WAV":  wav{tag: 1, channels: 1, rateHz: 48000, bits: 16, data: interleave(2, sound)}.bytes(),
		"FLAC": encodeFLAC(t, 48000, 16, 4096, sound),
		"MP3":  lossyFile(t, "clicks-44100.mp3"),
		"Opus": lossyFile(t, "clicks.opus"),
	} {
		for _, after := range []int{0, 3, 20, 41, len(file) / 2} {
			r, err := recording.Open(io.MultiReader(bytes.NewReader(file[:after]), iotest.ErrReader(failure)))
			if err == nil {
				_, err = readAll(r, 1000)
			}
			if !errors.Is(err, failure) || !errors.Is(err, recording.ErrUnreadable) || !strings.Contains(err.Error(),
				"the line dropped") {
				t.Errorf("%s after %d bytes: error %v", name, after, err)
			}
		}
	}
}

// TestReadContract: fewer slices than channels, shorter slices, none, too many.
func TestReadContract(t *testing.T) {
	t.Parallel()
	file := wav{tag: 1, channels: 2, rateHz: 48000, bits: 8, data: pcm(1, 64, -64, 32, -32, 16, -16)}.bytes()
	r, err := recording.Open(bytes.NewReader(file))
	if err != nil {
		t.Fatal(err)
	}
	a, b := make([]float32, 1), make([]float32, 9)
	if n, err := r.Read([][]float32{a, b}); n != 1 || err != nil || a[0] != 0.5 || b[0] != -0.5 || b[1] != 0 {
		t.Errorf("one frame: %d, %v, %v, %v", n, err, a, b)
	}
	if n, err := r.Read([][]float32{nil, b}); n != 0 || err != nil {
		t.Errorf("no room: %d, %v", n, err)
	}
	if n, err := r.Read([][]float32{b}); n != 2 || err != nil || b[0] != 0.25 || b[1] != 0.125 {
		t.Errorf("first channel alone: %d, %v, %v", n, err, b)
	}
	for range 2 {
		if n, err := r.Read([][]float32{b}); n != 0 || err != io.EOF {
			t.Errorf("at the end: %d, %v", n, err)
		}
	}
	defer func() {
		if recover() == nil {
			t.Error("three slices for two channels: no panic")
		}
	}()
	_, _ = r.Read([][]float32{a, a, a})
}

// TestLyingSizesTakeNoMemory: headers that claim gigabytes over a few bytes. What is allocated in all is counted, so
// the test does not run beside others.
func TestLyingSizesTakeNoMemory(t *testing.T) {
	data := pcm(2, 1, 2)
	huge := "\xFF\xFF\xFF\xFE"
	short := encodeFLAC(t, 48000, 16, 4096, rumble(16, 16, 1))
	longFLAC := append([]byte(nil), short...)
	copy(longFLAC[21:26], "\xFF\xFF\xFF\xFF\xFF") // the count of samples
	longFLAC[21] = short[21] | 0x0F
	for name, file := range map[string][]byte{
		"data": wav{tag: 1, channels: 1, rateHz: 48000, bits: 16, data: data, dataBytes: 0xFFFFFFFE}.bytes(),
		"RF64": wav{magic: "RF64", before: ds64(1<<62, "", 0), tag: 1, channels: 1, rateHz: 48000, bits: 16,
			data: data, dataBytes: 0xFFFFFFFF}.bytes(),
		"format":        []byte("RIFF" + huge + "WAVEfmt " + huge + "\x01\x00\x01\x00"),
		"ds64":          []byte("RF64" + huge + "WAVEds64" + huge + "1234"),
		"other chunk":   []byte("RIFF" + huge + "WAVEjunk" + huge + "1234"),
		"ID3":           []byte("ID3\x04\x00\x00\x7F\x7F\x7F\x7Fxyz"),
		"FLAC metadata": []byte("fLaC\x04\xFF\xFF\xFFxyz"),
		"FLAC samples":  longFLAC,
	} {
		var before, after runtime.MemStats
		runtime.ReadMemStats(&before)
		r, err := recording.Open(bytes.NewReader(file))
		if err == nil {
			_, err = readAll(r, 1000)
		}
		runtime.ReadMemStats(&after)
		if err != nil && !errors.Is(err, recording.ErrUnreadable) {
			t.Errorf("%s: %v", name, err)
		}
		// Two buffers of 64 KiB and small things.
		if took := after.TotalAlloc - before.TotalAlloc; took > 1<<20 {
			t.Errorf("%s: %d bytes allocated for a file of %d", name, took, len(file))
		}
	}
}

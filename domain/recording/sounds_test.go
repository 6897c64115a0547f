package recording_test

import (
	"bytes"
	"encoding/binary"
	"io"
	"math"
	"math/rand/v2"
	"testing"

	"github.com/mewkiz/flac"
	"github.com/mewkiz/flac/frame"
	"github.com/mewkiz/flac/meta"

	"ledgerwheel/domain/recording"
)

// wav is a WAV file in parts, so that each part can lie.
type wav struct {
	magic      string // RIFF unless set
	tag        uint16
	channels   int
	rateHz     int
	bits       int
	align      int    // of a frame, as stated; right unless set
	valid      int    // bits that carry sound: with it the header is extensible
	guid       string // sub-format instead of the tag's
	before     string // chunks between WAVE and fmt
	between    string // chunks between fmt and data
	dataBytes  uint32 // stated length; right unless set or unknown
	unstated   bool   // stated length 0
	data       string
	after      string
	shortenFmt int
}

// bytes builds the file by the published layout, written here a second time so as not to test the reader against
// itself.
func (w wav) bytes() []byte {
	le := binary.LittleEndian
	frameBytes := w.channels * ((w.bits + 7) / 8)
	if w.align == 0 {
		w.align = frameBytes
	}
	tag := w.tag
	if w.valid > 0 || w.guid != "" {
		tag = 0xFFFE
	}
	f := le.AppendUint16(nil, tag)
	f = le.AppendUint16(f, uint16(w.channels))
	f = le.AppendUint32(f, uint32(w.rateHz))
	f = le.AppendUint32(f, uint32(w.rateHz*w.align))
	f = le.AppendUint16(f, uint16(w.align))
	f = le.AppendUint16(f, uint16(w.bits))
	if tag == 0xFFFE {
		f = le.AppendUint16(f, 22)
		f = le.AppendUint16(f, uint16(w.valid))
		f = le.AppendUint32(f, 1) // front left
		guid := w.guid
		if guid == "" {
			guid = string(le.AppendUint16(nil, w.tag)) + "\x00\x00\x00\x00\x10\x00\x80\x00\x00\xaa\x00\x38\x9b\x71"
		}
		f = append(f, guid...)
	}
	f = f[:len(f)-w.shortenFmt]
	size := uint32(len(w.data))
	if w.dataBytes != 0 || w.unstated {
		size = w.dataBytes
	}
	body := "WAVE" + w.before + chunk("fmt ", string(f)) + w.between
	body += "data" + string(le.AppendUint32(nil, size)) + w.data
	if len(w.data)%2 == 1 {
		body += "\x00"
	}
	body += w.after
	magic := w.magic
	if magic == "" {
		magic = "RIFF"
	}
	return []byte(magic + string(le.AppendUint32(nil, uint32(len(body)))) + body)
}

// chunk is a chunk with its pad byte.
func chunk(id, body string) string {
	s := id + string(binary.LittleEndian.AppendUint32(nil, uint32(len(body)))) + body
	if len(body)%2 == 1 {
		s += "\x00"
	}
	return s
}

// ds64 is the RF64 chunk of long lengths with a table of one other chunk.
func ds64(dataBytes uint64, other string, otherBytes uint64) string {
	le := binary.LittleEndian
	b := le.AppendUint64(nil, 0)
	b = le.AppendUint64(b, dataBytes)
	b = le.AppendUint64(b, 0)
	if other == "" {
		b = le.AppendUint32(b, 0)
	} else {
		b = le.AppendUint32(b, 1)
		b = append(b, other...)
		b = le.AppendUint64(b, otherBytes)
	}
	return chunk("ds64", string(b))
}

// pcm writes whole numbers of so many bytes, little end first; a byte alone has its silence at 128.
func pcm(bytesEach int, samples ...int) string {
	var b []byte
	for _, x := range samples {
		if bytesEach == 1 {
			x += 128
		}
		for i := range bytesEach {
			b = append(b, byte(x>>(8*i)))
		}
	}
	return string(b)
}

func float32s(samples ...float32) string {
	var b []byte
	for _, x := range samples {
		b = binary.LittleEndian.AppendUint32(b, math.Float32bits(x))
	}
	return string(b)
}

func float64s(samples ...float64) string {
	var b []byte
	for _, x := range samples {
		b = binary.LittleEndian.AppendUint64(b, math.Float64bits(x))
	}
	return string(b)
}

// readAll reads a recording, sizes frames at a time, and returns its channels.
func readAll(r *recording.Reader, size int) ([][]float32, error) {
	channels := make([][]float32, r.Info().Channels)
	block := make([][]float32, len(channels))
	for c := range block {
		block[c] = make([]float32, size)
	}
	for {
		n, err := r.Read(block)
		for c := range channels {
			channels[c] = append(channels[c], block[c][:n]...)
		}
		if err == io.EOF {
			return channels, nil
		}
		if err != nil {
			return channels, err
		}
	}
}

func mustRead(t *testing.T, file []byte) (recording.Info, [][]float32) {
	t.Helper()
	r, err := recording.Open(bytes.NewReader(file))
	if err != nil {
		t.Fatal(err)
	}
	channels, err := readAll(r, 1000)
	if err != nil {
		t.Fatal(err)
	}
	return r.Info(), channels
}

// encodeFLAC is the library's encoder, which knows depths of 8, 12, 16, 20 and 24 bits. Blocks hold blockFrames frames.
func encodeFLAC(t testing.TB, rateHz, bits, blockFrames int, channels ...[]int32) []byte {
	t.Helper()
	file := &seekBuffer{}
	info := &meta.StreamInfo{BlockSizeMin: 16, BlockSizeMax: 65535, SampleRate: uint32(rateHz),
		NChannels:     uint8(len(channels)),
		BitsPerSample: uint8(bits)}
	enc, err := flac.NewEncoder(file, info)
	if err != nil {
		t.Fatal(err)
	}
	for at := 0; at < len(channels[0]); at += blockFrames {
		end := min(at+blockFrames, len(channels[0]))
		f := &frame.Frame{Header: frame.Header{BlockSize: uint16(end - at), SampleRate: uint32(rateHz),
			Channels: frame.Channels(len(channels) - 1), BitsPerSample: uint8(bits)}}
		for _, channel := range channels {
			f.Subframes = append(f.Subframes, &frame.Subframe{SubHeader: frame.SubHeader{Pred: frame.PredVerbatim},
				Samples: append([]int32(nil), channel[at:end]...), NSamples: end - at})
		}
		if err := enc.WriteFrame(f); err != nil {
			t.Fatal(err)
		}
	}
	if err := enc.Close(); err != nil {
		t.Fatal(err)
	}
	return file.b
}

// seekBuffer is a file in memory: the encoder goes back to fill in the header.
type seekBuffer struct {
	b  []byte
	at int
}

func (s *seekBuffer) Write(p []byte) (int, error) {
	if grow := s.at + len(p) - len(s.b); grow > 0 {
		s.b = append(s.b, make([]byte, grow)...)
	}
	s.at += copy(s.b[s.at:], p)
	return len(p), nil
}

func (s *seekBuffer) Seek(offset int64, whence int) (int64, error) {
	if whence == io.SeekStart {
		s.at = int(offset)
	}
	return int64(s.at), nil
}

// rumble is a sound that a predictor can do something with: a slow wave and some noise, near full scale.
func rumble(frames, bits int, seed uint64) []int32 {
	rnd := rand.New(rand.NewPCG(seed, 1))
	full := math.Ldexp(1, bits-1)
	samples := make([]int32, frames)
	for i := range samples {
		samples[i] = int32(full * (0.9*math.Sin(float64(i)/20+float64(seed)) + 0.05*rnd.Float64()))
	}
	return samples
}

// interleave lays whole numbers out as a WAV's data.
func interleave(bytesEach int, channels ...[]int32) string {
	flat := make([]int, 0, len(channels)*len(channels[0]))
	for i := range channels[0] {
		for _, channel := range channels {
			flat = append(flat, int(channel[i]))
		}
	}
	return pcm(bytesEach, flat...)
}

// plainFLAC lays a FLAC file out by RFC 9639 with nothing predicted, for any depth: the blocks leave the depth to the
// header.
func plainFLAC(rateHz, bits, blockFrames int, channels ...[]int32) []byte {
	head := &bitWriter{}
	head.put(16, 16)
	head.put(65535, 16)
	head.put(0, 48) // sizes of blocks in bytes: unknown
	head.put(uint64(rateHz), 20)
	head.put(uint64(len(channels)-1), 3)
	head.put(uint64(bits-1), 5)
	head.put(uint64(len(channels[0])), 36)
	head.put(0, 64)
	head.put(0, 64) // MD5 unknown
	file := append([]byte("fLaC\x80\x00\x00\x22"), head.b...)
	for at := 0; at < len(channels[0]); at += blockFrames {
		end := min(at+blockFrames, len(channels[0]))
		b := &bitWriter{}
		b.put(0xFFF8, 16)
		b.put(0x70, 8) // block size in 16 bits below, rate as in the header
		b.put(uint64(len(channels)-1)<<4, 8)
		b.put(uint64(at/blockFrames), 8) // fewer than 128 blocks
		b.put(uint64(end-at-1), 16)
		b.put(crc(b.b, 8, 0x07), 8)
		for _, channel := range channels {
			b.put(2, 8) // verbatim
			for _, x := range channel[at:end] {
				b.put(uint64(x)&(1<<bits-1), bits)
			}
		}
		b.put(0, -b.n&7)
		b.put(crc(b.b, 16, 0x8005), 16)
		file = append(file, b.b...)
	}
	return file
}

// bitWriter writes bits, the highest first.
type bitWriter struct {
	b []byte
	n int // bits
}

func (w *bitWriter) put(x uint64, bits int) {
	for i := bits - 1; i >= 0; i-- {
		if w.n%8 == 0 {
			w.b = append(w.b, 0)
		}
		w.b[w.n/8] |= byte(x>>i&1) << (7 - w.n%8)
		w.n++
	}
}

// crc is the cyclic redundancy check of a width and polynomial, bit by bit.
func crc(b []byte, width int, poly uint64) uint64 {
	var sum uint64
	for _, x := range b {
		sum ^= uint64(x) << (width - 8)
		for range 8 {
			sum <<= 1
			if sum>>width&1 == 1 {
				sum ^= 1<<width | poly
			}
		}
	}
	return sum
}

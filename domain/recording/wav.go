package recording

import (
	"bufio"
	"encoding/binary"
	"fmt"
	"io"
)

// Format tags of the fmt chunk.
const (
	tagPCM        = 0x0001
	tagFloat      = 0x0003
	tagExtensible = 0xFFFE
)

// otherTags names the formats that people meet and that aren't read here.
var otherTags = map[uint16]string{0x0002: "ADPCM", 0x0006: "A-law", 0x0007: "µ-law", 0x0011: "ADPCM", 0x0055: "MP3"}

// subFormatTail ends the sub-format of WAVE_FORMAT_EXTENSIBLE; its first two bytes are a format tag.
const subFormatTail = "\x00\x00\x00\x00\x10\x00\x80\x00\x00\xaa\x00\x38\x9b\x71"

// unknownSize stands in a size field for "not known when this was written" and, in RF64, for "see ds64".
const unknownSize = 0xFFFFFFFF

func isWAV(first []byte) bool {
	if len(first) < 12 || string(first[8:12]) != "WAVE" {
		return false
	}
	switch string(first[:4]) {
	case "RIFF", "RF64", "BW64":
		return true
	}
	return false
}

// wavHeader is what the chunks before the sound say.
type wavHeader struct {
	rf64       bool
	format     *wavFormat // nil until its chunk was met
	dataBytes  int64      // by ds64; 0 when it doesn't say
	otherBytes map[string]int64
}

// wavFormat is the fmt chunk.
type wavFormat struct {
	float       bool
	channels    int
	rateHz      uint32
	sampleBytes int
	bits        int // of a sample that carry sound, left-justified in its bytes
}

// openWAV reads the chunks up to the sound.
func openWAV(in *input, br *bufio.Reader) (Info, source, error) {
	h := wavHeader{}
	var riff [12]byte
	if _, err := io.ReadFull(br, riff[:]); err != nil {
		return Info{}, nil, in.fault(err, "The WAV file ends inside its header.")
	}
	h.rf64 = string(riff[:4]) != "RIFF"
	for {
		var head [8]byte
		if _, err := io.ReadFull(br, head[:]); err != nil {
			return Info{}, nil, in.fault(err, "The WAV file ends before its sound begins.")
		}
		id, size := string(head[:4]), binary.LittleEndian.Uint32(head[4:])
		if id == "data" {
			return h.openData(in, br, size)
		}
		if err := h.chunk(in, br, id, h.size(id, size)); err != nil {
			return Info{}, nil, err
		}
	}
}

// size returns the length of a chunk other than data.
func (h *wavHeader) size(id string, size uint32) int64 {
	if long, ok := h.otherBytes[id]; ok && size == unknownSize {
		return long
	}
	return int64(size)
}

// chunk reads one chunk, or passes over it, with the pad byte that follows an odd length.
func (h *wavHeader) chunk(in *input, br *bufio.Reader, id string, size int64) error {
	var body []byte
	if id == "fmt " || id == "ds64" {
		body = make([]byte, min(size, 1<<10)) // fmt takes at most 40 bytes; ds64 28 and 12 for each long chunk
		if _, err := io.ReadFull(br, body); err != nil {
			return in.fault(err, "The WAV file ends inside its header.")
		}
	}
	switch id {
	case "fmt ":
		format, err := parseFormat(body)
		if err != nil {
			return err
		}
		h.format = format
	case "ds64":
		h.parseDS64(body)
	}
	if err := skip(br, size-int64(len(body))+size&1); err != nil {
		return in.fault(err, "The WAV file ends before its sound begins.")
	}
	return nil
}

// parseDS64 reads the lengths of 64 bits: of the file, of the data, the count of samples, and a table of others.
// Lengths past the range of a signed number are no lengths.
func (h *wavHeader) parseDS64(b []byte) {
	if !h.rf64 || len(b) < 28 {
		return
	}
	h.dataBytes = max(0, int64(binary.LittleEndian.Uint64(b[8:])))
	h.otherBytes = map[string]int64{}
	for row := b[28:]; len(row) >= 12; row = row[12:] {
		if n := int64(binary.LittleEndian.Uint64(row[4:])); n >= 0 && n < 1<<62 {
			h.otherBytes[string(row[:4])] = n
		}
	}
}

// parseFormat reads the fmt chunk and refuses what can't be.
func parseFormat(b []byte) (*wavFormat, error) {
	if len(b) < 16 {
		return nil, refuse("The WAV file's header is damaged: its format takes %d bytes, and 16 is the least.", len(b))
	}
	tag := binary.LittleEndian.Uint16(b)
	f := &wavFormat{
		channels: int(binary.LittleEndian.Uint16(b[2:])),
		rateHz:   binary.LittleEndian.Uint32(b[4:]),
		bits:     int(binary.LittleEndian.Uint16(b[14:])),
	}
	f.sampleBytes = (f.bits + 7) / 8
	if tag == tagExtensible {
		var err error
		if tag, err = f.extend(b); err != nil {
			return nil, err
		}
	}
	f.float = tag == tagFloat
	switch name := otherTags[tag]; {
	case tag == tagPCM || tag == tagFloat:
	case name != "":
		return nil, refuse("The WAV file holds %s sound. Only plain samples (PCM or floating point) can be read.", name)
	default:
		return nil, refuse("The WAV file holds sound of format %d. Only plain samples (PCM or floating point) can be read.",
			tag)
	}
	if err := checkShape("WAV", float64(f.rateHz), f.channels); err != nil {
		return nil, err
	}
	if pcm := f.bits >= 8 && f.bits <= 32; !f.float && !pcm || f.float && f.sampleBytes*8 != 32 && f.sampleBytes*8 != 64 {
		return nil, refuse("The WAV file has samples of %d bits, which can't be read.", f.bits)
	}
	if align := int(binary.LittleEndian.Uint16(b[12:])); align != f.channels*f.sampleBytes {
		return nil, refuse("The WAV file's header contradicts itself: %d channels of %d bytes a sample don't make the %d "+
			"bytes it states.",
			f.channels, f.sampleBytes, align)
	}
	return f, nil
}

// extend reads what WAVE_FORMAT_EXTENSIBLE adds: the bits that carry sound and the true format tag.
func (f *wavFormat) extend(b []byte) (tag uint16, err error) {
	if len(b) < 40 || string(b[26:40]) != subFormatTail {
		return 0, refuse("The WAV file's header is damaged: its extended format is none that is known.")
	}
	if f.bits%8 != 0 {
		return 0, refuse("The WAV file's header contradicts itself: samples of %d bits don't fill bytes.", f.bits)
	}
	switch valid := int(binary.LittleEndian.Uint16(b[18:])); {
	case valid > f.bits:
		return 0, refuse("The WAV file's header contradicts itself: %d bits of sound in samples of %d bits.", valid, f.bits)
	case valid > 0:
		f.bits = valid
	}
	return binary.LittleEndian.Uint16(b[24:]), nil
}

// checkShape refuses sample rates and channels that can't be, for every format.
func checkShape(format string, rateHz float64, channels int) error {
	switch {
	case channels < 1:
		return refuse("The %s file says it has no channels.", format)
	case channels > MaxChannels:
		return refuse("The %s file has %d channels. At most %d can be read.", format, channels, MaxChannels)
	case !(rateHz >= MinRateHz && rateHz <= MaxRateHz):
		return refuse("The %s file says it has %.0f samples a second. It must be from %d to %d.", format, rateHz, MinRateHz,
			MaxRateHz)
	}
	return nil
}

// openData begins the sound, whose chunk claims a length.
func (h *wavHeader) openData(in *input, br *bufio.Reader, size uint32) (Info, source, error) {
	if h.format == nil {
		return Info{}, nil, refuse("The WAV file's header is damaged: its sound comes before its format.")
	}
	left := int64(size)
	if size == unknownSize {
		left = h.dataBytes
	}
	f := h.format
	info := Info{Format: "WAV", RateHz: float64(f.rateHz), Channels: f.channels, Bits: f.bits, Float: f.float, Frames: -1}
	frameBytes := f.channels * f.sampleBytes
	frames := int64(-1)
	if left > 0 { // recorders that stream leave 0 or unknownSize
		frames = left / int64(frameBytes)
		info.Frames = frames
	}
	if _, err := br.Peek(frameBytes); err != nil || frames == 0 {
		return Info{}, nil, in.fault(err, "The WAV file holds no sound.")
	}
	decode, err := decoder(f.float, f.sampleBytes)
	if err != nil {
		return Info{}, nil, err
	}
	src := &wavSource{in: in, br: br, left: frames, sampleBytes: f.sampleBytes, frameBytes: frameBytes, decode: decode}
	return info, src, nil
}

// wavSource reads the data chunk.
type wavSource struct {
	in                      *input
	br                      *bufio.Reader
	left                    int64 // frames, −1 for "to the end"
	sampleBytes, frameBytes int
	decode                  decodeFunc
}

func (s *wavSource) read(frames [][]float32) (int, error) {
	done, n := 0, len(frames[0])
	if s.left >= 0 {
		n = int(min(int64(n), s.left))
	}
	for done < n {
		b, err := s.br.Peek(min(n-done, s.br.Size()/s.frameBytes) * s.frameBytes)
		whole := len(b) / s.frameBytes
		for c, channel := range frames {
			if whole > 0 {
				s.decode(channel[done:done+whole], b[c*s.sampleBytes:], s.frameBytes)
			}
		}
		done += whole
		if _, lost := s.br.Discard(whole * s.frameBytes); err != nil || lost != nil {
			s.left = 0
			break
		}
	}
	if s.left > 0 {
		s.left -= int64(done)
	}
	if done == 0 {
		if s.in.err != nil {
			return 0, s.in.fault(s.in.err, "")
		}
		return 0, io.EOF
	}
	return done, nil
}

// decoder returns what turns samples of this kind into numbers of full scale ±1.
func decoder(float bool, sampleBytes int) (decodeFunc, error) {
	kind := sampleBytes
	if float {
		kind = -sampleBytes
	}
	switch kind {
	case 1:
		return decodeU8, nil
	case 2:
		return decodeS16, nil
	case 3:
		return decodeS24, nil
	case 4:
		return decodeS32, nil
	case -4:
		return decodeF32, nil
	case -8:
		return decodeF64, nil
	}
	return nil, fmt.Errorf("samples of %d bytes: %w", sampleBytes, ErrUnreadable)
}

package recording

import (
	"bufio"
	"bytes"
	"encoding/binary"
	"errors"
	"fmt"
	"io"

	"github.com/hajimehoshi/go-mp3"
)

// mp3DecoderDelay is how many samples a decoder of layer III gives before the first that the encoder was handed: the
// 528 of its filter bank and overlap, and one. The coder's own delay comes on top, and stands in its tag.
const mp3DecoderDelay = 528 + 1

// mp3Synced is how many frames must follow each other before a file is taken for an MP3: eleven bits that are set are
// no signature.
const mp3Synced = 2

// openMP3 reads the first frames. Layer III of MPEG-1 is read; MPEG-2, for sound of few samples, is not: the decoder takes
// a frame with padding for one byte shorter than it is, and what follows is noise.
func openMP3(in *input, br *bufio.Reader) (Info, source, error) {
	first, _ := mp3HeadAt(br, 0)
	if first.rateHz < mp3LeastHz {
		return Info{}, nil, refuse("The MP3 file has %d samples a second, and at least %d are needed. Record with more, or convert it "+
			"to WAV or FLAC.", first.rateHz, mp3LeastHz)
	}
	frames := &mp3Frames{in: in, br: br, head: first}
	tag := frames.tag()
	decoder, err := newMP3Decoder(frames)
	if err != nil {
		if frames.err != nil && frames.err != io.EOF {
			return Info{}, nil, frames.err
		}
		return Info{}, nil, in.fault(err, "The MP3 file holds no sound.")
	}
	info := Info{Format: "MP3", RateHz: float64(first.rateHz), Channels: first.channels, Bits: 16, Frames: -1}
	s := &mp3Source{in: in, frames: frames, decoder: decoder, channels: first.channels, left: -1}
	if tag.frames > 0 {
		frames.promised = tag.frames
		info.Frames = tag.frames * int64(first.samples)
	}
	if tag.gapless && info.Frames > int64(tag.delay+tag.padding) {
		info.Frames -= int64(tag.delay + tag.padding)
		s.skip, s.left = tag.delay+mp3DecoderDelay, info.Frames
	}
	return info, s, nil
}

// mp3LeastHz is the lowest rate of MPEG-1; MPEG-2 and MPEG-2.5 have the rates below.
const mp3LeastHz = 32_000

// mp3Source hands on what the decoder gives, which is always two channels of 16 bits, without what the coder put in
// front and behind.
type mp3Source struct {
	in       *input
	frames   *mp3Frames
	decoder  io.Reader
	channels int
	skip     int   // samples still to be passed over
	left     int64 // samples of sound still to come; −1 where the file doesn't say
	given    int64 // samples decoded so far
	buf      [4 * 1152]byte
}

func (s *mp3Source) read(frames [][]float32) (int, error) {
	for {
		if s.left == 0 {
			return 0, s.end()
		}
		want := len(frames[0])
		if s.skip > 0 {
			want = s.skip
		} else if s.left > 0 {
			want = int(min(int64(want), s.left))
		}
		n, err := s.decode(min(want, len(s.buf)/4))
		if err != nil {
			return 0, err
		}
		if s.skip > 0 {
			s.skip -= n
			continue
		}
		for c, channel := range frames {
			decodeS16(channel[:n], s.buf[2*c:], 4)
		}
		if s.left > 0 {
			s.left -= int64(n)
		}
		return n, nil
	}
}

// end reads on to the end of the file, so that one cut short is not taken for whole.
func (s *mp3Source) end() error {
	for {
		if _, err := s.decode(len(s.buf) / 4); err != nil {
			return err
		}
	}
}

// decode fills the buffer with n samples, or fewer, of both channels.
func (s *mp3Source) decode(n int) (int, error) {
	got, err := readGuarded(s.decoder, s.buf[:4*n])
	if got >= 4 && got%4 == 0 {
		s.given += int64(got / 4)
		return got / 4, nil
	}
	if s.frames.err != nil && s.frames.err != io.EOF {
		return 0, s.frames.err
	}
	// The decoder calls much an end; it is one where the frames end, and all of them became sound.
	if err == io.EOF && s.frames.err == io.EOF && s.given == s.frames.met*int64(s.frames.head.samples) {
		return 0, io.EOF
	}
	return 0, s.in.fault(err, fmt.Sprintf("The MP3 file is damaged %.1f seconds from its start.",
		float64(s.given)/float64(s.frames.head.rateHz)))
}

// newMP3Decoder and readGuarded keep a panic of the decoder from stopping the program.
func newMP3Decoder(frames io.Reader) (d io.Reader, err error) {
	defer guard(&err)
	return mp3.NewDecoder(frames)
}

func readGuarded(r io.Reader, p []byte) (n int, err error) {
	defer guard(&err)
	return io.ReadFull(r, p)
}

// mp3Head is what the four bytes before each frame say (ISO/IEC 11172-3, 2.4.1.3; ISO/IEC 13818-3, 2.4.2.3).
type mp3Head struct {
	version  int // 1, or 2 for MPEG-2 and MPEG-2.5
	rateHz   int
	channels int
	samples  int // of each channel in a frame
	bytes    int // of the frame, head included
	side     int // bytes of the side information
}

// mp3RatesKbit are the bit rates of layer III by version and index, in kbit/s; index 0 is the free format.
var mp3RatesKbit = [3][15]int{
	1: {0, 32, 40, 48, 56, 64, 80, 96, 112, 128, 160, 192, 224, 256, 320},
	2: {0, 8, 16, 24, 32, 40, 48, 56, 64, 80, 96, 112, 128, 144, 160},
}

// parseMP3Head reads the head of a frame of layer III; ok is false for anything else and for the free format, which
// doesn't say how long its frames are.
func parseMP3Head(b []byte) (h mp3Head, ok bool) {
	if len(b) < 4 {
		return h, false
	}
	word := binary.BigEndian.Uint32(b)
	version, layer := word>>19&3, word>>17&3
	rate, kbit, emphasis := word>>10&3, word>>12&15, word&3
	if word>>21 != 1<<11-1 || version == 1 || layer != 1 || rate == 3 || kbit == 0 || kbit == 15 || emphasis == 2 {
		return h, false
	}
	h = mp3Head{version: 1, rateHz: [3]int{44100, 48000, 32000}[rate], channels: 2, samples: 1152, side: 32}
	if word>>6&3 == 3 {
		h.channels, h.side = 1, 17
	}
	if version != 3 {
		h.version, h.rateHz, h.samples = 2, h.rateHz/2, 576
		h.side = 17
		if h.channels == 1 {
			h.side = 9
		}
	}
	if version == 0 {
		h.rateHz /= 2
	}
	h.bytes = h.samples/8*mp3RatesKbit[h.version][kbit]*1000/h.rateHz + int(word>>9&1)
	return h, true
}

// mp3HeadAt reads the head so many bytes further on.
func mp3HeadAt(br *bufio.Reader, at int) (mp3Head, bool) {
	b, _ := br.Peek(at + 4)
	if len(b) < at+4 {
		return mp3Head{}, false
	}
	return parseMP3Head(b[at:])
}

// alike reports whether two frames can be of one sound.
func (h mp3Head) alike(o mp3Head) bool {
	return h.version == o.version && h.rateHz == o.rateHz && h.channels == o.channels
}

// isMP3 reports whether frames of layer III follow each other from here on.
func isMP3(br *bufio.Reader) bool {
	first, ok := mp3HeadAt(br, 0)
	if !ok {
		return false
	}
	at := first.bytes
	for range mp3Synced - 1 {
		next, ok := mp3HeadAt(br, at)
		if !ok || !first.alike(next) {
			return false
		}
		at += next.bytes
	}
	return true
}

// mp3Tag is what the first frame says of the sound where a coder put its tag in place of one.
type mp3Tag struct {
	frames         int64 // of sound; 0 where it doesn't say
	gapless        bool  // delay and padding are known
	delay, padding int   // samples that the coder put before and after the sound
}

// mp3Frames gives the decoder whole frames, one after another, and remembers why there are no more: the decoder takes
// whatever is missing or foreign for the end.
type mp3Frames struct {
	in       *input
	br       *bufio.Reader
	head     mp3Head // of the first frame
	left     int     // bytes of the frame that are still to be handed on
	met      int64   // frames so far
	promised int64   // by the tag; 0 where it doesn't say
	err      error   // io.EOF at the proper end
}

// tag reads and passes over a first frame that holds a tag: "Xing" or "Info" after the side information, then the
// fields that its flags name, then the encoder's name and, 21 bytes from there, twelve bits each of delay and padding.
// Such a frame decodes to silence that nobody recorded. No standard has it; as it is common practice.
func (f *mp3Frames) tag() (t mp3Tag) {
	frame, err := f.br.Peek(f.head.bytes)
	if err != nil || len(frame) < 4+f.head.side+8 {
		return t
	}
	b := frame[4+f.head.side:]
	if !bytes.HasPrefix(b, []byte("Xing")) && !bytes.HasPrefix(b, []byte("Info")) {
		return t
	}
	flags := binary.BigEndian.Uint32(b[4:])
	b = b[8:]
	for bit, size := range []int{4, 4, 100, 4} {
		if flags>>bit&1 == 0 {
			continue
		}
		if len(b) < size {
			return mp3Tag{}
		}
		if bit == 0 {
			t.frames = int64(binary.BigEndian.Uint32(b))
		}
		b = b[size:]
	}
	if len(b) >= 24 && (bytes.HasPrefix(b, []byte("LAME")) || bytes.HasPrefix(b, []byte("Lavc")) ||
		bytes.HasPrefix(b, []byte("Lavf"))) {
		t.gapless = t.frames > 0
		t.delay, t.padding = int(b[21])<<4|int(b[22])>>4, int(b[22]&15)<<8|int(b[23])
	}
	_, _ = f.br.Discard(f.head.bytes)
	return t
}

func (f *mp3Frames) Read(p []byte) (int, error) {
	if f.err != nil {
		return 0, f.err
	}
	if f.left == 0 {
		if f.err = f.next(); f.err != nil {
			return 0, f.err
		}
	}
	n, err := f.br.Read(p[:min(len(p), f.left)])
	f.left -= n
	if err != nil && n == 0 {
		f.err = f.cut(err)
		return 0, f.err
	}
	return n, nil
}

// next finds the next frame, which must lie whole in the file.
func (f *mp3Frames) next() error {
	if err := skipID3(f.br); err != nil { // one more, between recordings that were put together or at the end
		return f.cut(err)
	}
	head, err := f.br.Peek(4)
	if len(head) == 0 || tagBehind(head) {
		if f.in.err != nil || f.met < f.promised {
			return f.cut(err)
		}
		return io.EOF
	}
	h, ok := parseMP3Head(head)
	if len(head) < 4 {
		return f.cut(err)
	}
	if !ok || !h.alike(f.head) {
		if f.padded() {
			return io.EOF
		}
		return f.in.fault(errors.New("no frame"), fmt.Sprintf("The MP3 file is damaged %.1f seconds from its start.", f.seconds()))
	}
	if frame, err := f.br.Peek(h.bytes); len(frame) < h.bytes {
		return f.cut(err)
	}
	f.left = h.bytes
	f.met++
	return nil
}

// padded reports whether nothing but zero bytes follow, and no sound is missing.
func (f *mp3Frames) padded() bool {
	if f.met < f.promised {
		return false
	}
	for {
		b, err := f.br.ReadByte()
		if err != nil {
			return f.in.err == nil
		}
		if b != 0 {
			return false
		}
	}
}

// tagBehind reports whether the sound is over and words about it follow: an ID3v1 tag, an APE tag or lyrics.
func tagBehind(b []byte) bool {
	for _, name := range []string{"TAG", "APET", "LYRI"} {
		if bytes.HasPrefix(b, []byte(name)) {
			return true
		}
	}
	return false
}

func (f *mp3Frames) seconds() float64 {
	return float64(f.met*int64(f.head.samples)) / float64(f.head.rateHz)
}

func (f *mp3Frames) cut(cause error) error {
	if cause == nil {
		cause = io.ErrUnexpectedEOF
	}
	return f.in.fault(cause, fmt.Sprintf("The MP3 file is cut short: it ends %.1f seconds from its start.", f.seconds()))
}

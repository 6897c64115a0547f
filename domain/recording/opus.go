package recording

import (
	"bufio"
	"bytes"
	"encoding/binary"
	"fmt"
	"io"
	"math"

	"github.com/pion/opus"
	"github.com/pion/opus/pkg/oggreader"
)

// opusRateHz is the rate of every Opus sound (RFC 7845, section 4).
const opusRateHz = 48_000

// longestOpus is the samples of each channel in the longest packet, of 120 ms (RFC 6716, section 2.1.4).
const longestOpus = opusRateHz * 120 / 1000

// isOgg reports whether an Ogg stream begins here.
func isOgg(first []byte) bool { return bytes.HasPrefix(first, []byte("OggS")) }

// inOgg names what else people have in an Ogg file, by the first bytes of its first packet.
var inOgg = []struct{ begins, name string }{
	{"\x01vorbis", "Vorbis"}, {"\x7fFLAC", "FLAC inside Ogg"}, {"Speex   ", "Speex"}, {"\x80theora", "video"},
}

// openOpus reads the two headers and the first packet of an Ogg Opus file.
func openOpus(in *input, br *bufio.Reader) (Info, source, error) {
	pages := &oggPages{in: in, br: br}
	first, _ := br.Peek(28 + 8)
	for _, other := range inOgg {
		if len(first) > 28 && bytes.HasPrefix(first[28:], []byte(other.begins)) {
			return Info{}, nil, refuse("The Ogg file holds %s, and only Opus is read. Convert it to WAV or FLAC.", other.name)
		}
	}
	reader, head, err := newOggReader(pages)
	if err != nil {
		return Info{}, nil, pages.fault(err, "The Opus file's header is damaged or cut short.")
	}
	if head.ChannelMap != 0 || head.Channels < 1 || head.Channels > 2 || head.Version > 15 {
		return Info{}, nil, refuse("The Opus file has %d channels in an arrangement that is not read. One or two are.", head.Channels)
	}
	decoder, err := opus.NewDecoderWithOutput(opusRateHz, int(head.Channels))
	if err != nil {
		return Info{}, nil, in.fault(err, "The Opus file's header is damaged or cut short.")
	}
	s := &opusSource{pages: pages, reader: reader, decoder: decoder, channels: int(head.Channels), skip: int64(head.PreSkip),
		gain: float32(math.Pow(10, float64(int16(head.OutputGain))/256/20)),
		buf:  make([]float32, longestOpus*int(head.Channels))}
	if _, _, err := s.packet(); err != nil { // the comments
		return Info{}, nil, pages.fault(err, "The Opus file ends before its sound begins.")
	}
	if err := s.next(); err == io.EOF {
		return Info{}, nil, pages.fault(err, "The Opus file holds no sound.")
	} else if err != nil {
		return Info{}, nil, err
	}
	return Info{Format: "Opus", RateHz: opusRateHz, Channels: s.channels, Bits: 32, Float: true, Frames: -1}, s, nil
}

// opusSource decodes packet after packet.
type opusSource struct {
	pages    *oggPages
	reader   *oggreader.OggReader
	decoder  opus.Decoder
	channels int
	gain     float32 // what the header asks every decoder to apply
	skip     int64   // samples to be passed over at the start, the coder's own
	decoded  int64   // samples so far, those passed over included
	onPage   uint32  // the page of the last packet
	origin   int64   // the granule position of the first sample; not 0 where a stream was joined late
	placed   bool    // origin is known
	granule  int64   // of the last packet's page
	buf      []float32
	ready    []float32 // of buf, channels by turns
	err      error
}

func (s *opusSource) read(frames [][]float32) (int, error) {
	for len(s.ready) == 0 {
		if s.err == nil {
			s.err = s.next()
		}
		if s.err != nil {
			return 0, s.err
		}
	}
	n := min(len(frames[0]), len(s.ready)/s.channels)
	for c, channel := range frames {
		for i := range channel[:n] {
			channel[i] = finite(s.ready[i*s.channels+c] * s.gain)
		}
	}
	s.ready = s.ready[n*s.channels:]
	return n, nil
}

// next decodes packets until some of what they hold is sound.
func (s *opusSource) next() error {
	for {
		packet, granule, err := s.packet()
		if err == io.EOF && !s.pages.ended {
			return s.pages.fault(io.ErrUnexpectedEOF, s.pages.cutShort(s.seconds()))
		}
		if err == io.EOF {
			return io.EOF
		}
		if err != nil {
			return s.pages.fault(err, fmt.Sprintf("The Opus file is damaged %.1f seconds from its start.", s.seconds()))
		}
		s.place(granule)
		n, err := decodeOpus(&s.decoder, packet, s.buf)
		if err != nil || n <= 0 || n > longestOpus {
			return s.pages.fault(err, fmt.Sprintf("The Opus file is damaged %.1f seconds from its start.", s.seconds()))
		}
		from, to := min(int64(n), max(0, s.skip-s.decoded)), int64(n)
		if s.pages.ended { // the last page says where within its packets the sound ends
			to = min(to, max(from, granule-s.origin-s.decoded))
		}
		s.decoded += int64(n)
		if from < to {
			s.ready = s.buf[from*int64(s.channels) : to*int64(s.channels)]
			return nil
		}
	}
}

// place finds the origin of the granule positions once the first page of sound is over: a page's position counts up to
// the end of its last packet (RFC 7845, sections 4 and 4.5).
func (s *opusSource) place(granule int64) {
	if s.decoded > 0 && !s.placed && s.pages.index != s.onPage {
		s.origin, s.placed = max(0, s.granule-s.decoded), true
	}
	s.onPage, s.granule = s.pages.index, granule
}

func (s *opusSource) seconds() float64 { return float64(max(0, s.decoded-s.skip)) / opusRateHz }

// packet returns the next packet and the granule position of the page on which it ends.
func (s *opusSource) packet() (packet []byte, granule int64, err error) {
	defer guard(&err)
	packet, head, err := s.reader.ParseNextPacket()
	if err != nil {
		return nil, 0, err
	}
	return packet, int64(head.GranulePosition), nil
}

// newOggReader and decodeOpus keep a panic of the decoder from stopping the program.
func newOggReader(pages io.Reader) (r *oggreader.OggReader, head *oggreader.OggHeader, err error) {
	defer guard(&err)
	return oggreader.NewWith(pages)
}

func decodeOpus(d *opus.Decoder, packet []byte, out []float32) (n int, err error) {
	defer guard(&err)
	return d.DecodeToFloat32(packet, out)
}

// oggPages hands pages on and keeps an eye on what the reader of packets keeps to itself: that they are of one stream,
// follow each other, and that the last one says that it is the last (RFC 3533, section 6).
type oggPages struct {
	in     *input
	br     *bufio.Reader
	left   int // bytes of the page still to be handed on
	begun  bool
	ended  bool // the last page was met
	serial uint32
	index  uint32
	err    error
}

func (o *oggPages) Read(p []byte) (int, error) {
	if o.err != nil {
		return 0, o.err
	}
	if o.left == 0 {
		if o.err = o.next(); o.err != nil {
			return 0, o.err
		}
	}
	n, err := o.br.Read(p[:min(len(p), o.left)])
	o.left -= n
	if n == 0 && err != nil {
		o.err = o.fault(io.ErrUnexpectedEOF, "The Opus file is cut short: it ends within a page.")
		return 0, o.err
	}
	return n, nil
}

// next looks at the header of the next page.
func (o *oggPages) next() error {
	head, err := o.br.Peek(27)
	if len(head) == 0 {
		return cmpErr(o.in.err, io.EOF)
	}
	if len(head) == 27 {
		head, err = o.br.Peek(27 + int(head[26]))
	}
	switch {
	case !isOgg(head):
		if o.ended {
			return io.EOF // what follows the sound, such as a tag, is none of it
		}
		return o.fault(err, "The Opus file is damaged: a page is missing where one should begin.")
	case len(head) < 27 || len(head) < 27+int(head[26]):
		return o.fault(io.ErrUnexpectedEOF, "The Opus file is cut short: it ends within a page.")
	}
	flags, serial, index := head[5], binary.LittleEndian.Uint32(head[14:]), binary.LittleEndian.Uint32(head[18:])
	switch {
	case o.begun && (serial != o.serial || flags&oggFirst != 0):
		return refuse("The Ogg file holds more than one recording. Send them one by one, as WAV or FLAC.")
	case o.begun && index != o.index+1:
		return o.fault(err, "The Opus file is damaged: pages are missing.")
	}
	o.begun, o.serial, o.index, o.ended = true, serial, index, flags&oggLast != 0
	o.left = len(head)
	for _, segment := range head[27:] {
		o.left += int(segment)
	}
	return nil
}

// The flags of a page.
const (
	oggFirst = 2
	oggLast  = 4
)

// fault returns what was wrong with the pages, where it was they, or the sentence as an error.
func (o *oggPages) fault(cause error, sentence string) error {
	if o.err != nil && o.err != io.EOF {
		return o.err
	}
	return o.in.fault(cause, sentence)
}

func (o *oggPages) cutShort(seconds float64) string {
	return fmt.Sprintf("The Opus file is cut short: it ends %.1f seconds from its start.", seconds)
}

func cmpErr(err, otherwise error) error {
	if err != nil {
		return err
	}
	return otherwise
}

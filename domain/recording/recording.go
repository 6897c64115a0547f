package recording

import (
	"bufio"
	"bytes"
	"errors"
	"fmt"
	"io"
)

// ErrUnreadable says that a recording cannot be read. The text of an error that wraps it is a sentence for people;
// an error of the underlying reader is wrapped beside it.
var ErrUnreadable = errors.New("unreadable recording")

// What a recording may be. Below 8 kHz nothing of a watch's sound is left; 384 kHz is the fastest that sound
// interfaces are commonly built for; FLAC has room for eight channels.
const (
	MinRateHz   = 8_000
	MaxRateHz   = 384_000
	MaxChannels = 8
)

// blockBytes is how much is read at a time.
const blockBytes = 64 << 10

// Info is what a recording says of itself.
type Info struct {
	Format   string  // "WAV", "FLAC", "MP3" or "Opus"
	RateHz   float64 // frames a second
	Channels int
	Bits     int   // of one sample that carry sound
	Float    bool  // samples are floating-point numbers
	Frames   int64 // as the header claims, which may be wrong; −1 when it doesn't say
}

// Lossy reports whether the recording's coder left sound out.
func (i Info) Lossy() bool { return i.Format == "MP3" || i.Format == "Opus" }

// Reader reads the samples of a recording.
type Reader struct {
	info Info
	src  source
	cut  [MaxChannels][]float32 // what Read was handed, all of one length
}

// source is the part of a reader that knows a format. It fills the slices, all of one length that isn't 0, from the
// start and returns how many frames it filled, at least one, or an error and none.
type source interface {
	read(frames [][]float32) (int, error)
}

// Open reads the header of a WAV, FLAC, MP3 or Ogg Opus recording, told apart by their first bytes. Its errors wrap ErrUnreadable.
// A recording without a single frame of sound is refused.
func Open(r io.Reader) (*Reader, error) {
	in := &input{r: r}
	br := bufio.NewReaderSize(in, blockBytes)
	if err := skipID3(br); err != nil {
		return nil, in.fault(err, "The file ends before its sound begins.")
	}
	first, err := br.Peek(12)
	if len(first) == 0 {
		return nil, in.fault(err, "The file is empty.")
	}
	var (
		info Info
		src  source
	)
	switch {
	case bytes.HasPrefix(first, []byte("fLaC")):
		info, src, err = openFLAC(in, br)
	case isWAV(first):
		info, src, err = openWAV(in, br)
	case isOgg(first):
		info, src, err = openOpus(in, br)
	case isMP3(br):
		info, src, err = openMP3(in, br)
	default:
		return nil, in.fault(err, otherFile(first))
	}
	if err != nil {
		return nil, err
	}
	return &Reader{info: info, src: src}, nil
}

// otherFiles names what people record in and that isn't read here, by what stands at a place of its first bytes.
var otherFiles = []struct {
	at           int
	begins, name string
}{
	{4, "ftyp", "an M4A or MP4 file, whose sound is in AAC as a rule,"}, {0, "\x1a\x45\xdf\xa3", "a WebM or Matroska file,"},
	{0, "#!AMR", "an AMR file,"}, {0, "caff", "a CAF file,"}, {8, "AIF", "an AIFF file,"},
	{0, "\x30\x26\xb2\x75", "a WMA file,"}, {0, "\xff\xf1", "an AAC file,"}, {0, "\xff\xf9", "an AAC file,"},
}

// otherFile says what a file is instead, and what to do about it.
func otherFile(first []byte) string {
	for _, o := range otherFiles {
		if len(first) > o.at && bytes.HasPrefix(first[o.at:], []byte(o.begins)) {
			return "This is " + o.name + " which isn't read here. Convert it to WAV or FLAC."
		}
	}
	return "The file is neither a WAV nor a FLAC, MP3 or Ogg Opus recording."
}

// Info returns what the recording says of itself.
func (r *Reader) Info() Info { return r.info }

// Read fills frames, one slice a channel, with the next samples, of full scale ±1, and returns how many of each
// channel it read: as many as the shortest slice holds, or fewer. Channels beyond len(frames) are passed over.
// Samples that are not finite numbers are 0. At the end it returns 0 and io.EOF; where a WAV or a FLAC is cut short the
// end is where the whole frames end, and where an MP3 or an Opus is, the sound is followed by an error. Other errors wrap ErrUnreadable. Read panics when there are more slices than
// channels.
func (r *Reader) Read(frames [][]float32) (n int, err error) {
	if len(frames) > r.info.Channels {
		panic(fmt.Sprintf("recording: %d slices for %d channels", len(frames), r.info.Channels))
	}
	if len(frames) == 0 {
		return 0, nil
	}
	n = len(frames[0])
	for _, channel := range frames[1:] {
		n = min(n, len(channel))
	}
	if n == 0 {
		return 0, nil
	}
	for c, channel := range frames {
		r.cut[c] = channel[:n]
	}
	return r.src.read(r.cut[:len(frames)])
}

// unreadable is an error whose text is a sentence for people.
type unreadable struct {
	sentence string
	cause    error // of the underlying reader or decoder, or nil
}

func (e *unreadable) Error() string { return e.sentence }

func (e *unreadable) Unwrap() []error {
	if e.cause == nil {
		return []error{ErrUnreadable}
	}
	return []error{ErrUnreadable, e.cause}
}

func refuse(format string, args ...any) error {
	return &unreadable{sentence: fmt.Sprintf(format, args...)}
}

// input remembers why its reader stopped, since decoders turn the end of a file and a failing disk into errors of
// their own.
type input struct {
	r   io.Reader
	err error // other than io.EOF
}

func (in *input) Read(p []byte) (int, error) {
	n, err := in.r.Read(p)
	if err != nil && err != io.EOF {
		in.err = err
	}
	return n, err
}

// fault returns the sentence as an error, unless it was the reader that failed.
func (in *input) fault(cause error, sentence string) error {
	if in.err != nil {
		return &unreadable{sentence: fmt.Sprintf("The recording could not be read to its end: %v.", in.err), cause: in.err}
	}
	if cause == io.EOF {
		cause = io.ErrUnexpectedEOF // so that no one takes it for the end of the sound
	}
	return &unreadable{sentence: sentence, cause: cause}
}

// skipID3 passes over ID3v2 tags, which most programs put before an MP3 and some before a FLAC: ten bytes, the last
// four of them the length of what follows in seven bits each (ID3v2.4.0 Main Structure, section 3.1).
func skipID3(br *bufio.Reader) error {
	for {
		head, _ := br.Peek(10)
		if len(head) < 10 || string(head[:3]) != "ID3" {
			return nil
		}
		var size int64
		for _, b := range head[6:] {
			size = size<<7 | int64(b&0x7f)
		}
		if err := skip(br, 10+size); err != nil {
			return err
		}
	}
}

// skip passes over n bytes, whatever n claims to be.
func skip(br *bufio.Reader, n int64) error {
	_, err := io.CopyN(io.Discard, br, n)
	return err
}

package recording

import (
	"bufio"
	"errors"
	"fmt"
	"io"

	"github.com/mewkiz/flac"
	"github.com/mewkiz/flac/frame"
)

// maxFLACBits is the greatest depth that is read: the decoder has no room for the 33 bits that 32-bit stereo takes.
const maxFLACBits = 24

// openFLAC reads the header and the first block.
func openFLAC(in *input, br *bufio.Reader) (Info, source, error) {
	stream, err := newStream(br)
	if err != nil {
		return Info{}, nil, in.fault(err, "The FLAC file's header is damaged or cut short.")
	}
	si := stream.Info
	if err := checkShape("FLAC", float64(si.SampleRate), int(si.NChannels)); err != nil {
		return Info{}, nil, err
	}
	if si.BitsPerSample < 4 || si.BitsPerSample > maxFLACBits {
		return Info{}, nil, refuse("The FLAC file has samples of %d bits. At most %d can be read.", si.BitsPerSample,
			maxFLACBits)
	}
	info := Info{Format: "FLAC", RateHz: float64(si.SampleRate), Channels: int(si.NChannels), Bits: int(si.BitsPerSample),
		Frames: -1}
	if si.NSamples > 0 {
		info.Frames = int64(si.NSamples)
	}
	s := &flacSource{in: in, stream: stream, info: info, scale: 1 / float32(int64(1)<<(si.BitsPerSample-1))}
	if err := s.next(); err == io.EOF {
		return Info{}, nil, in.fault(err, "The FLAC file holds no sound.")
	} else if err != nil {
		return Info{}, nil, err
	}
	return info, s, nil
}

// flacSource reads the blocks, one at a time. A block has at most 65 535 frames of eight channels (RFC 9639,
// section 9.1.1), which bounds the memory it takes.
type flacSource struct {
	in     *input
	stream *flac.Stream
	info   Info
	scale  float32
	block  *frame.Frame // nil when there is no more
	at     int          // frames of the block already read
	frames int64        // of the blocks met so far
	err    error        // why there are no more blocks
}

func (s *flacSource) read(frames [][]float32) (int, error) {
	done, n := 0, len(frames[0])
	for done < n {
		if s.err != nil {
			if done == 0 {
				return 0, s.err
			}
			break
		}
		take := min(n-done, int(s.block.BlockSize)-s.at)
		for c, channel := range frames {
			out := channel[done : done+take]
			for i, x := range s.block.Subframes[c].Samples[s.at : s.at+take] {
				out[i] = float32(x) * s.scale
			}
		}
		done += take
		if s.at += take; s.at == int(s.block.BlockSize) {
			s.err = s.next()
		}
	}
	return done, nil
}

// next decodes the next block. It returns io.EOF at the end, be it the proper one or that of a file cut short.
func (s *flacSource) next() error {
	s.block, s.at = nil, 0
	block, err := parseBlock(s.stream, s.info)
	switch {
	case err == nil:
		s.block = block
		s.frames += int64(block.BlockSize)
		return nil
	case s.in.err != nil:
		return s.in.fault(err, "")
	case err == io.EOF, errors.Is(err, io.ErrUnexpectedEOF):
		return io.EOF
	case s.info.Frames > 0 && s.frames >= s.info.Frames:
		return io.EOF // what follows the sound, such as a tag, is none of it
	}
	return s.in.fault(err, fmt.Sprintf("The FLAC file is damaged %.1f seconds from its start.",
		float64(s.frames)/s.info.RateHz))
}

// newStream reads the metadata. The decoder is held to be safe, and guarded all the same: a file from outside must
// not stop the program.
func newStream(br *bufio.Reader) (stream *flac.Stream, err error) {
	defer guard(&err)
	return flac.New(br)
}

// parseBlock decodes one block and refuses one that contradicts the header.
func parseBlock(stream *flac.Stream, info Info) (f *frame.Frame, err error) {
	defer guard(&err)
	if f, err = stream.Next(); err != nil {
		return nil, err
	}
	if f.BitsPerSample == 0 { // as the header says; the decoder leaves it to us
		f.BitsPerSample = uint8(info.Bits)
	}
	if int(f.BitsPerSample) != info.Bits || f.Channels.Count() != info.Channels || f.BlockSize == 0 ||
		f.SampleRate != 0 && float64(f.SampleRate) != info.RateHz {
		return nil, errors.New("block contradicts the header")
	}
	if err = f.Parse(); err != nil {
		return nil, err
	}
	for _, sub := range f.Subframes {
		if len(sub.Samples) != int(f.BlockSize) {
			return nil, errors.New("block of the wrong length")
		}
	}
	return f, nil
}

// guard turns a panic of the decoder into an error.
func guard(err *error) {
	if p := recover(); p != nil {
		*err = fmt.Errorf("decoder: %v", p)
	}
}

package recording

import "io"

// Only has the reader end after so many seconds of sound.
func (r *Reader) Only(seconds float64) {
	r.src = &beginning{src: r.src, left: int64(seconds * r.info.RateHz)}
}

// beginning is the first frames of a source.
type beginning struct {
	src  source
	left int64
}

func (b *beginning) read(frames [][]float32) (int, error) {
	if b.left <= 0 {
		return 0, io.EOF
	}
	if most := int(min(b.left, int64(len(frames[0])))); most < len(frames[0]) {
		cut := make([][]float32, len(frames))
		for c := range frames {
			cut[c] = frames[c][:most]
		}
		frames = cut
	}
	n, err := b.src.read(frames)
	b.left -= int64(n)
	return n, err
}

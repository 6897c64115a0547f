package recording

import (
	"encoding/binary"
	"math"
)

// decodeFunc fills dst from samples that lie stride bytes apart in b, the first at its start. b reaches at least to
// the end of the last of them.
type decodeFunc func(dst []float32, b []byte, stride int)

// The scales that take whole numbers to ±1. Powers of two, so that nothing is rounded up to 24 bits.
const (
	scale8  = 1.0 / (1 << 7)
	scale16 = 1.0 / (1 << 15)
	scale32 = 1.0 / (1 << 31)
)

// decodeU8: samples of a byte are the only ones without a sign; silence is 128.
func decodeU8(dst []float32, b []byte, stride int) {
	for i := range dst {
		dst[i] = (float32(b[i*stride]) - 128) * scale8
	}
}

// decodeS16 takes four samples at a load where they lie together, as in most recordings.
func decodeS16(dst []float32, b []byte, stride int) {
	if stride != 2 {
		for i := range dst {
			dst[i] = float32(int16(binary.LittleEndian.Uint16(b[i*stride:]))) * scale16
		}
		return
	}
	fours := len(dst) / 4
	for i := range fours {
		x, four := binary.LittleEndian.Uint64(b[8*i:]), dst[4*i:4*i+4:4*i+4]
		four[0] = float32(int16(x)) * scale16
		four[1] = float32(int16(x>>16)) * scale16
		four[2] = float32(int16(x>>32)) * scale16
		four[3] = float32(int16(x>>48)) * scale16
	}
	for i := 4 * fours; i < len(dst); i++ {
		dst[i] = float32(int16(binary.LittleEndian.Uint16(b[2*i:]))) * scale16
	}
}

// decodeS24 puts the three bytes at the top of 32 bits.
func decodeS24(dst []float32, b []byte, stride int) {
	for i := range dst {
		s := b[i*stride : i*stride+3]
		dst[i] = float32(int32(uint32(s[0])<<8|uint32(s[1])<<16|uint32(s[2])<<24)) * scale32
	}
}

func decodeS32(dst []float32, b []byte, stride int) {
	for i := range dst {
		dst[i] = float32(int32(binary.LittleEndian.Uint32(b[i*stride:]))) * scale32
	}
}

func decodeF32(dst []float32, b []byte, stride int) {
	for i := range dst {
		dst[i] = finite(math.Float32frombits(binary.LittleEndian.Uint32(b[i*stride:])))
	}
}

func decodeF64(dst []float32, b []byte, stride int) {
	for i := range dst {
		dst[i] = finite(float32(math.Float64frombits(binary.LittleEndian.Uint64(b[i*stride:]))))
	}
}

// finite makes silence of what is no number: x−x is 0 for every finite x and NaN for the others.
func finite(x float32) float32 {
	if x-x != 0 {
		return 0
	}
	return x
}

package heard

import (
	"bytes"
	"crypto/sha256"
	"encoding/hex"
)

// MaxSoundBytes bounds one kept sound: about three hours of one channel at 48 kHz and 16 bit.
const MaxSoundBytes = 1 << 30

// Sound names the kept sound.
type Sound struct {
	SHA256 string `json:"sha256"` // hexadecimal, of the file
	Bytes  int64  `json:"bytes"`
	Format string `json:"format"` // WAV or FLAC
}

// SoundOf names a sound by its sum, its length and its format.
func SoundOf(data []byte) *Sound {
	sum := sha256.Sum256(data)
	return &Sound{SHA256: hex.EncodeToString(sum[:]), Bytes: int64(len(data)), Format: FormatOf(data)}
}

// FormatOf tells a sound's format, WAV or FLAC, by the first four bytes of the file, "" for neither. RIFF, RIFX and
// RF64 are no names of files but of what is in them.
func FormatOf(head []byte) string {
	switch {
	case bytes.HasPrefix(head, []byte("fLaC")):
		return "FLAC"
	case bytes.HasPrefix(head, []byte("RIFF")), bytes.HasPrefix(head, []byte("RF64")),
		bytes.HasPrefix(head, []byte("RIFX")):
		return "WAV"
	}
	return ""
}

// Sum returns the sum that names the sound, zero when the text is no such sum.
func (s Sound) Sum() [32]byte {
	sum, err := hex.DecodeString(s.SHA256)
	if err != nil || len(sum) != 32 {
		return [32]byte{}
	}
	return [32]byte(sum)
}

// fit reports whether a sound may be kept: it has a sum, is neither empty nor too long, and its format is known.
func (s Sound) fit() bool {
	sum, err := hex.DecodeString(s.SHA256)
	return err == nil && len(sum) == 32 && s.Bytes > 0 && s.Bytes <= MaxSoundBytes &&
		(s.Format == "WAV" || s.Format == "FLAC")
}

package recording_test

import (
	"bytes"
	"crypto/md5"
	"os"
	"path/filepath"
	"testing"

	"ledgerwheel/domain/recording"
)

// TestFLACChecksums: a FLAC's header holds the MD5 of its samples as the encoder was given them, in whole bytes, little
// end first, channels by turns (RFC 9639, section 8.2). The encoder here was the reference one, flac 1.4.2.
func TestFLACChecksums(t *testing.T) {
	t.Parallel()
	var names []string
	for _, pattern := range []string{"testdata/*.flac", "../acoustic/testdata/recordings/*.flac"} {
		found, err := filepath.Glob(pattern)
		if err != nil || len(found) == 0 {
			t.Fatalf("no files %s: %v", pattern, err)
		}
		names = append(names, found...)
	}
	for _, name := range names {
		t.Run(filepath.Base(name), func(t *testing.T) {
			t.Parallel()
			file, err := os.ReadFile(name)
			if err != nil {
				t.Fatal(err)
			}
			r, err := recording.Open(bytes.NewReader(file))
			if err != nil {
				t.Fatal(err)
			}
			channels, err := readAll(r, 8192)
			if err != nil {
				t.Fatal(err)
			}
			info := r.Info()
			if int64(len(channels[0])) != info.Frames {
				t.Errorf("%d frames, header says %d", len(channels[0]), info.Frames)
			}
			var raw []byte
			for i := range channels[0] {
				for _, channel := range channels {
					x := int32(float64(channel[i]) * float64(int64(1)<<(info.Bits-1)))
					for b := range (info.Bits + 7) / 8 {
						raw = append(raw, byte(x>>(8*b)))
					}
				}
			}
			const at = 4 + 4 + 18 // signature, block header, what stands before the sum
			if sum := md5.Sum(raw); !bytes.Equal(sum[:], file[at:at+md5.Size]) {
				t.Errorf("sum of the samples is %x, the header's %x", sum, file[at:at+md5.Size])
			}
		})
	}
}

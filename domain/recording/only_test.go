package recording

import (
	"io"
	"testing"
)

// TestOnly: the beginning of a recording ends where it should, however it is read.
func TestOnly(t *testing.T) {
	t.Parallel()
	for _, block := range []int{1, 7, 500, 8192} {
		r := open(t, 8000, make([]float32, 8000))
		r.Only(0.25)
		frames := [][]float32{make([]float32, block)}
		total := 0
		for {
			n, err := r.Read(frames)
			if err == io.EOF {
				break
			}
			if err != nil || n < 1 {
				t.Fatal(n, err)
			}
			total += n
		}
		if total != 2000 {
			t.Errorf("by %d: %d frames, want 2000", block, total)
		}
	}
}

package record

import "testing"

func TestMarksTellWhoWroteAnEntry(t *testing.T) {
	t.Parallel()
	seed, other := make([]byte, 32), make([]byte, 32)
	other[0] = 1
	mine, err := NewSecret(seed)
	if err != nil {
		t.Fatal(err)
	}
	theirs, err := NewSecret(other)
	if err != nil {
		t.Fatal(err)
	}
	hash := [32]byte{1, 2, 3}
	forged := mine.Mark(hash)
	forged[35] ^= 1
	for _, tt := range []struct {
		name string
		mark []byte
		want Standing
	}{
		{"ours", mine.Mark(hash), Genuine}, {"none", nil, Unmarked}, {"another shop's", theirs.Mark(hash), Foreign},
		{"a byte changed", forged, Forged}, {"of another entry", mine.Mark([32]byte{9}), Forged}, {"cut", mine.Mark(hash)[:20], Foreign},
	} {
		if got := (Secrets{mine}).Check(hash, tt.mark); got != tt.want {
			t.Errorf("%s: %d, want %d", tt.name, got, tt.want)
		}
	}
	if _, err := NewSecret(seed[:31]); err == nil {
		t.Error("31 bytes are taken as a secret")
	}
}

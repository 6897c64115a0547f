package files_test

import (
	"bytes"
	"errors"
	"io"
	"testing"

	"ledgerwheel/domain"
	"ledgerwheel/store/files"
)

func TestFolderKeepsSounds(t *testing.T) {
	t.Parallel()
	folder, err := files.Open(t.TempDir())
	if err != nil {
		t.Fatal(err)
	}
	sound, err := folder.PutSound([]byte("fLaC and what follows"))
	if err != nil || sound.Format != "FLAC" || sound.Bytes != 21 {
		t.Fatalf("%+v, %v", sound, err)
	}
	if _, err := folder.ReceiveSound(bytes.NewReader(make([]byte, 100)), 99); !errors.Is(err, files.ErrSoundTooLong) {
		t.Errorf("too long: %v", err)
	}
	sum := sound.Sum()
	f, err := folder.OpenSound(sum)
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	if back, err := io.ReadAll(f); err != nil || string(back) != "fLaC and what follows" {
		t.Errorf("%q, %v", back, err)
	}
	if err := errors.Join(folder.RemoveSound(sum), folder.RemoveSound(sum)); err != nil {
		t.Error(err)
	}
	if _, err := folder.OpenSound(sum); !errors.Is(err, domain.ErrNotFound) {
		t.Errorf("a sound that is gone: %v", err)
	}
}

func TestFolderRemovesPictures(t *testing.T) {
	t.Parallel()
	folder, err := files.Open(t.TempDir())
	if err != nil {
		t.Fatal(err)
	}
	p, sum := pictured(t, 20)
	q, other := pictured(t, 60)
	put(t, folder, p, sum)
	put(t, folder, q, other)
	if err := errors.Join(folder.Remove(sum), folder.Remove(sum), folder.Remove([32]byte{9})); err != nil {
		t.Error(err)
	}
	for _, size := range []files.Size{files.Full, files.Thumb} {
		if _, err := folder.Open(sum, size); !errors.Is(err, domain.ErrNotFound) {
			t.Errorf("%s of a picture that is gone: %v", size, err)
		}
		f, err := folder.Open(other, size)
		if err != nil {
			t.Fatal(err)
		}
		f.Close()
	}
}

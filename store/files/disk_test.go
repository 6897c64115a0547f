package files_test

import (
	"errors"
	"os"
	"os/exec"
	"path/filepath"
	"runtime"
	"strings"
	"testing"

	"ledgerwheel/domain"
	"ledgerwheel/domain/health"
	"ledgerwheel/store/files"
)

// smallDisk is a file system of one megabyte, or "" where this system lets nobody make one.
func smallDisk(t *testing.T) string {
	t.Helper()
	dir := t.TempDir()
	if out, err := exec.Command("mount", "-t", "tmpfs", "-o", "size=1m", "tmpfs", dir).CombinedOutput(); err != nil {
		t.Logf("no disk of its own: %v: %s", err, out)
		return ""
	}
	t.Cleanup(func() {
		if out, err := exec.Command("umount", dir).CombinedOutput(); err != nil {
			t.Errorf("%v: %s", err, out)
		}
	})
	return dir
}

// TestFullDiskIsSaid fills a disk with a sound and a picture; where none can be made, the kernel's own full device stands
// for it, by the error that it gives for every byte.
func TestFullDiskIsSaid(t *testing.T) {
	dir := smallDisk(t)
	if dir == "" {
		if runtime.GOOS != "linux" {
			t.Skip("this system has no full device")
		}
		err := os.WriteFile("/dev/full", []byte("x"), 0o600)
		if !errors.Is(files.Fault(err), domain.ErrDiskFull) {
			t.Errorf("%v is no full disk", err)
		}
		return
	}
	folder, err := files.Open(dir)
	if err != nil {
		t.Fatal(err)
	}
	disk, err := files.WatchDisk(dir)
	if err != nil {
		t.Fatal(err)
	}
	if _, err := folder.ReceiveSound(strings.NewReader(strings.Repeat("x", 2<<20)), 3<<20); !errors.Is(err, domain.ErrDiskFull) {
		t.Errorf("a sound on a full disk: %v", err)
	}
	if err := folder.Put([32]byte{1}, files.Full, make([]byte, 2<<20)); !errors.Is(err, domain.ErrDiskFull) {
		t.Errorf("a picture on a full disk: %v", err)
	}
	if left, _ := filepath.Glob(filepath.Join(dir, "*", ".new-*")); len(left) > 0 {
		t.Errorf("it leaves %v", left)
	}
	if seen := disk.Look(); seen.DiskBytes != 1<<20 || health.Judge(seen)[0] != health.DiskFull {
		t.Errorf("%+v", seen)
	}
	if out, err := exec.Command("mount", "-o", "remount,ro", dir).CombinedOutput(); err != nil {
		t.Fatalf("%v: %s", err, out)
	}
	if err := folder.Put([32]byte{2}, files.Full, []byte("x")); !errors.Is(err, domain.ErrReadOnly) {
		t.Errorf("a picture on a disk that only reads: %v", err)
	}
	if got := health.Judge(disk.Look()); got[0] != health.ReadOnly {
		t.Errorf("%v", got)
	}
}

// TestFolderGoneIsSaid moves the folder away, and puts an empty one in its place, as a disk that was unplugged leaves it:
// nothing is kept in that.
func TestFolderGoneIsSaid(t *testing.T) {
	t.Parallel()
	dir := filepath.Join(t.TempDir(), "uploads")
	folder, err := files.Open(dir)
	if err != nil {
		t.Fatal(err)
	}
	disk, err := files.WatchDisk(dir)
	if err != nil {
		t.Fatal(err)
	}
	if disk.Look().FolderGone {
		t.Fatal("gone before it went")
	}
	if err := os.Rename(dir, dir+"-elsewhere"); err != nil {
		t.Fatal(err)
	}
	if err := folder.Put([32]byte{1}, files.Full, []byte("x")); !errors.Is(err, domain.ErrFolderGone) {
		t.Errorf("a picture: %v", err)
	}
	if _, err := folder.PutSound([]byte("x")); !errors.Is(err, domain.ErrFolderGone) {
		t.Errorf("a sound: %v", err)
	}
	if _, err := os.Stat(dir); err == nil {
		t.Error("the folder was made again, which hides that what it held is gone")
	}
	if !disk.Look().FolderGone {
		t.Error("it is not seen to be gone")
	}
	if err := os.Mkdir(dir, 0o700); err != nil {
		t.Fatal(err)
	}
	if !disk.Look().FolderGone {
		t.Error("another folder passes for it")
	}
	if err := os.Remove(dir); err != nil {
		t.Fatal(err)
	}
	if err := os.Rename(dir+"-elsewhere", dir); err != nil {
		t.Fatal(err)
	}
	if disk.Look().FolderGone {
		t.Error("put back it is still gone")
	}
}

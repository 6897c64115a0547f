package files

import (
	"errors"
	"fmt"
	"io/fs"
	"os"
	"syscall"

	"ledgerwheel/domain"
	"ledgerwheel/domain/health"
)

// fault gives what the system says of a disk the words of the domain. A file that is not there is no fault by itself.
func fault(err error) error {
	switch {
	case errors.Is(err, syscall.ENOSPC), errors.Is(err, syscall.EDQUOT):
		return fmt.Errorf("%w: %w", domain.ErrDiskFull, err)
	case errors.Is(err, syscall.EROFS):
		return fmt.Errorf("%w: %w", domain.ErrReadOnly, err)
	}
	return err
}

// gone is fault of what needs the folder itself: that a file is not there then means that the folder is not.
func gone(err error) error {
	if errors.Is(err, fs.ErrNotExist) {
		return fmt.Errorf("%w: %w", domain.ErrFolderGone, err)
	}
	return fault(err)
}

// Disk watches that the folders in which the records lie are where they were, and how much room is left there.
type Disk struct {
	folders []string
	were    []fs.FileInfo
}

// WatchDisk takes note of folders as they are now; the first is the one whose disk is measured. It looks at a folder by
// what it is, so that another in its place, such as what a disk that was unplugged leaves bare, counts as gone.
func WatchDisk(folders ...string) (*Disk, error) {
	d := &Disk{folders: folders}
	for _, f := range folders {
		info, err := os.Stat(f)
		if err != nil {
			return nil, fmt.Errorf("data folder: %w", err)
		}
		d.were = append(d.were, info)
	}
	return d, nil
}

// Look reports how the folders stand now, in microseconds of time.
func (d *Disk) Look() health.Seen {
	var s health.Seen
	for i, f := range d.folders {
		if info, err := os.Stat(f); err != nil || !os.SameFile(info, d.were[i]) {
			s.FolderGone = true
			return s
		}
	}
	s.DiskBytes, s.FreeBytes, s.ReadOnly = room(d.folders[0])
	return s
}

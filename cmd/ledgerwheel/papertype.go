package main

import (
	"io/fs"
	"os"
	"path/filepath"
	"slices"

	"ledgerwheel/web/paper/typeface"
)

// addPaperType gives papers the types of this machine for Chinese, Japanese and Korean. It comes before the first paper,
// so that a paper printed twice is the same.
func addPaperType() error {
	folders := typeface.Folders
	if home, err := os.UserHomeDir(); err == nil { // those that only this person installed
		folders = append(slices.Clone(folders), filepath.Join(home, ".local", "share", "fonts"), filepath.Join(home, ".fonts"),
			filepath.Join(home, "Library", "Fonts"))
	}
	for _, file := range findPaperTypes(folders) {
		ttf, err := os.ReadFile(file)
		if err != nil {
			return err
		}
		if err := typeface.Add(ttf); err != nil {
			return err
		}
	}
	return nil
}

// findPaperTypes are the first files that serve of each group, in the order in which they are named.
func findPaperTypes(folders []string) []string {
	found := map[string]string{}
	wanted := slices.Concat(typeface.Names...)
	for _, folder := range folders {
		_ = filepath.WalkDir(folder, func(path string, d fs.DirEntry, err error) error {
			if err != nil {
				return nil // a folder that can't be read has no type for us
			}
			if name := d.Name(); slices.Contains(wanted, name) && found[name] == "" {
				found[name] = path
			}
			return nil
		})
	}
	var files []string
	for _, group := range typeface.Names {
		for _, name := range group {
			if found[name] != "" {
				files = append(files, found[name])
				break
			}
		}
	}
	return files
}

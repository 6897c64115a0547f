package typeface

import (
	"fmt"
	"sync/atomic"

	"golang.org/x/image/font/sfnt"
)

// Folders are where systems keep the types that Names lists.
var Folders = []string{"/usr/share/fonts", "/usr/local/share/fonts", "/Library/Fonts", "/System/Library/Fonts"}

// Names are files of type with TrueType outlines, which the writer of PDF asks for, under open licences. Of each group
// the first found serves. Debian and Ubuntu have them in fonts-droid-fallback (Chinese, Japanese) and fonts-nanum
// (Korean), Fedora in google-droid-sans-fonts and naver-nanum-gothic-fonts.
var Names = [][]string{{"DroidSansFallbackFull.ttf", "DroidSansFallback.ttf"}, {"NanumGothic.ttf"}}

var added atomic.Pointer[[]typeface]

// Add gives papers a TrueType file for what the types before it lack. It must come before the first paper is set, so
// that the same paper stays the same bytes; a nil file takes all away again.
func Add(ttf []byte) error {
	if ttf == nil {
		added.Store(nil)
		return nil
	}
	f, err := sfnt.Parse(ttf)
	if err != nil {
		return fmt.Errorf("type for Chinese, Japanese and Korean: %w", err)
	}
	widths, err := glyphWidths(ttf)
	if err != nil {
		return err
	}
	var list []typeface
	if had := added.Load(); had != nil {
		list = append(list, *had...)
	}
	name, err := f.Name(nil, sfnt.NameIDPostScript)
	if err != nil {
		name = fmt.Sprintf("Added%d", len(list)+1)
	}
	list = append(list, typeface{name: name, ttf: ttf, widths: func() *[lastRune + 1]int16 { return widths }})
	added.Store(&list)
	return nil
}

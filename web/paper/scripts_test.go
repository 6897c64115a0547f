package paper

import (
	"os"
	"path/filepath"
	"strings"
	"testing"

	"golang.org/x/text/unicode/norm"

	"ledgerwheel/web/paper/typeface"
)

// farEastern is the type of this machine for Chinese, Japanese and Korean.
func farEastern(t *testing.T) []byte {
	t.Helper()
	for _, folder := range typeface.Folders {
		for _, name := range typeface.Names[0] {
			found, _ := filepath.Glob(filepath.Join(folder, "*", "*", name))
			if len(found) == 0 {
				found, _ = filepath.Glob(filepath.Join(folder, "*", name))
			}
			if len(found) > 0 {
				ttf, err := os.ReadFile(found[0])
				if err != nil {
					t.Fatal(err)
				}
				return ttf
			}
		}
	}
	t.Fatal("no type for Chinese, Japanese and Korean here: apt-get install fonts-droid-fallback")
	return nil
}

// Text read back from the file is the text that was put in, whatever the script and even where no glyph was.
func TestTextIsExtractable(t *testing.T) {
	t.Parallel()
	c := sampleWarranty()
	c.WorkDone = []string{"Příliš žluťoučký kůň", "Ξεσκεπάζω την ψυχοφθόρα", "Съешь ещё этих мягких", "⌚\U0001F600"}
	c.Watch = "שעון כיס ישן"
	c.Covers = "ضمان الساعة سنتان"
	text := norm.NFKC.String(strings.Map(func(r rune) rune {
		if r >= '\u202A' && r <= '\u202E' || r >= '\u2066' && r <= '\u2069' { // pdftotext adds them
			return -1
		}
		return r
	}, run(t, "pdftotext", "-layout", onDisk(t, "card", pdfOf(t, "card-all-scripts", c)), "-")))
	for _, want := range append(c.WorkDone, c.Watch, c.Covers, c.Number, "Tern Quay Watch Works",
		"24 months from 17 Dec 2026", "−0.8", "Final rates, s/d") {
		if !strings.Contains(text, want) {
			t.Errorf("%q is not in the text of the file:\n%s", want, text)
		}
	}
}

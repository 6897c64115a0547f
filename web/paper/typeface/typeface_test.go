package typeface

import (
	"os"
	"path/filepath"
	"testing"
)

// Each letter of Arabic must be had in the forms that papers join it of (Arabic Presentation Forms B).
func TestArabicFormsAreHad(t *testing.T) {
	t.Parallel()
	for r := '\uFE80'; r <= '\uFEFC'; r++ {
		if in, drawn := Serif.Pick(r); drawn != r || in != fallback {
			t.Errorf("the type lacks U+%04X", r)
		}
	}
}

func TestHouseFacesComeFirst(t *testing.T) {
	t.Parallel()
	for _, f := range []Face{Sans, SansBold, Serif, SerifItalic} {
		for _, r := range "Žluťoučký Ωρολόι Часы Đong £€¥ – “fine” … ½ ° ± − ×" {
			if in, drawn := f.Pick(r); in != f || drawn != r {
				t.Errorf("%s draws %q in %s", f.Name(), r, in.Name())
			}
		}
	}
}

// Not parallel: it adds a type and takes it away again.
func TestLacking(t *testing.T) {
	for _, tt := range []struct{ text, want string }{
		{"", ""},
		{"Tern Quay £12.50 – “fine” … ½ ° ± − μ", ""},
		{"Žluťoučký Ωρολόι Часы", ""},
		{"שָׁעוֹן ساعة", ""},
		{"line\nbreak\ttab\u200B", ""},
		{"時計が時", "時計が"},
		{"￥12,500", ""}, // as ja-JP writes yen: set as the plain sign
		{"a☎b\U0001F600", "\U0001F600"},
		{"e\u0301", ""},
	} {
		if got := string(Lacking(tt.text)); got != tt.want {
			t.Errorf("Lacking(%q) = %q, want %q", tt.text, got, tt.want)
		}
	}
	if err := Add([]byte("no font")); err == nil {
		t.Error("what is no font was taken as one")
	}
	ttf := machineType(t)
	if err := Add(ttf); err != nil {
		t.Fatal(err)
	}
	defer func() { _ = Add(nil) }()
	if got := string(Lacking("時計が止まる 钟表 \U0001F600")); got != "\U0001F600" {
		t.Errorf("with a type for them, lacking %q", got)
	}
}

// machineType is the type of this machine for Chinese, Japanese and Korean.
func machineType(t *testing.T) []byte {
	t.Helper()
	for _, folder := range Folders {
		for _, name := range Names[0] {
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

package paper

import (
	"bytes"
	"hash/fnv"
	"slices"
	"strings"
)

// The writer cuts each font down to the characters used but names it without the
// six-letter tag that ISO 32000-1, 9.6.4 asks of a font subset. Families are
// therefore registered under a stand-in of the tag's length, and the tag is put
// in when the file is complete, so that no offset moves.
const (
	writerPrefix = "utf8" // the writer puts this before a family name
	tagStandIn   = "lw+"
)

func familyName(f face) string { return tagStandIn + strings.ToLower(typefaces[f].name) }

// useFace registers a face when it is first needed and notes what it draws.
func (s *sheet) useFace(f face, text string) {
	if s.used[f] == nil {
		s.used[f] = map[rune]bool{}
		s.pdf.AddUTF8FontFromBytes(familyName(f), "", slices.Clone(typefaces[f].ttf))
	}
	for _, r := range text {
		s.used[f][r] = true
	}
}

func (s *sheet) nameSubsets(pdf []byte) []byte {
	for f, runes := range s.used {
		stood := writerPrefix + familyName(f)
		named := subsetTag(f, runes) + "+" + typefaces[f].name
		for _, key := range []string{"/BaseFont /", "/FontName /"} {
			pdf = bytes.ReplaceAll(pdf, []byte(key+stood+"\n"), []byte(key+named+"\n"))
		}
	}
	return pdf
}

// subsetTag is six capitals drawn from the face and the characters used, so that
// equal subsets have equal tags.
func subsetTag(f face, runes map[rune]bool) string {
	sorted := make([]rune, 0, len(runes))
	for r := range runes {
		sorted = append(sorted, r)
	}
	slices.Sort(sorted)
	h := fnv.New64a()
	h.Write([]byte(typefaces[f].name + string(sorted)))
	sum := h.Sum64()
	tag := make([]byte, 6)
	for i := range tag {
		tag[i] = byte('A' + sum%26)
		sum /= 26
	}
	return string(tag)
}

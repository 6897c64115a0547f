package typeface

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

// Family is the name to register the face under with the writer of PDF.
func (f Face) Family() string { return tagStandIn + strings.ToLower(f.Name()) }

// NameSubsets puts into a finished PDF the names of its font subsets; used has the characters of each.
func NameSubsets(pdf []byte, used map[Face]map[rune]bool) []byte {
	for f, runes := range used {
		stood := writerPrefix + f.Family()
		named := subsetTag(f, runes) + "+" + f.Name()
		for _, key := range []string{"/BaseFont /", "/FontName /"} {
			pdf = bytes.ReplaceAll(pdf, []byte(key+stood+"\n"), []byte(key+named+"\n"))
		}
	}
	return pdf
}

// subsetTag is six capitals drawn from the face and the characters used, so that
// equal subsets have equal tags.
func subsetTag(f Face, runes map[rune]bool) string {
	sorted := make([]rune, 0, len(runes))
	for r := range runes {
		sorted = append(sorted, r)
	}
	slices.Sort(sorted)
	h := fnv.New64a()
	h.Write([]byte(f.Name() + string(sorted)))
	sum := h.Sum64()
	tag := make([]byte, 6)
	for i := range tag {
		tag[i] = byte('A' + sum%26)
		sum /= 26
	}
	return string(tag)
}

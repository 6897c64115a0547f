package keyring

import (
	"encoding/base64"
	"fmt"
	"slices"
	"strings"
)

// parseGiven reads keys given as text; see [Open].
func parseGiven(text string) ([]entry, error) {
	var list []entry
	words := strings.FieldsFunc(text, func(r rune) bool { return r == ',' || r == ' ' || r == '\n' || r == '\r' || r == '\t' })
	for i, word := range words {
		name, seed, _ := strings.Cut(word, ":")
		purpose, id, _ := strings.Cut(name, "/")
		if checkName(purpose, id) != nil {
			return nil, fmt.Errorf("%s: key %d of %d is not written as PURPOSE/ID:SEED", EnvName, i+1, len(words))
		}
		raw, err := base64.StdEncoding.DecodeString(seed)
		if err != nil || len(raw) != SeedBytes {
			return nil, fmt.Errorf("%s: the seed of %s is not %d bytes in base64", EnvName, name, SeedBytes)
		}
		if slices.ContainsFunc(list, func(e entry) bool { return e.Purpose == purpose && e.ID == id }) {
			return nil, fmt.Errorf("%s: %s is given twice", EnvName, name)
		}
		list = append(list, entry{Key: Key{Purpose: purpose, ID: id, Given: true}, seed: raw})
	}
	return list, nil
}

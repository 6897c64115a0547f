package message

import "ledgerwheel/domain/tongue"

// usual are the program's own templates, a file a language: words_en.go, words_de.go, words_fr.go.
var usual = map[tongue.Tongue]map[Topic]Template{tongue.English: english, tongue.German: german, tongue.French: french}

// Usual is the program's own template of a topic in a language.
func Usual(t Topic, in tongue.Tongue) Template { return usual[in.Or(tongue.English)][t] }

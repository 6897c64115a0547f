// Package tongue speaks to customers in their own language: pages behind the private link, papers and messages. One
// file holds each language's sentences; staff pages stay English.
package tongue

import (
	"embed"
	"encoding/json"
	"fmt"
	"maps"
	"slices"

	"github.com/nicksnyder/go-i18n/v2/i18n"
	"golang.org/x/text/language"
)

// Tongue is a language that customers are spoken to in, as its ISO 639-1 code. The zero value speaks English.
type Tongue string

// The languages that there is a file of.
const (
	English Tongue = "en"
	German  Tongue = "de"
	French  Tongue = "fr"
)

// All lists every Tongue in the order a form shows them.
var All = []Tongue{English, German, French}

// Words names t in English, for the shop's own pages.
func (t Tongue) Words() string {
	switch t {
	case English, "":
		return "English"
	case German:
		return "German"
	case French:
		return "French"
	}
	return string(t)
}

// Known reports whether there is a file of t.
func (t Tongue) Known() bool { return slices.Contains(All, t) }

var matcher = language.NewMatcher([]language.Tag{language.English, language.German, language.French})

// Of is the Tongue nearest to a BCP 47 tag, such as a shop's locale, or to an Accept-Language header; English where none
// is near.
func Of(tags string) Tongue {
	wanted, _, err := language.ParseAcceptLanguage(tags)
	if err != nil {
		return English
	}
	_, i, sure := matcher.Match(wanted...)
	if sure == language.No {
		return English
	}
	return All[i]
}

// Or is t, or other where nobody said which language t is.
func (t Tongue) Or(other Tongue) Tongue {
	if t == "" {
		return other
	}
	return t
}

// In is the BCP 47 locale by which money and numbers are written in t for a shop of the locale: the shop's own where it
// speaks t, else t in the shop's country.
func (t Tongue) In(shopLocale string) string {
	shop, err := language.Parse(shopLocale)
	if err != nil {
		return string(t.Or(English))
	}
	base, _ := shop.Base()
	if base.String() == string(t.Or(English)) {
		return shopLocale
	}
	region, sure := shop.Region()
	if sure == language.No {
		return string(t.Or(English))
	}
	return string(t.Or(English)) + "-" + region.String()
}

//go:embed en.json de.json fr.json
var catalogs embed.FS

var (
	bundle     = i18n.NewBundle(language.English)
	localizers = map[Tongue]*i18n.Localizer{}
)

func init() {
	for _, t := range All {
		if _, err := bundle.LoadMessageFileFS(catalogs, string(t)+".json"); err != nil {
			panic(fmt.Sprintf("sentences of %s: %v", t.Words(), err)) // embedded: a file that can't be read can't be built by the tests
		}
		localizers[t] = i18n.NewLocalizer(bundle, string(t))
	}
}

// Keys are the keys of a language's file, in order.
func Keys(t Tongue) []string {
	var all map[string]json.RawMessage
	text, err := catalogs.ReadFile(string(t) + ".json")
	if err == nil {
		err = json.Unmarshal(text, &all)
	}
	if err != nil {
		panic(err) // read at start already
	}
	return slices.Sorted(maps.Keys(all))
}

// Say is the sentence of that key in t. with are names and values, in turn, of what the sentence leaves open. A sentence
// that no file has is its key; tests hold that every key asked for is there in every language.
func (t Tongue) Say(key string, with ...any) string { return t.say(key, nil, with) }

// Count is Say for a sentence that speaks of n things; the sentence calls the number {{.Count}}.
func (t Tongue) Count(key string, n int, with ...any) string {
	return t.say(key, n, append([]any{"Count", n}, with...))
}

func (t Tongue) say(key string, count any, with []any) string {
	if len(with)%2 != 0 {
		panic("tongue: a name without a value in " + key)
	}
	values := map[string]any{}
	for i := 0; i < len(with); i += 2 {
		values[with[i].(string)] = with[i+1]
	}
	said, err := localizerOf(t).Localize(&i18n.LocalizeConfig{MessageID: key, PluralCount: count, TemplateData: values})
	if err != nil && said == "" {
		return key
	}
	return said
}

func localizerOf(t Tongue) *i18n.Localizer {
	if l, ok := localizers[t]; ok {
		return l
	}
	return localizers[English]
}

package tongue

import (
	"encoding/json"
	"regexp"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/nicksnyder/go-i18n/v2/i18n"
)

// TestNoLanguageLacksASentence reads every file: the same keys in all, none empty, the same open places in each sentence,
// and every sentence of numbers in each of its language's forms.
func TestNoLanguageLacksASentence(t *testing.T) {
	english := Keys(English)
	for _, tongue := range All {
		keys := Keys(tongue)
		for _, key := range english {
			if !slices.Contains(keys, key) {
				t.Errorf("%s lacks %q", tongue.Words(), key)
			}
		}
		for _, key := range keys {
			if !slices.Contains(english, key) {
				t.Errorf("%s has %q, which English lacks", tongue.Words(), key)
				continue
			}
			if want, got := placesOf(t, English, key), placesOf(t, tongue, key); !slices.Equal(want, got) {
				t.Errorf("%s: %q leaves open %v, English %v", tongue.Words(), key, got, want)
			}
			// CLDR: French counts 1,000,000 as "many".
			for _, n := range []any{nil, 0, 1, 2, 5, 21, 1_000_000} {
				said, err := localizerOf(tongue).Localize(&i18n.LocalizeConfig{MessageID: key, PluralCount: n, TemplateData: filled(t, key)})
				if (err != nil || strings.TrimSpace(said) == "") && (n == nil) == !counts(t, key) {
					t.Errorf("%s: %q of %v: %q, %v", tongue.Words(), key, n, said, err)
				}
			}
		}
	}
}

var place = regexp.MustCompile(`\{\{\s*\.(\w+)\s*\}\}`)

func textOf(t *testing.T, tongue Tongue, key string) string {
	var all map[string]json.RawMessage
	text, err := catalogs.ReadFile(string(tongue) + ".json")
	if err == nil {
		err = json.Unmarshal(text, &all)
	}
	if err != nil {
		t.Fatal(err)
	}
	return string(all[key])
}

func placesOf(t *testing.T, tongue Tongue, key string) []string {
	var names []string
	for _, m := range place.FindAllStringSubmatch(textOf(t, tongue, key), -1) {
		names = append(names, m[1])
	}
	slices.Sort(names)
	return slices.Compact(names)
}

func counts(t *testing.T, key string) bool { return strings.HasPrefix(textOf(t, English, key), "{") }

func filled(t *testing.T, key string) map[string]any {
	values := map[string]any{}
	for _, name := range placesOf(t, English, key) {
		values[name] = "x"
	}
	return values
}

func TestDays(t *testing.T) {
	first := time.Date(2027, 3, 1, 14, 5, 0, 0, time.UTC) // a Monday
	// The forms of CLDR's "long" dates, as printed by its charts (en-GB, de, fr), from memory.
	for _, c := range []struct {
		tongue Tongue
		want   string
	}{{English, "Monday 1 March 2027, 14:05"}, {German, "Montag, 1. März 2027, 14:05\u00a0Uhr"}, {French, "lundi 1er mars 2027, 14\u00a0h\u00a005"}} {
		if got := c.tongue.DayOfWeek(first) + ", " + c.tongue.Clock(first); got != c.want {
			t.Errorf("%s: %q, want %q", c.tongue.Words(), got, c.want)
		}
	}
}

func TestNearestLanguage(t *testing.T) {
	for tags, want := range map[string]Tongue{"de-CH": German, "fr-CA,fr;q=0.9,en;q=0.5": French, "en-GB": English, "ja": English, "": English,
		"gsw": German} {
		if got := Of(tags); got != want {
			t.Errorf("%q is spoken to in %s, want %s", tags, got, want)
		}
	}
	for _, c := range []struct {
		tongue     Tongue
		shop, want string
	}{{German, "en-GB", "de-GB"}, {English, "en-GB", "en-GB"}, {French, "fr-CH", "fr-CH"}, {"", "de-CH", "en-CH"}} {
		if got := c.tongue.In(c.shop); got != c.want {
			t.Errorf("%s in a shop of %s writes as %s, want %s", c.tongue, c.shop, got, c.want)
		}
	}
}

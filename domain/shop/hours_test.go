package shop

import (
	"strings"
	"testing"

	"ledgerwheel/domain/tongue"
)

// The form is that of schema.org's property openingHours ("Mo,Tu,We,Th 09:00-12:00", "Mo-Fr 10:00-19:00").
func TestHours(t *testing.T) {
	for typed, want := range map[string]string{
		"Mo,Tu,We,Th 09:00-12:00":                        "Mo-Th 09:00-12:00",
		"mo-fr 9.00 – 12.30, 13:30-18:00\nSa 9h00-13h00": "Mo-Fr 09:00-12:30, 13:30-18:00\nSa 09:00-13:00",
		"Mo-Su 00:00-24:00":                              "Mo-Su 00:00-24:00",
		"Sa-Mo 10:00-12:00":                              "Mo 10:00-12:00\nSa-Su 10:00-12:00",
		"":                                               "",
		"Tu 14:00-18:00; Tu 09:00-12:00":                 "Tu 09:00-12:00, 14:00-18:00",
	} {
		h, err := ParseHours(typed)
		if err != nil || h.String() != want {
			t.Errorf("%q reads %q, %v; want %q", typed, h.String(), err, want)
		}
		if again, err := ParseHours(h.String()); err != nil || again.String() != h.String() {
			t.Errorf("%q isn't read back: %q, %v", h.String(), again.String(), err)
		}
	}
	for _, typed := range []string{"weekdays 9-5", "Mo 17:00-09:00", "Mo 09:00-25:00", "Mo 09:60-10:00", "Mo 9-5", "Mo 09:00-12:00, 11:00-13:00",
		"09:00-17:00", "Mo"} {
		if h, err := ParseHours(typed); err == nil {
			t.Errorf("%q reads as %q", typed, h.String())
		}
	}
}

func TestHoursInWords(t *testing.T) {
	h, err := ParseHours("Mo-Fr 09:00-12:30, 13:30-18:00\nSa 09:00-13:00")
	if err != nil {
		t.Fatal(err)
	}
	for tongue, want := range map[tongue.Tongue]string{
		tongue.English: "Monday to Friday: 09:00 to 12:30, 13:30 to 18:00|Saturday: 09:00 to 13:00|Sunday: closed",
		tongue.German:  "Montag bis Freitag: 09:00 bis 12:30, 13:30 bis 18:00|Samstag: 09:00 bis 13:00|Sonntag: geschlossen",
		tongue.French:  "du lundi au vendredi\u00a0: de 09:00 à 12:30, de 13:30 à 18:00|samedi\u00a0: de 09:00 à 13:00|dimanche\u00a0: fermé",
	} {
		if got := strings.Join(h.In(tongue), "|"); got != want {
			t.Errorf("%s: %s\nwant %s", tongue.Words(), got, want)
		}
	}
	if (Hours{}).In(tongue.English) != nil {
		t.Error("hours nobody gave are said")
	}
}

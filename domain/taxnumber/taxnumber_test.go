package taxnumber_test

import (
	"strings"
	"testing"

	"ledgerwheel/domain/taxnumber"
)

// published are the worked examples of the reference library python-stdnum (its modules of each country, and test_vatin), which give a
// right number and the same with a wrong check digit; Austria's is also that of its Ministry of Finance, GB 999 9999 73 is HMRC's
// for tests.
var published = []struct{ typed, kept, wrong string }{
	{"AT U13585627", "ATU13585627", "ATU13585626"},
	{"BE 0428759497", "BE0428759497", "BE0431150351"},
	{"BE403019261", "BE0403019261", "BE431150351"},
	{"CHE-100.155.212", "CHE-100.155.212", "CHE-100.155.213"},
	{"che 100 155 212 mwst", "CHE-100.155.212 MWST", "CHE-100.155.213 MWST"},
	{"DE 136,695 976", "DE136695976", "DE136695978"},
	{"DK: 13585628", "DK13585628", "DK13585627"},
	{"EE 100594102", "EE100594102", "EE100594103"},
	{"EL 094259216", "EL094259216", "EL123456781"},
	{"FI 20774740", "FI20774740", "FI20774741"},
	{"Fr 40 303 265 045", "FR40303265045", "FR84323140391"},
	{"FR 23334175221", "FR23334175221", "FRIO334175221"},
	{"FR K7399859412", "FRK7399859412", "FRO7399859412"},
	{"GB 980 7806 84", "GB980780684", "GB802311781"},
	{"GB 999 9999 73", "GB999999973", "GB999999974"},
	{"HR 33392005961", "HR33392005961", "HR33392005962"},
	{"HU-12892312", "HU12892312", "HU12892313"},
	{"IE 6433435F", "IE6433435F", "IE6433435E"},
	{"IE 6433435OA", "IE6433435OA", "IE6433435OB"},
	{"IE 8D79739I", "IE8D79739I", "IE8D79739J"},
	{"IT 00743110157", "IT00743110157", "IT00743110158"},
	{"LU 150 274 42", "LU15027442", "LU15027443"},
	{"NL004495445B01", "NL004495445B01", "NL123456789B90"},
	{"NL002455799B11", "NL002455799B11", "NL002455799B12"},
	{"NO 995 525 828 MVA", "NO995525828MVA", "NO995525829MVA"},
	{"PL 856-734-62-15", "PL8567346215", "PL8567346216"},
	{"PT 501 964 843", "PT501964843", "PT501964842"},
	{"SE 123456789701", "SE123456789701", "SE123456789101"},
	{"SI 5022 3054", "SI50223054", "SI50223055"},
}

func TestPublishedNumbers(t *testing.T) {
	t.Parallel()
	seen := map[string]bool{}
	for _, p := range published {
		got := taxnumber.Tidied(p.typed)
		if got != p.kept || taxnumber.Problem(got) != "" {
			t.Errorf("%q is kept as %q: %s", p.typed, got, taxnumber.Problem(got))
		}
		if taxnumber.Tidied(got) != got {
			t.Errorf("%q is tidied again to %q", got, taxnumber.Tidied(got))
		}
		if wrong := taxnumber.Tidied(p.wrong); taxnumber.Problem(wrong) == "" {
			t.Errorf("%q passes", p.wrong)
		}
		seen[got[:2]] = true
	}
	// Every country with a rule for its check digits has an example.
	for _, c := range taxnumber.Countries() {
		if n := shapes[c]; n == "" && !seen[c] && c != "XI" {
			t.Errorf("no published number of %s", c)
		}
	}
}

// shapes are numbers of the countries that are held to the shape of the European Commission's list only, and one that has not that shape.
var shapes = map[string]string{"BG": "9999999999", "CY": "99999999L", "CZ": "99999999", "ES": "X9999999X", "LI": "99999", "LT": "999999999999",
	"LV": "99999999999", "MT": "99999999", "RO": "99", "SK": "9999999999"}

func TestShapeOnly(t *testing.T) {
	t.Parallel()
	for c, n := range shapes {
		if why := taxnumber.Problem(c + n); why != "" || taxnumber.Checked(c+n) {
			t.Errorf("%s%s: %q, checked %t", c, n, why, taxnumber.Checked(c+n))
		}
		if taxnumber.Problem(c+n+"9Z9") == "" {
			t.Errorf("%s%s9Z9 passes", c, n)
		}
	}
	// A country outside the list is taken at its word.
	if why := taxnumber.Problem(taxnumber.Tidied("nz 123-456-789")); why != "" || taxnumber.Checked("NZ123456789") {
		t.Errorf("a number of New Zealand: %s", why)
	}
}

func TestNumbersThatAreNone(t *testing.T) {
	t.Parallel()
	for _, typed := range []string{"136695976", "ask him", "D", "DE", "DE 12", "GB 1", "CHE", "GB 980 7806 84 99", "DE13669597O", "NZ" + strings.Repeat("9", 30), "É1234"} {
		if n := taxnumber.Tidied(typed); taxnumber.Problem(n) == "" {
			t.Errorf("%q passes as %q", typed, n)
		}
	}
}

func TestCountry(t *testing.T) {
	t.Parallel()
	for n, want := range map[string]string{"GB980780684": "GB", "XI980780684": "GB", "EL094259216": "GR", "CHE-100.155.212 MWST": "CH", "DE136695976": "DE", "12": ""} {
		if got := taxnumber.Country(n); got != want {
			t.Errorf("%s is of %q, not %q", n, got, want)
		}
	}
	if !taxnumber.Checked("DE136695976") || taxnumber.Checked("DE136695978") {
		t.Error("what is checked is told wrongly")
	}
	if got := taxnumber.Tidied("gr 094259216"); got != "EL094259216" {
		t.Errorf("Greece is kept as %s", got)
	}
}

package taxnumber

import (
	"regexp"
	"slices"
	"strings"
)

// rule is how a country forms its numbers, without the two letters before them.
type rule struct {
	shape  *regexp.Regexp
	words  string            // how it reads, for whoever typed another
	agrees func(string) bool // the check digits; nil where the rule is not published, or shape is all that is asked
}

func digits(pattern, words string, agrees func(string) bool) rule {
	return rule{regexp.MustCompile(`^` + pattern + `$`), words, agrees}
}

// rules has the shapes of the European Commission's list ("VIES VAT number validation: frequently asked questions", structure of
// the numbers), of HMRC (United Kingdom, and XI for Northern Ireland), of eCH-0097 (Switzerland, UID) and of Brønnøysund
// (Norway). Check digits go by each country's own rule as the reference library python-stdnum 2 has it; countries whose rule is
// not public, or has exceptions without number, are held to the shape only.
var rules = map[string]rule{
	"AT": digits(`U[0-9]{8}`, "U with 8 digits", austria),
	"BE": digits(`[01][0-9]{9}`, "10 digits, the first 0 or 1", func(n string) bool { return (number(n[:8])+number(n[8:]))%97 == 0 }),
	"BG": digits(`[0-9]{9,10}`, "9 or 10 digits", nil),
	"CH": digits(`E[0-9]{9}(MWST|TVA|IVA|VAT)?`, "E with 9 digits, as CHE-100.155.212", switzerland),
	"CY": digits(`[0-9]{8}[A-Z]`, "8 digits and a letter", nil),
	"CZ": digits(`[0-9]{8,10}`, "8 to 10 digits", nil),
	"DE": digits(`[1-9][0-9]{8}`, "9 digits", mod1110),
	"DK": digits(`[1-9][0-9]{7}`, "8 digits", weighed(11, 2, 7, 6, 5, 4, 3, 2, 1)),
	"EE": digits(`[0-9]{9}`, "9 digits", weighed(10, 3, 7, 1, 3, 7, 1, 3, 7, 1)),
	"EL": digits(`[0-9]{9}`, "9 digits", greece),
	"ES": digits(`([A-Z][0-9]{7}[0-9A-Z]|[0-9]{8}[A-Z])`, "9 characters, the first or the last a letter", nil),
	"FI": digits(`[0-9]{8}`, "8 digits", weighed(11, 7, 9, 10, 5, 8, 4, 2, 1)),
	"FR": digits(`[0-9A-HJ-NP-Z]{2}[0-9]{9}`, "2 characters and 9 digits", france),
	"GB": digits(`([0-9]{9}|[0-9]{12}|GD[0-4][0-9]{2}|HA[5-9][0-9]{2})`, "9 or 12 digits", britain),
	"HR": digits(`[0-9]{11}`, "11 digits", mod1110),
	"HU": digits(`[0-9]{8}`, "8 digits", weighed(10, 9, 7, 3, 1, 9, 7, 3, 1)),
	"IE": digits(`([0-9]{7}[A-W][A-IW]?|[7-9][A-Z+*][0-9]{5}[A-W])`, "7 digits and 1 or 2 letters", ireland),
	"IT": digits(`[0-9]{11}`, "11 digits", luhn),
	"LI": digits(`[0-9]{5}`, "5 digits", nil),
	"LT": digits(`([0-9]{9}|[0-9]{12})`, "9 or 12 digits", nil),
	"LU": digits(`[0-9]{8}`, "8 digits", func(n string) bool { return number(n[:6])%89 == number(n[6:]) }),
	"LV": digits(`[0-9]{11}`, "11 digits", nil),
	"MT": digits(`[0-9]{8}`, "8 digits", nil),
	"NL": digits(`[0-9]{9}B[0-9]{2}`, "9 digits, B and 2 digits", netherlands),
	"NO": digits(`[0-9]{9}(MVA)?`, "9 digits and MVA", func(n string) bool { return weighed(11, 3, 2, 7, 6, 5, 4, 3, 2, 1)(n[:9]) }),
	"PL": digits(`[0-9]{10}`, "10 digits", weighed(11, 6, 5, 7, 2, 3, 4, 5, 6, 7, -1)),
	"PT": digits(`[0-9]{9}`, "9 digits", func(n string) bool { return (11-sum(n[:8], 9, 8, 7, 6, 5, 4, 3, 2)%11)%11%10 == digit(n, 8) }),
	"RO": digits(`[0-9]{2,10}`, "2 to 10 digits", nil),
	"SE": digits(`[0-9]{10}[0-9]{2}`, "12 digits", func(n string) bool { return luhn(n[:10]) }),
	"SI": digits(`[1-9][0-9]{7}`, "8 digits", slovenia),
	"SK": digits(`[0-9]{10}`, "10 digits", nil),
	"XI": digits(`([0-9]{9}|[0-9]{12}|GD[0-4][0-9]{2}|HA[5-9][0-9]{2})`, "9 or 12 digits", britain),
}

func digit(n string, at int) int { return int(n[at] - '0') }

// number is what up to 18 digits come to.
func number(n string) int {
	v := 0
	for i := range len(n) {
		v = v*10 + digit(n, i)
	}
	return v
}

// sum is that of the digits, each times its weight.
func sum(n string, weights ...int) int {
	s := 0
	for i, w := range weights {
		s += w * digit(n, i)
	}
	return s
}

// weighed asks that the weighted sum of all digits, check digit too, is a multiple.
func weighed(of int, weights ...int) func(string) bool {
	return func(n string) bool { return sum(n, weights...)%of == 0 }
}

// luhnSum is the sum of ISO/IEC 7812-1, annex B, in which every second digit from the last but one counts double.
func luhnSum(n string) int {
	s := 0
	for i := range len(n) {
		d := digit(n, len(n)-1-i)
		if i%2 == 1 {
			d = d*2/10 + d*2%10
		}
		s += d
	}
	return s
}

func luhn(n string) bool { return luhnSum(n)%10 == 0 }

// mod1110 is ISO 7064 MOD 11,10.
func mod1110(n string) bool {
	product := 10
	for i := range len(n) - 1 {
		s := (digit(n, i) + product) % 10
		if s == 0 {
			s = 10
		}
		product = s * 2 % 11
	}
	return (product+digit(n, len(n)-1))%10 == 1
}

// austria: Luhn's sum of seven digits and 4 more (Federal Ministry of Finance, rules by which the numbers are built).
func austria(n string) bool { return (luhnSum(n[1:8])+4+digit(n, 8))%10 == 0 }

// switzerland: modulus 11 of eCH-0097; the suffix says that the firm is registered for VAT.
func switzerland(n string) bool {
	return (11-sum(n[1:9], 5, 4, 3, 2, 7, 6, 5, 4)%11)%11 == digit(n, 9)
}

func greece(n string) bool {
	return sum(n[:8], 256, 128, 64, 32, 16, 8, 4, 2)%11%10 == digit(n, 8)
}

// france: a key of two digits, modulus 97 of the firm's number, which is Luhn's but for Monaco's. Keys with letters are held to
// the shape only.
func france(n string) bool {
	if strings.ContainsFunc(n[:2], func(r rune) bool { return r > '9' }) {
		return true
	}
	return number(n[2:]+"12")%97 == number(n[:2]) && (strings.HasPrefix(n[2:], "000") || luhn(n[2:]))
}

// britain: modulus 97, of later numbers 55 more (HMRC); departments and health authorities have none.
func britain(n string) bool {
	if n[0] > '9' {
		return true
	}
	rest := (sum(n[:7], 8, 7, 6, 5, 4, 3, 2) + number(n[7:9])) % 97
	return rest == 0 || rest == 42 // 42 is 97 less 55
}

// ireland: a letter that stands for a modulus 23; a second letter, since 2013, counts nine times. Numbers of before that have a letter in
// their second place go by their last digits.
func ireland(n string) bool {
	const letters = "WABCDEFGHIJKLMNOPQRSTUV"
	if n[1] > '9' || n[1] < '0' {
		n = "0" + n[2:7] + n[:1] + n[7:]
	}
	s := sum(n[:7], 8, 7, 6, 5, 4, 3, 2)
	if len(n) == 9 {
		s += 9 * strings.IndexByte(letters, n[8])
	}
	return letters[s%23] == n[7]
}

// netherlands: modulus 11 of firms, or ISO 7064 MOD 97-10 of the whole with its letters, of people since 2020.
func netherlands(n string) bool {
	if s := sum(n[:8], 9, 8, 7, 6, 5, 4, 3, 2) % 11; s < 10 && s == digit(n, 8) {
		return true
	}
	rest := 0
	for _, r := range "NL" + n {
		v, times := int(r-'0'), 10
		if r > '9' {
			v, times = int(r-'A')+10, 100
		}
		rest = (rest*times + v) % 97
	}
	return rest == 1
}

func slovenia(n string) bool {
	check := 11 - sum(n[:7], 8, 7, 6, 5, 4, 3, 2)%11
	return check != 11 && check%10 == digit(n, 7)
}

// Countries lists the letters by which numbers begin whose shape is known.
func Countries() []string {
	var list []string
	for c := range rules {
		list = append(list, c)
	}
	slices.Sort(list)
	return list
}

package customer

import (
	"fmt"
	"regexp"
	"slices"
	"strings"
	"time"
	"unicode"
	"unicode/utf8"

	"ledgerwheel/domain/text"
)

// Pseudonym is what stands for a person whose name was erased: it tells records apart and leads to nobody.
func Pseudonym(id int64) string { return fmt.Sprintf("Customer %d", id) }

// Erased returns c without name and without any way to reach them.
func (c Customer) Erased() Customer { return Customer{ID: c.ID, Name: Pseudonym(c.ID)} }

// WithoutReach returns c with name and address alone, as an invoice shows them.
func (c Customer) WithoutReach() Customer {
	return Customer{ID: c.ID, Name: c.Name, Address: c.Address}
}

// Standing is what decides whether a person's data may be erased, and how much of it.
type Standing struct {
	Today time.Time // civil day, midnight UTC
	// Open are the numbers of dockets whose watch is in the shop.
	Open []string
	// Owing are the numbers of dockets on which money is still to pay or to give back.
	Owing []string
	// WarrantyUntil is the last day on which a claim under a card of the shop may come; zero for none.
	WarrantyUntil time.Time
	// InvoicedOn is the day of the newest invoice; zero for none.
	InvoicedOn time.Time
	// InvoiceYears is for how many years after its year an invoice must be kept, as the owner confirmed for the place; 0
	// where the owner has not said.
	InvoiceYears int
}

// InvoicesUntil is the last day on which invoices must still show name and address; zero where there are none or nobody
// has said for how long. Years are counted from the end of the invoice's year, which is the longer of the ways in use
// (common practice; the profile of the place says how many).
func (s Standing) InvoicesUntil() time.Time {
	if s.InvoicedOn.IsZero() || s.InvoiceYears == 0 {
		return time.Time{}
	}
	return time.Date(s.InvoicedOn.Year()+s.InvoiceYears, time.December, 31, 0, 0, 0, 0, time.UTC)
}

// KeepsInvoices reports whether name and address must stay on invoices for now.
func (s Standing) KeepsInvoices() bool {
	return !s.InvoicesUntil().Before(s.Today) && !s.InvoicedOn.IsZero()
}

// Hindrances say why nothing may be erased yet, a sentence each; none where it may.
func (s Standing) Hindrances() []string {
	var list []string
	if len(s.Open) > 0 {
		list = append(list, "A watch is in the shop, on docket "+strings.Join(s.Open, ", ")+": it must go back to somebody.")
	}
	if len(s.Owing) > 0 {
		list = append(list, "Money is still to pay or to give back on docket "+strings.Join(s.Owing, ", ")+".")
	}
	if !s.WarrantyUntil.IsZero() && !s.WarrantyUntil.Before(s.Today) {
		list = append(list, "A claim may come under the warranty until "+s.WarrantyUntil.Format("2 January 2006")+".")
	}
	if !s.InvoicedOn.IsZero() && s.InvoiceYears == 0 {
		list = append(list, "There is an invoice, and the settings don't say for how many years invoices must be kept here.")
	}
	return list
}

// shortestWord is the fewest letters of a word that is looked for by itself: shorter ones mean too many other things.
const shortestWord = 3

// leastPhoneDigits is how many last digits of a telephone number are enough to know it by, however it is written.
const leastPhoneDigits = 6

// OwnWords are the words by which a person is known, to be looked for in what was written freely: the name, each of its
// words, telephone number, e-mail address, tax number and the lines of the address; longest first, each once.
func (c Customer) OwnWords() []string {
	words := []string{c.Name, c.Phone, c.PhoneE164, c.Email, c.TaxNumber}
	words = append(words, NameWords(c.Name)...)
	for line := range strings.Lines(c.Address) {
		words = append(words, strings.Trim(strings.TrimSpace(line), ",;"))
	}
	return TidyWords(words)
}

// NameWords are the words of a name that are long enough to be looked for by themselves.
func NameWords(name string) []string {
	return strings.FieldsFunc(name, func(r rune) bool { return unicode.IsSpace(r) || r == ',' || r == '.' || r == '-' })
}

// WordsOf are the words to look for of a name, a number, a mail address or a postal address, whichever s is.
func WordsOf(s string) []string {
	words := []string{s}
	switch {
	case strings.Contains(s, "\n"):
		words = slices.AppendSeq(words[:0], strings.Lines(s))
	case !strings.ContainsFunc(s, func(r rune) bool { return r == '@' || unicode.IsDigit(r) }):
		words = append(words, NameWords(s)...)
	}
	return TidyWords(words)
}

// TidyWords leaves out what is too short to be looked for and what stands twice, and puts the longest first.
func TidyWords(words []string) []string {
	var list []string
	for _, w := range words {
		w = text.Line(w)
		if utf8.RuneCountInString(w) < shortestWord || slices.ContainsFunc(list, func(o string) bool { return strings.EqualFold(o, w) }) {
			continue
		}
		list = append(list, w)
	}
	slices.SortStableFunc(list, func(a, b string) int { return utf8.RuneCountInString(b) - utf8.RuneCountInString(a) })
	return list
}

// Redactor takes a person's words out of a text.
type Redactor struct {
	pseudonym string
	words     *regexp.Regexp // nil for none
}

// NewRedactor looks for the words, whole and in any case, and for numbers by their last digits however they are
// parted, and puts the pseudonym in their place.
func NewRedactor(words []string, pseudonym string) Redactor {
	var ways []string
	for _, w := range TidyWords(words) {
		if digits := text.Digits(w); len(digits) >= leastPhoneDigits && !strings.ContainsFunc(w, unicode.IsLetter) {
			ways = append(ways, phonePattern(digits))
			continue
		}
		ways = append(ways, strings.Join(strings.Fields(regexp.QuoteMeta(w)), `\s+`))
	}
	if len(ways) == 0 {
		return Redactor{pseudonym: pseudonym}
	}
	return Redactor{pseudonym, regexp.MustCompile(`(?i)(?:` + strings.Join(ways, `|`) + `)`)}
}

// phonePattern finds a number that ends in these digits with anything that numbers are parted by between them. The first
// digits may be missing or be another code: the last nine, or all where there are fewer, must be there.
func phonePattern(digits string) string {
	last := digits[max(0, len(digits)-9):]
	return `[+(]?(?:[0-9][\s()./-]*){0,6}` + strings.Join(strings.Split(last, ""), `[\s()./-]*`)
}

// Text returns s with the person's words replaced, and how many were.
func (r Redactor) Text(s string) (string, int) {
	if r.words == nil || s == "" {
		return s, 0
	}
	var b strings.Builder
	n, last := 0, 0
	for at := 0; at < len(s); {
		loc := r.words.FindStringIndex(s[at:])
		if loc == nil {
			break
		}
		from, to := at+loc[0], at+loc[1]
		if !whole(s, from, to) {
			_, size := utf8.DecodeRuneInString(s[from:])
			at = from + size
			continue
		}
		b.WriteString(s[last:from])
		b.WriteString(r.pseudonym)
		n, last, at = n+1, to, to
	}
	b.WriteString(s[last:])
	return b.String(), n
}

// whole reports whether what stands from from to to is no part of a longer word or number.
func whole(s string, from, to int) bool {
	before, _ := utf8.DecodeLastRuneInString(s[:from])
	first, _ := utf8.DecodeRuneInString(s[from:])
	last, _ := utf8.DecodeLastRuneInString(s[:to])
	after, _ := utf8.DecodeRuneInString(s[to:])
	return !(wordy(before) && wordy(first)) && !(wordy(last) && wordy(after))
}

func wordy(r rune) bool { return r != utf8.RuneError && (unicode.IsLetter(r) || unicode.IsDigit(r)) }

// Value replaces the person's words in every text of a value as encoding/json reads it, also below lists and objects,
// and says how many it replaced.
func (r Redactor) Value(v any) (any, int) {
	switch v := v.(type) {
	case string:
		return textValue(r.Text(v))
	case []any:
		n := 0
		for i := range v {
			var k int
			v[i], k = r.Value(v[i])
			n += k
		}
		return v, n
	case map[string]any:
		n := 0
		for key := range v {
			var k int
			v[key], k = r.Value(v[key])
			n += k
		}
		return v, n
	}
	return v, 0
}

func textValue(s string, n int) (any, int) { return s, n }

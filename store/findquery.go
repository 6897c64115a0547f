package store

import (
	"errors"
	"slices"
	"strings"
	"unicode"
	"unicode/utf8"

	"ledgerwheel/domain/customer"
	"ledgerwheel/domain/docket"
	"ledgerwheel/domain/text"
	"ledgerwheel/domain/watch"
)

// FindGroup is one sort of thing that the find box finds.
type FindGroup string

// The groups, in the order in which they are shown.
const (
	FoundDockets FindGroup = "dockets"
	FoundSerials FindGroup = "serials"
	FoundPhones  FindGroup = "phones"
	FoundNames   FindGroup = "names"
	FoundEmails  FindGroup = "emails"
	FoundBoth    FindGroup = "both"
	FoundWatches FindGroup = "watches"
)

// FindGroups returns every group, in the order in which they are shown.
func FindGroups() []FindGroup {
	return []FindGroup{FoundDockets, FoundSerials, FoundPhones, FoundNames, FoundEmails, FoundBoth,
		FoundWatches}
}

// FindQuery is what somebody typed or scanned into the find box.
type FindQuery struct {
	Text   string
	Region string // ISO 3166 country in which a telephone number without prefix is read
	Year   int    // the present year in the shop, in which a bare sequence number is looked for
	// Group asks for a further page of one group, which begins after the row From; empty asks for all.
	Group FindGroup
	From  FindCursor
}

// FindCursor names the last row of a page.
type FindCursor struct {
	Key string
	ID  int64
}

// The least that is looked for; fewer match half the shop.
const (
	leastSerial = 3
	leastOrder  = 2
	maxFindText = 200 // characters; nobody types more
	maxWords    = 6
)

// asked is a text as each group can be asked for it; what is zero is not asked.
type asked struct {
	exact   docket.Number
	misread *docket.CheckError
	numbers []string  // docket numbers in full
	prefix  textRange // of docket numbers
	words   []textRange
	tail    textRange // of telephone numbers read backwards
	email   textRange
	serial  textRange
	order   string // the number of a firm's order, whole
}

// readFind works out what a text may be. A text may be several things at once: eight digits can be a docket's
// number, the end of a telephone number and a serial.
func readFind(q FindQuery) asked {
	text := strings.TrimSpace(q.Text)
	if utf8.RuneCountInString(text) > maxFindText {
		return asked{}
	}
	text = docket.InAddress(text)
	var a asked
	a.readNumber(text, q.Year)
	if utf8.RuneCountInString(text) >= leastOrder {
		a.order = text
	}
	a.words = findWords(text)
	a.tail = phoneTail(text, q.Region)
	if email := customer.FoldEmail(text); len(email) >= leastLetters && strings.ContainsAny(email, "@._") &&
		!strings.ContainsFunc(email, unicode.IsSpace) {
		a.email = beginningWith(email)
	}
	if key := watch.SerialLikeKey(text); utf8.RuneCountInString(key) >= leastSerial {
		a.serial = beginningWith(key)
	}
	return a
}

// readNumber takes a whole number, one whose check character fails, the beginning of one, or a bare sequence
// number of this year or the last.
func (a *asked) readNumber(typed string, year int) {
	n, err := docket.ParseNumber(typed)
	if err == nil {
		a.exact, a.numbers = n, []string{n.String()}
		return
	}
	if errors.As(err, &a.misread) {
		for _, likely := range a.misread.Likely() {
			a.numbers = append(a.numbers, likely.String())
		}
	}
	digits := text.Digits(typed)
	if digits == "" || strings.Trim(typed, "0123456789- ") != "" {
		return
	}
	if len(digits) > 2 && len(digits) <= 9 {
		a.prefix = beginningWith(digits[:2] + "-" + digits[2:])
	}
	if len(digits) <= 5 && !strings.Contains(typed, "-") {
		seq := 0
		for _, c := range digits {
			seq = 10*seq + int(c-'0')
		}
		for _, n := range []docket.Number{{Year: year, Seq: seq}, {Year: year - 1, Seq: seq}} {
			if n.Problem() == "" {
				a.numbers = append(a.numbers, n.String())
			}
		}
	}
}

// findWords are the words of a name or of a watch, folded as the record folds them.
func findWords(text string) []textRange {
	var words []textRange
	for _, w := range strings.Fields(customer.FoldName(text)) {
		if r := beginningWith(w); !slices.Contains(words, r) && len(words) < maxWords {
			words = append(words, r)
		}
	}
	return words
}

// phoneTail is a telephone number read backwards, as it is looked for: without its country where none was
// typed, so that the last digits alone do.
func phoneTail(typed, region string) textRange {
	if strings.ContainsFunc(typed, unicode.IsLetter) {
		return textRange{}
	}
	digits := strings.TrimLeft(text.Digits(typed), "0")
	if e164, ok := customer.NormalisePhone(typed, region); ok {
		if strings.HasPrefix(strings.TrimSpace(typed), "+") || !strings.HasSuffix(e164, digits) || digits == "" {
			digits = text.Digits(e164)
		}
	}
	if len(digits) < leastDigits {
		return textRange{}
	}
	return beginningWith(reversed(digits))
}

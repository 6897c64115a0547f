// Package visit has the rules of several watches that one customer brings at once: they go onto one claim ticket, and each
// has a docket of its own.
package visit

import (
	"errors"
	"fmt"
	"strconv"
	"strings"
	"time"

	"ledgerwheel/domain/docket"
)

// Number names a visit on its ticket. It is written V-NNNNN-C, with at least five digits, where C is the check character
// of ISO 7064 MOD 37,36 over VNNNNN, as dockets have one. The V tells it from a docket's number.
type Number int64

const (
	leastDigits = 5
	mostDigits  = 12
)

// ErrShape reports text that is no visit's number.
var ErrShape = errors.New("not the number of a visit: write it as V-00042-D, number, check character")

// String writes n as V-NNNNN-C.
func (n Number) String() string {
	body := n.body()
	c, err := docket.CheckCharacter(body)
	if err != nil || n < 1 {
		return "no visit"
	}
	return body[:1] + "-" + body[1:] + "-" + string(c)
}

// Compact is n without dashes, for codes.
func (n Number) Compact() string { return strings.ReplaceAll(n.String(), "-", "") }

func (n Number) body() string { return fmt.Sprintf("V%0*d", leastDigits, int64(n)) }

// Parse reads a visit's number as people type it and scanners send it, also at the end of the address that a ticket's code
// holds: blanks and dashes are ignored, letters may be small. The error is ErrShape, also where the check character fails.
func Parse(s string) (Number, error) {
	if _, after, ok := strings.Cut(s, "/v/"); ok {
		s, _, _ = strings.Cut(after, "/")
	}
	s = strings.ToUpper(strings.NewReplacer(" ", "", "-", "", "\u2010", "", "\u2011", "", "\u2013", "").Replace(s))
	digits := strings.TrimPrefix(s, "V")
	if digits == s || len(digits) < leastDigits+1 || len(digits) > mostDigits+1 {
		return 0, ErrShape
	}
	id, err := strconv.ParseInt(digits[:len(digits)-1], 10, 64)
	n := Number(id)
	if err != nil || id < 1 || n.Compact() != s {
		return 0, ErrShape
	}
	return n, nil
}

// Joining is a watch that is to be taken in with others.
type Joining struct {
	Visit      int64 // 0 where the docket that was named has none
	OfCustomer int64 // whose visit it is
	Customer   int64 // whose the watch is; 0 for somebody new
	BeganOn    time.Time
	Today      time.Time // both civil days in the shop
}

// Problems says, by form field, why the watch can't be taken in with the others: a visit is one customer's, on one day, as
// its ticket is one paper that is signed once. (Common practice: a receipt is not added to after the customer has left.)
func (j Joining) Problems() map[string]string {
	switch {
	case j.Visit == 0 || !j.BeganOn.Equal(j.Today):
		return map[string]string{"with": "Those watches were taken in on another day. Take this one in by itself: it gets a ticket of its own."}
	case j.Customer != j.OfCustomer:
		return map[string]string{"customer_choice": "Watches on one ticket are one customer's. Choose the same customer, or take this watch in by itself."}
	}
	return nil
}

// TogetherWords says with which dockets a watch was taken in; "" for none.
func TogetherWords(others []string) string {
	if len(others) == 0 {
		return ""
	}
	return "with " + strings.Join(others, ", ")
}

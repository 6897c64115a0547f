package ledger

import (
	"fmt"
	"strconv"
	"strings"

	"ledgerwheel/domain/text"
)

// Taken is what a stocktake found of one lot of a part, 0 being pieces without one, beside what the book had then.
type Taken struct {
	Lot          int64
	Pieces, Book int
	Why          string // where they differ
}

// Difference is how many pieces more than in the book were found; below zero, fewer.
func (t Taken) Difference() int { return t.Pieces - t.Book }

// Settled are the moves that book what a stocktake found, whatever moved since: the difference of that moment stays one. The
// error wraps ErrMove where more is missing than the book has left, so that the drawer must be counted again.
func (b Balance) Settled(taken []Taken) ([]Move, error) {
	counts := make([]Count, len(taken))
	for i, t := range taken {
		counts[i] = Count{Lot: t.Lot, Pieces: b.InLot(t.Lot) + t.Difference(), Why: t.Why}
	}
	return b.Booked(counts)
}

// labelPrefix begins the bar code of a drawer's label. Its letters lie on the same keys of QWERTY, QWERTZ and AZERTY
// keyboards, so that a scanner which is set to another keyboard than the machine still types it rightly.
const labelPrefix = "BIN"

// LabelCode is what the bar code of a part's label says. It stays when the part gets another number.
func LabelCode(partID int64) string { return labelPrefix + strconv.FormatInt(partID, 10) }

// ReadLabel reads what a scanner typed of a label, or a person: the bar code, the address that the QR code holds, else the
// part's own number. One of both is the zero value.
func ReadLabel(typed string) (partID int64, number string) {
	typed = strings.ToUpper(text.Line(typed))
	code := typed
	if at := strings.LastIndex(code, "/STOCK/"); at >= 0 {
		code = labelPrefix + code[at+len("/STOCK/"):]
	}
	if digits, ok := strings.CutPrefix(code, labelPrefix); ok {
		if id, err := strconv.ParseInt(digits, 10, 64); err == nil && id > 0 && digits[0] != '+' {
			return id, ""
		}
	}
	return 0, typed
}

// StocktakeBegunSummary is what the shop's journal tells of a stocktake that begins.
const StocktakeBegunSummary = "A stocktake was begun."

// StocktakeEndedSummary is what it tells of one that ended.
func StocktakeEndedSummary(counted, all int) string {
	return fmt.Sprintf("The stocktake was ended: %d of %d parts were counted.", counted, all)
}

// TakenSummary is what it tells of a drawer that was counted in a stocktake.
func TakenSummary(title string, taken []Taken) string {
	pieces, book := 0, 0
	for _, t := range taken {
		pieces, book = pieces+t.Pieces, book+t.Book
	}
	if !Differs(taken) {
		return fmt.Sprintf("Stocktake, %s: %d counted, as the book has it.", title, pieces)
	}
	return fmt.Sprintf("Stocktake, %s: %d counted, the book has %d; still to be explained.", title, pieces, book)
}

// Differs reports whether something that was taken is not as the book had it, lot by lot.
func Differs(taken []Taken) bool {
	for _, t := range taken {
		if t.Difference() != 0 {
			return true
		}
	}
	return false
}

package books

import (
	"encoding/csv"
	"io"
	"strings"
	"time"

	"ledgerwheel/domain/money"
)

// header names the columns of the file.
var header = []string{"date", "voucher", "text", "account_number", "account_name", "debit", "credit", "currency"}

// WriteCSV writes lines as a file by RFC 4180, in UTF-8: days as ISO 8601 has them, amounts in the currency's unit with a
// decimal point and no other mark. names gives accounts the owner's numbers and names. The error is the writer's.
func WriteCSV(to io.Writer, lines []Line, currency string, names []Named) error {
	w := csv.NewWriter(to)
	w.UseCRLF = true
	known := map[Account]Named{}
	for _, n := range names {
		known[n.Account] = n
	}
	if err := w.Write(header); err != nil {
		return err
	}
	for _, l := range lines {
		n := known[l.Account]
		if n.Name == "" {
			n.Name = l.Account.Words()
		}
		if err := w.Write([]string{l.On.Format(time.DateOnly), guarded(l.Voucher), guarded(l.Text), guarded(n.Number), guarded(n.Name), amount(l.DebitMinor, currency),
			amount(l.CreditMinor, currency), currency}); err != nil {
			return err
		}
	}
	w.Flush()
	return w.Error()
}

// amount is empty for nothing, so that each line has one side.
func amount(minor int64, currency string) string {
	if minor == 0 {
		return ""
	}
	return money.Plain(minor, currency)
}

// guarded keeps a spreadsheet from reading a text as a formula.
func guarded(s string) string {
	if s != "" && strings.ContainsRune("=+-@\t\r", rune(s[0])) {
		return "'" + s
	}
	return s
}
